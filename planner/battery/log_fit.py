"""The model fitted to a whole bench log, jointly with the record's other tests.

Every reading of the thinned log is a residual. They are not independent: what the open-circuit curve is off
at one charge it is off whenever that charge is passed, and a gain error is one number for the whole log. Both
are linear in the voltage and are solved for inside (variable projection, G. H. Golub and V. Pereyra, SIAM J.
Numer. Anal. 10 (1973) 413, from memory), each against its own spread; what they cannot explain is left.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import Circuit
from planner.battery.curve import SOC_GRID
from planner.battery.fit import (
    CHARGE_MODEL,
    STEP_MODEL,
    VOLTAGE_MODEL_V,
    Fitted,
    Residuals,
    Task,
    solve,
    task_of,
)
from planner.battery.full_discharge import full_discharges
from planner.battery.log_march import BenchLog, Nodes, thin, voltage_along
from planner.battery.parameters import circuit_of
from planner.record.instrument import charge_uncertainty, current_limit, standard_uncertainty, voltage_limit
from planner.record.schema import CapacityTest, Record

Floats = NDArray[np.float64]

READING_MODEL_V = 2e-3  # what the circuit misses from one reading to the next
PRIOR_CURVE_V = 0.030  # spread of the prior's curve shape, where no discharge of the record traced it
# Where the curve's error stands for itself, straight between: closer in the knee and at the top, where cells
# differ by END_SHARE times what they do on the plateau
KNOTS = np.concatenate([np.linspace(0.0, 0.10, 9)[:-1], np.linspace(0.10, 0.26, 9)[:-1], np.linspace(0.26, 0.98, 19),
                        [0.985, 0.99, 0.995, 1.0]])  # fmt: skip
KNEE_SOC, TOP_SOC, END_SHARE = 0.25, 0.97, 10.0
FAST_S = 4.0  # sampled at least this often, a log can tell a second pair from the first
EDGE_SHARE = 0.05  # of the largest current: a larger change is a load switching
PASSES = 2  # of fitting with the readings' weights taken at the model found before
SAME = 0.95  # two parameters correlated beyond it move as one
UNTOLD = 0.5  # of the prior's standard deviation: a parameter that keeps more was hardly told


@dataclass(frozen=True, slots=True)
class Untold:
    """Two parameters that cannot be told apart.

    correlation : of their posterior. share_first, share_second : standard deviation after over before.
    """

    first: str
    second: str
    correlation: float
    share_first: float
    share_second: float


@dataclass(frozen=True, slots=True)
class LogFit:
    """The model, and the log against it at the nodes (n,).

    model_v : of the circuit alone;
    error_v : what was read as the curve's and the meters' own error; residual_v : measured less both, for a
    plot, rms_v its root mean square. share : per parameter, standard deviation after over before. untold :
    pairs that log and tests together cannot tell apart.
    """

    fitted: Fitted
    time_s: Floats
    measured_v: Floats
    model_v: Floats
    error_v: Floats
    residual_v: Floats
    rms_v: float
    share: Floats
    untold: tuple[Untold, ...]


@dataclass(frozen=True, slots=True)
class _Errors:
    """Errors that are linear in the voltage. single_v : (n,) of each reading. knot_v : (knots,) of the curve.

    common_v : (n, c) what each shared error, one standard deviation of it, does to every reading.
    """

    single_v: Floats
    knot_v: Floats
    common_v: Floats

    def taken_out(self, off_v: Floats, x: Floats) -> tuple[Floats, Floats]:
        """Errors (r, knots + c) that explain off_v (n, r) best, and what they leave over (r, n).

        Both in standard deviations. x : (n, r) where each reading stands on the curve.
        """
        sets = off_v.shape[1]
        shared = np.broadcast_to(self.common_v, (sets, *self.common_v.shape))
        design = np.concatenate([_hats(x) * self.knot_v, shared], axis=2) / self.single_v[:, np.newaxis]
        off = (off_v / self.single_v[:, np.newaxis]).T
        turned = design.transpose(0, 2, 1)
        whole = turned @ design + np.eye(design.shape[2])
        found: Floats = np.asarray(np.linalg.solve(whole, turned @ off[:, :, np.newaxis]), dtype=np.float64)
        left: Floats = off - (design @ found)[:, :, 0]
        return found[:, :, 0], left


def fit_log(record: Record, log: BenchLog, of: CapacityTest | None = None) -> LogFit:
    """Fit the model to a log and to every other test of the record.

    log : discharge positive, from a rested unit. of : the record's discharge that this log is, left out of
    the record's own residuals; None for a log beside the record's tests.
    Raises ValueError when the rest of the record has no full discharge: a log of moving loads alone leaves curve
    and charge to each other, and a fit to it predicts steady currents no better than its bare figures do.
    """
    rest = replace(record, capacity_tests=tuple(test for test in record.capacity_tests if test is not of))
    if not full_discharges(rest):
        raise ValueError("a log is fitted beside a full discharge, which fixes charge and curve")
    nodes = thin(log)
    fast = float(np.median(np.diff(log.time_s))) <= FAST_S
    task = task_of(rest, 2 if fast else None)
    fitted, charge_u = solve(task), _charge_uncertainty(of, log, nodes)
    for _ in range(PASSES):
        errors = _errors(fitted, log, nodes, charge_u)
        fitted = solve(replace(task, residuals=_joint_residuals(task, log, nodes, errors)))
    volts, x = voltage_along(_centre(fitted), nodes, log)
    left = errors.taken_out(nodes.voltage_v[:, np.newaxis] - volts, x)[1][0]
    residual_v = left * errors.single_v
    share = np.sqrt(np.diag(fitted.covariance)) / np.maximum(fitted.plan.spread(), 1e-12)
    return LogFit(fitted, nodes.time_s, nodes.voltage_v, volts[:, 0], nodes.voltage_v - volts[:, 0] - residual_v,
                  residual_v, float(np.sqrt((residual_v**2).mean())), share, _untold(fitted, share))  # fmt: skip


def _joint_residuals(task: Task, log: BenchLog, nodes: Nodes, errors: _Errors) -> Residuals:
    """The task's own residuals, the log's with its linear errors taken out, and those errors."""

    def residuals(theta: Floats) -> Floats:
        volts, x = voltage_along(circuit_of(task.plan, theta, task.reference), nodes, log)
        return np.hstack(
            [task.residuals(theta), *errors.taken_out(nodes.voltage_v[:, np.newaxis] - volts, x)]
        )

    return residuals


def _centre(fitted: Fitted) -> Circuit:
    return fitted.circuit(fitted.centre[np.newaxis])


def _charge_uncertainty(of: CapacityTest | None, log: BenchLog, nodes: Nodes) -> float:
    """Relative standard uncertainty of the log's charge: one error for the whole log."""
    if of is not None:
        return charge_uncertainty(of)
    mean = float(np.abs(nodes.mean_a).mean())
    return standard_uncertainty(current_limit(log.instrument, mean).half_width / mean)


def _errors(fitted: Fitted, log: BenchLog, nodes: Nodes, charge_u: float) -> _Errors:
    """How far readings may be off, at the model found so far: meters, curve, and what a circuit cannot follow."""
    start = _centre(fitted)
    volts, x = voltage_along(start, nodes, log)
    more = voltage_along(start, nodes, log, 1.0 + charge_u)[0]
    traced = len(fitted.reference.curve_charge_c) >= 3
    meter = np.array(
        [standard_uncertainty(voltage_limit(log.instrument, v).half_width) for v in nodes.voltage_v]
    )
    floor = standard_uncertainty(log.instrument.voltage_floor_v) if log.instrument else 0.0
    ohm = float((start.metal_ohm + start.cell_ohm + start.pair_ohm.sum(axis=0)).item())
    step = STEP_MODEL * ohm * (nodes.current_a - nodes.current_a.mean())
    # in the knee a reading tells the charge left, and tells it no better than the circuit knows it
    known = np.interp(nodes.voltage_v + ohm * nodes.current_a, start.curve.volts[0], SOC_GRID)
    steep = np.maximum(*(start.curve.look_up(place, start.offset[0, 0])[1] for place in (known, x[:, 0])))
    single = np.sqrt(_alike(nodes)) * np.sqrt(
        READING_MODEL_V**2 + floor**2 + (CHARGE_MODEL * steep) ** 2 + step**2
    )
    knee, top = (
        np.clip((KNEE_SOC - KNOTS) / KNEE_SOC, 0.0, 1.0),
        np.clip((KNOTS - TOP_SOC) / (1.0 - TOP_SOC), 0.0, 1.0),
    )
    knot = (VOLTAGE_MODEL_V if traced else PRIOR_CURVE_V) * (1.0 + (END_SHARE - 1.0) * (knee + top))
    return _Errors(single, knot, np.stack([more[:, 0] - volts[:, 0], meter, step], axis=1))


def _alike(nodes: Nodes) -> float:
    """Readings that err alike: a circuit's miss lasts until the load next changes, a fast and a slow part of it."""
    change = np.abs(np.diff(nodes.current_a)) > EDGE_SHARE * np.abs(nodes.current_a).max()
    return max(1.0, len(nodes.time_s) / (2.0 * (np.count_nonzero(change) + 1.0)))


def _hats(x: Floats) -> Floats:
    """Weights (r, n, knots) of the straight lines between KNOTS at x (n, r)."""
    place = np.clip(x.T, 0.0, 1.0)
    cell = np.clip(np.searchsorted(KNOTS, place, side="right") - 1, 0, len(KNOTS) - 2)
    part = (place - KNOTS[cell]) / (KNOTS[cell + 1] - KNOTS[cell])
    hats = np.zeros((*place.shape, len(KNOTS)))
    np.put_along_axis(hats, cell[..., np.newaxis], (1.0 - part)[..., np.newaxis], axis=2)
    np.put_along_axis(hats, cell[..., np.newaxis] + 1, part[..., np.newaxis], axis=2)
    return hats


def _untold(fitted: Fitted, share: Floats) -> tuple[Untold, ...]:
    """Pairs whose posterior moves as one while each keeps much of its prior."""
    deviation = np.sqrt(np.diag(fitted.covariance))
    correlation = fitted.covariance / np.outer(deviation, deviation)
    names = fitted.plan.names
    return tuple(
        Untold(names[i], names[k], float(correlation[i, k]), float(share[i]), float(share[k]))
        for i in range(len(names)) for k in range(i + 1, len(names))
        if abs(correlation[i, k]) > SAME and min(share[i], share[k]) > UNTOLD
    )  # fmt: skip
