"""A battery model from a record: least squares of its tests against a prior whose weight falls as tests come.

Each test gives residuals in units of its own uncertainty, each parameter one residual against its prior;
the minimum is the model, the inverse of the curvature its covariance. Method: maximum a posteriori with
Gaussian errors (common statistics); solver: scipy.optimize.least_squares.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from planner.battery.circuit import Circuit, decay, first_axis_sum, warmth
from planner.battery.discharge import BenchRun, course, outcome
from planner.battery.full_discharge import GROUP_K, full_discharges
from planner.battery.kind import Kind, kind_of
from planner.battery.log_fit import LogOfTest, moving_tests, pairs_told, with_shift
from planner.battery.parameters import Layout, Reference, circuit_of, layout
from planner.battery.prior import CHARGE_MODEL, PAIR_TAUS_S, STEP_MODEL, VOLTAGE_MODEL_V
from planner.constants import COULOMB_PER_AH
from planner.record.instrument import (
    charge_uncertainty,
    standard_uncertainty,
    voltage_limit,
)
from planner.record.schema import CapacityTest, Record, StepTest

Floats = NDArray[np.float64]
Residuals = Callable[[Floats], Floats]

# a first point on the short rise of a full cell, with none near it, says nothing of the plateau (common practice)
TOP_SHARE, ALONE_SHARE = 0.03, 0.10
LOOSE_CHARGE = (
    0.05  # spread of Q about its reference before any reading: it only keeps the fit from wandering
)
LOG_PASSES = 3  # with the readings' weights taken at the model found before; the last with what they were found to miss
HANDBOOK_SHARE = 0.5  # a parameter whose variance is still this part of its prior's is handbook
TAU_STARTS = (0.0, -2.0, -1.0, 1.0, 2.0, 3.0)  # spreads off the prior's centre, looked at before the search
NUDGE = 1e-3  # of a prior spread, for the numerical Jacobian


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """A model of the tested unit; equal to itself alone, so that what is drawn of it can be kept.

    centre : (names,) the vector; covariance : (names, names). evidence : per name, "derived" or "handbook".
    capacity_evidence : measured (a full discharge), claimed (a label's figure, only to scale priors), or unknown.
    kind : what further units of its kind say; circuits are the tested unit's own.
    centre_circuit : of the centre, (1, 1, 1).
    """

    plan: Layout
    reference: Reference
    centre: Floats
    covariance: Floats
    evidence: tuple[str, ...]
    capacity_evidence: str
    kind: Kind
    centre_circuit: Circuit = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Work the centre's circuit out once: many answers ask for it."""
        object.__setattr__(self, "centre_circuit", self.circuit(self.centre[np.newaxis]))

    def circuit(self, theta: Floats) -> Circuit:
        """Circuits (1, 1, r) of parameter sets (r, names)."""
        return circuit_of(self.plan, theta, self.reference)

    @property
    def charge_c(self) -> float:
        """Q of the kind's centre [C]."""
        return float(self.centre_circuit.charge_c[0, 0, 0] * np.exp(self.kind.charge.shift))


@dataclass(frozen=True, slots=True)
class Task:
    """What is to be fitted: the vector, the discharge that fixes the curve, the residuals of every test."""

    plan: Layout
    reference: Reference
    residuals: Residuals
    capacity_evidence: str
    kind: Kind


def fit_record(record: Record) -> Fitted:
    """Fit the model to every test of the record that says something about it.

    Logs of moving loads come second: what they say depends on the model the other tests give.
    """
    moving = moving_tests(record)
    task = _task(replace(record, capacity_tests=_others(record, moving)), moving)
    found = _solved(task)
    if not moving:
        return found
    logs = [LogOfTest(test, task.plan, task.reference) for test in moving]
    for turn in range(LOG_PASSES):
        joint = _with_logs(task, logs, found.centre, widen=turn == LOG_PASSES - 1)
        found = _solved(replace(task, residuals=joint))
    known = len(found.plan.names) - 1  # how far the logs stand from the model is no part of it
    plan = replace(found.plan, names=found.plan.names[:known], guesses=found.plan.guesses[:known])
    return replace(found, plan=plan, centre=found.centre[:known], covariance=found.covariance[:known, :known],
                   evidence=found.evidence[:known])  # fmt: skip


def _others(record: Record, moving: tuple[CapacityTest, ...]) -> tuple[CapacityTest, ...]:
    return tuple(test for test in record.capacity_tests if all(test is not log for log in moving))


def _with_logs(task: Task, logs: list[LogOfTest], centre: Floats, widen: bool) -> Residuals:
    """The task's own residuals and those of the logs, their errors weighed at `centre`."""
    errors = [log.errors_at(centre) for log in logs]
    if widen:
        errors = [one.widened(*log.against(centre[np.newaxis])) for one, log in zip(errors, logs, strict=True)]

    def residuals(theta: Floats) -> Floats:
        told = [log.residuals(theta, one) for log, one in zip(logs, errors, strict=True)]
        return np.hstack([task.residuals(theta), *told])

    return residuals


def _task(record: Record, moving: tuple[CapacityTest, ...]) -> Task:
    """The fit of a record's tests. moving : further tests, whose logs the vector is to serve as well."""
    full = full_discharges(record)
    charge, evidence = _about_charge(record, full)
    reference = _reference(record, full, charge)
    groups = _temperatures(full, reference.cell_k)
    known = record.mass_kg is not None
    pairs = max(pairs_told(moving), _pairs(record))
    plan = layout(charge, record.mass_kg, known, pairs, groups[0], groups[1:])
    if moving:
        plan = with_shift(plan)
    return Task(plan, reference, _residuals(record, full, plan, reference), evidence, kind_of(record))


def _solved(task: Task) -> Fitted:
    """The minimum of the task's residuals, and how well each parameter is known."""
    plan = task.plan
    centre, covariance = _solve(plan, task.residuals)
    share = np.diag(covariance) / np.maximum(plan.spread(), 1e-12) ** 2
    classes = tuple("handbook" if part > HANDBOOK_SHARE else "derived" for part in share)
    # what a circuit may miss of a tested discharge it may miss of the next one as well
    place = plan.names.index("charge_factor")
    covariance[place, place] += CHARGE_MODEL**2
    return Fitted(plan, task.reference, centre, covariance, classes, task.capacity_evidence, task.kind)


def _about_charge(record: Record, full: tuple[CapacityTest, ...]) -> tuple[float, str]:
    """Charge [C] to scale the priors with, and how it is known."""
    if full:
        return max(test.charge_c for test in full), "measured"
    partial = [test.charge_c for test in record.capacity_tests]
    if record.claims.capacity_c is not None:
        return max([record.claims.capacity_c, *partial]), "claimed"
    if partial:
        return max(partial), "unknown"
    carried = [test.current_a for test in record.current_tests] + [
        test.to_current_a for test in record.step_tests
    ]
    return max(carried, default=100.0) * COULOMB_PER_AH, "unknown"


def _reference(record: Record, full: tuple[CapacityTest, ...], charge_c: float) -> Reference:
    """What fixes Q and the curve; a made-up discharge when there is none."""
    if not full:
        none = np.array([])
        return Reference(charge_c, 5 * 3600.0, charge_c / 18000.0, 10.0, 298.15, 1.0, none, none, 0.2)
    best = _reference_test(full)
    points = np.array(best.curve, dtype=float).reshape(-1, 2)
    if len(points) and best.charge_c > points[-1, 0] * 1.0005 and points[-1, 1] > best.cutoff_v:
        points = np.vstack([points, [best.charge_c, best.cutoff_v]])
    if (
        len(points) > 1
        and points[0, 0] < TOP_SHARE * best.charge_c
        and points[1, 0] > ALONE_SHARE * best.charge_c
    ):
        points = points[1:]
    start = 1.0 if best.at.state_of_charge is None else best.at.state_of_charge
    return Reference(
        best.charge_c, best.duration_s, best.mean_current_a, best.cutoff_v, best.at.cell_k, start,
        points[:, 0], points[:, 1], charge_uncertainty(best),
    )  # fmt: skip


def _reference_test(full: tuple[CapacityTest, ...]) -> CapacityTest:
    """The warmest group's discharge with a curve, else at the lowest current."""
    warm = max(test.at.cell_k for test in full)
    group = [test for test in full if warm - test.at.cell_k <= GROUP_K]
    return min(group, key=lambda test: (len(test.curve) < 3, test.mean_current_a, test.at.place))


def _temperatures(full: tuple[CapacityTest, ...], warm_k: float) -> tuple[float, ...]:
    """Distinct test temperatures, falling, within GROUP_K taken as one."""
    found = [warm_k]
    for kelvin in sorted({test.at.cell_k for test in full}, reverse=True):
        if found[-1] - kelvin > GROUP_K:
            found.append(kelvin)
    return tuple(found)


def _pairs(record: Record) -> int:
    """Resistor-capacitor pairs the step tests can tell apart: one more for each two distinct reading times."""
    times = {round(test.after_s, 3) for test in record.step_tests}
    return min(max(1, len(times) // 2), len(PAIR_TAUS_S))


def _residuals(
    record: Record, full: tuple[CapacityTest, ...], plan: Layout, reference: Reference
) -> Residuals:
    """Function from parameter sets (r, names) to residuals (r, m) in standard uncertainties."""
    prior_centre, prior_spread = plan.centre(), np.maximum(plan.spread(), 1e-9)
    place = plan.names.index("charge_factor")
    # the discharge that fixes Q has a residual of its own below: its charge is one reading, and counts once
    prior_spread[place] = LOOSE_CHARGE if full else reference.relative

    def residuals(theta: Floats) -> Floats:
        circuit = circuit_of(plan, theta, reference)
        parts = [(theta - prior_centre) / prior_spread]
        parts.extend(
            _discharge_residuals(circuit, test, reference) for test in record.capacity_tests if test in full
        )
        if record.step_tests:
            parts.append(_step_residuals(circuit, record.step_tests))
        return np.concatenate(parts, axis=1)

    return residuals


def _discharge_residuals(circuit: Circuit, test: CapacityTest, reference: Reference) -> Floats:
    """Charge, and mean voltage where energy is known, against the model; (r, 1 or 2)."""
    start = 1.0 if test.at.state_of_charge is None else test.at.state_of_charge
    run = BenchRun(
        None if test.power_w is not None else test.mean_current_a,
        test.power_w, test.duration_s, test.at.cell_k, test.cutoff_v, start,
    )  # fmt: skip
    along = course(circuit, run)
    charge, energy = outcome(along, test.cutoff_v)
    relative = float(np.hypot(charge_uncertainty(test), CHARGE_MODEL))
    rows = [np.log(np.maximum(charge, 1.0) / test.charge_c) / relative]
    if test.energy_j is not None:
        measured_v = test.energy_j / test.charge_c
        limit = standard_uncertainty(voltage_limit(test.at.instrument, measured_v).half_width)
        rows.append((energy / np.maximum(charge, 1.0) - measured_v) / float(np.hypot(limit, VOLTAGE_MODEL_V)))
    return np.array(rows).T


def step_resistance(circuit: Circuit, test: StepTest) -> Floats:
    """Resistance [ohm] (r,) the model gives for a step test: change of voltage over change of current."""
    one: Floats = _step_resistances(circuit, (test,))[0]
    return one


def _step_resistances(circuit: Circuit, tests: tuple[StepTest, ...]) -> Floats:
    """The same for several steps at once, (tests, r); they stand on the axis of a bank's branches."""
    soc, kelvin, after_s = np.array([
        (0.5 if test.at.state_of_charge is None else test.at.state_of_charge, test.at.cell_k, test.after_s)
        for test in tests
    ]).T[:, :, np.newaxis, np.newaxis]  # fmt: skip
    warm = warmth(circuit, kelvin)
    faded = decay(circuit, warm, after_s)
    _, slope = circuit.curve.look_up(soc * np.ones_like(circuit.charge_c), circuit.offset)
    sag = slope * faded.soc_per_a / warm.cold_fraction
    change: Floats = warm.r0_ohm + first_axis_sum(warm.pair_ohm * faded.pair_share) + sag
    whole: Floats = np.broadcast_to(change, (len(tests), *circuit.charge_c.shape[1:]))[:, 0]
    return whole


def _step_residuals(circuit: Circuit, tests: tuple[StepTest, ...]) -> Floats:
    """Every step's resistance against the model, (r, tests)."""
    measured = np.array([[max(test.resistance_ohm, 1e-7)] for test in tests])
    relative = np.array([[_step_uncertainty(test)] for test in tests])
    off: Floats = np.log(np.maximum(_step_resistances(circuit, tests), 1e-7) / measured) / relative
    return off.T


def _step_uncertainty(test: StepTest) -> float:
    """Relative standard uncertainty of a step's resistance against the model: both readings, and the model."""
    reading_v = standard_uncertainty(test.at.instrument.voltage_floor_v) if test.at.instrument else 0.0
    change_v = abs(test.to_current_a - test.from_current_a) * max(test.resistance_ohm, 1e-5)
    return float(np.hypot(STEP_MODEL, np.hypot(reading_v, 0.001) * np.sqrt(2.0) / change_v))


def _start(plan: Layout, residuals: Residuals) -> Floats:
    """Where the search begins: the prior's centre, at the diffusion time that fits the tests best.

    A large gap can pass for a small one in a valley of its own, which a search from the centre may not leave.
    """
    place = plan.names.index("diffusion_tau_s")
    starts = np.tile(plan.centre(), (len(TAU_STARTS), 1))
    starts[:, place] += plan.spread()[place] * np.array(TAU_STARTS)
    cost = (residuals(starts) ** 2).sum(axis=1)
    best: Floats = starts[int(cost.argmin())]
    return best


def _solve(plan: Layout, residuals: Residuals) -> tuple[Floats, Floats]:
    """Minimum and covariance; the Jacobian by one batch of nudged parameter sets."""
    nudge = np.maximum(plan.spread(), 1e-9) * NUDGE
    last: dict[bytes, Floats] = {}

    def batch(theta: Floats) -> Floats:
        """Residuals at theta and at each nudge from it: the solver asks for both, one after the other."""
        key = theta.tobytes()
        if key not in last:
            last.clear()
            last[key] = residuals(np.vstack([theta, theta + np.diag(nudge)]))
        return last[key]

    def at_theta(theta: Floats) -> Floats:
        centre: Floats = batch(theta)[0]
        return centre

    def jacobian(theta: Floats) -> Floats:
        values = batch(theta)
        slopes: Floats = ((values[1:] - values[0]) / nudge[:, np.newaxis]).T
        return slopes

    found = least_squares(at_theta, _start(plan, residuals), jac=jacobian, method="trf",
                          x_scale=np.maximum(plan.spread(), 1e-9), xtol=1e-5, ftol=1e-6, max_nfev=40)  # fmt: skip
    slopes = np.asarray(found.jac, dtype=np.float64)  # dense, as the Jacobian given is
    covariance: Floats = np.linalg.inv(slopes.T @ slopes).astype(np.float64, copy=False)
    return found.x, covariance
