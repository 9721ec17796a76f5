"""The model fitted to a whole bench log, jointly with the record's other tests.

Every reading of the thinned log is a residual. They are not independent: what the open-circuit curve is off
at one charge it is off whenever that charge is passed, and a gain error is one number for the whole log. So
the residuals are whitened by their joint covariance (generalised least squares; the curve's error as a
Gaussian process along charge, C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine
Learning, MIT Press 2006, chapter 2, from memory), and the curve itself is read from what is left over.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_solve, solve_triangular

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
from planner.battery.log_march import BenchLog, Nodes, thin, voltage_along
from planner.battery.parameters import Reference, circuit_of, sag_and_gap
from planner.record.instrument import charge_uncertainty, current_limit, standard_uncertainty, voltage_limit
from planner.record.schema import CapacityTest, Record

Floats = NDArray[np.float64]

READING_MODEL_V = 2e-3  # what the circuit misses from one reading to the next (one pair for a spectrum of them)
PRIOR_CURVE_V = 0.030  # spread of the prior's curve shape, where no discharge of the record traced it
CURVE_LENGTH = 0.04  # of charge, over which a curve's error keeps its sign: a shoulder of LFP is as wide
END_LENGTH = 0.02  # likewise in the knee and at the top
KNEE_SOC = 0.25
END_SHARE = 10.0  # knee and top differ from cell to cell by so many times what the plateau does
TOP_SOC = 0.97
LOOSE_CHARGE = 0.03  # spread of the charge about its start, where the log's own readings are to decide it
STEADY_S = 5 * 3600.0  # length of the steady discharge a fitted curve is written down as
END_S = 900.0  # the log's last stretch, whose current counts where the log itself says what the unit holds
CURVE_POINTS = 80
FAST_S = 4.0  # sampled at least this often, a log can tell a second pair from the first
PASSES = 4  # of fitting with the readings' covariance taken at the model found before
SAME = 0.95  # two parameters correlated beyond it move as one
UNTOLD = 0.5  # of the prior's standard deviation: a parameter that keeps more was hardly told


@dataclass(frozen=True, slots=True)
class Untold:
    """Two parameters this log cannot tell apart. correlation : of their posterior; share_* : standard
    deviation after over before."""  # fmt: skip

    first: str
    second: str
    correlation: float
    share_first: float
    share_second: float


@dataclass(frozen=True, slots=True)
class LogFit:
    """The model, and the log against it at the nodes (n,).

    fitted : with the open-circuit curve of the log where the record has no other. curve_error_v : what was
    read as the curve's own error; residual_v : measured less model less that, for a plot. rms_v : of it.
    share : per parameter, standard deviation after over before. untold : pairs this log cannot tell apart.
    """

    fitted: Fitted
    time_s: Floats
    measured_v: Floats
    model_v: Floats
    curve_error_v: Floats
    residual_v: Floats
    rms_v: float
    share: Floats
    untold: tuple[Untold, ...]


def fit_log(record: Record, log: BenchLog, of: CapacityTest | None = None) -> LogFit:
    """Fit the model to a log and to every other test of the record.

    log : discharge positive, from a rested unit. of : the record's discharge that this log is, left out of
    the record's own residuals; None for a log beside the record's tests.
    Without a full discharge in the rest of the record the log must be one: `of` says what it held.
    """
    nodes = thin(log)
    rest = replace(record, capacity_tests=tuple(test for test in record.capacity_tests if test is not of))
    own = not any(test.ended_by in ("cutoff", "undervoltage") for test in rest.capacity_tests)
    reference = _reference_of(of, log, nodes) if of is not None and own else None
    pairs = None
    task = task_of(rest, reference, pairs)
    fitted, charge_u = solve(task), _charge_uncertainty(of, log, nodes)
    for _ in range(PASSES):
        whitener, curve = _covariance(fitted, log, nodes, charge_u)
        fitted = solve(replace(task, residuals=_joint_residuals(task, log, nodes, whitener)))
    model_v = voltage_along(_centre(fitted), nodes, log)[0][:, 0]
    weights = cho_solve((whitener, True), nodes.voltage_v - model_v)
    curve_error = curve.between(curve.x) @ weights
    left = nodes.voltage_v - model_v - curve_error
    if own:
        fitted = _with_curve(fitted, weights, curve)
    share = np.sqrt(np.diag(fitted.covariance)) / np.maximum(fitted.plan.spread(), 1e-12)
    return LogFit(fitted, nodes.time_s, nodes.voltage_v, model_v, curve_error, left, float(np.sqrt((left**2).mean())),
                  share, _untold(fitted, share))  # fmt: skip


def _joint_residuals(task: Task, log: BenchLog, nodes: Nodes, whitener: Floats) -> Residuals:
    """The task's own residuals and the log's, whitened."""

    def residuals(theta: Floats) -> Floats:
        circuit = circuit_of(task.plan, theta, task.reference)
        off = nodes.voltage_v[:, np.newaxis] - voltage_along(circuit, nodes, log)[0]
        return np.hstack([task.residuals(theta), solve_triangular(whitener, off, lower=True).T])

    return residuals


def _centre(fitted: Fitted) -> Circuit:
    return fitted.circuit(fitted.centre[np.newaxis])


def _reference_of(of: CapacityTest, log: BenchLog, nodes: Nodes) -> Reference:
    """What the log itself says of the charge, where no other discharge does: a start, the readings decide.

    Its last stretch counts as the steady current whose sag and gap stood at the end.
    """
    late = nodes.time_s >= nodes.time_s[-1] - END_S
    drawn = nodes.charge_c[late]
    current = (drawn[-1] - drawn[0]) / max(nodes.time_s[late][-1] - nodes.time_s[late][0], 1.0)
    current = max(float(current), 0.1 * of.mean_current_a)
    none = np.array([])
    return Reference(of.charge_c, of.charge_c / current, current, of.cutoff_v, of.at.cell_k, log.start_soc,
                     none, none, LOOSE_CHARGE)  # fmt: skip


def _charge_uncertainty(of: CapacityTest | None, log: BenchLog, nodes: Nodes) -> float:
    """Relative standard uncertainty of the log's charge: one error for the whole log."""
    if of is not None:
        return charge_uncertainty(of)
    mean = float(np.abs(nodes.mean_a).mean())
    return standard_uncertainty(current_limit(log.instrument, mean).half_width / mean)


def _covariance(fitted: Fitted, log: BenchLog, nodes: Nodes, charge_u: float) -> tuple[Floats, CurveError]:
    """Cholesky factor of the readings' joint covariance, and the curve's part of it."""
    start = _centre(fitted)
    volts, x = voltage_along(start, nodes, log)
    more = voltage_along(start, nodes, log, 1.0 + charge_u)[0]
    traced = len(fitted.reference.curve_charge_c) >= 3
    curve = CurveError(x[:, 0], VOLTAGE_MODEL_V if traced else PRIOR_CURVE_V)
    meter = np.array([standard_uncertainty(voltage_limit(log.instrument, v).half_width) for v in nodes.voltage_v])
    floor = standard_uncertainty(log.instrument.voltage_floor_v) if log.instrument else 0.0
    ohm = float((start.metal_ohm + start.cell_ohm + start.pair_ohm.sum(axis=0)).item())
    step = STEP_MODEL * ohm * (nodes.current_a - nodes.current_a.mean())
    # in the knee a reading tells the charge left, and tells it no better than the circuit knows it
    known = np.interp(nodes.voltage_v + ohm * nodes.current_a, start.curve.volts[0], SOC_GRID)
    steep = np.maximum(*(start.curve.look_up(place, start.offset[0, 0])[1] for place in (known, x[:, 0])))
    single = READING_MODEL_V**2 + floor**2 + (CHARGE_MODEL * steep) ** 2 + step**2
    whole = curve.between(x[:, 0]) + np.diag(single)
    for common in (more[:, 0] - volts[:, 0], meter, step):  # each one error shared by every reading
        whole += np.outer(common, common)
    return np.linalg.cholesky(whole), curve


@dataclass(frozen=True, slots=True)
class CurveError:
    """Error of the open-circuit curve along charge. x : (n,) where the log read it. spread_v : on the plateau."""

    x: Floats
    spread_v: float

    def between(self, there: Floats) -> Floats:
        """Covariance [V2] of the error at `there` (m,) with that at the log's readings, (m, n)."""
        apart = _along_curve(there)[:, np.newaxis] - _along_curve(self.x)
        return np.outer(self._spread(there), self._spread(self.x)) * np.exp(-0.5 * apart**2)

    def _spread(self, x: Floats) -> Floats:
        knee = np.clip((KNEE_SOC - x) / KNEE_SOC, 0.0, 1.0)
        top = np.clip((x - TOP_SOC) / (1.0 - TOP_SOC), 0.0, 1.0)
        spread: Floats = self.spread_v * (1.0 + (END_SHARE - 1.0) * (knee + top))
        return spread


def _along_curve(x: Floats) -> Floats:
    """x in lengths over which the curve's error keeps its sign: shorter in the knee and at the top."""
    middle = np.clip(x, KNEE_SOC, TOP_SOC)
    return middle / CURVE_LENGTH + (x - middle) / END_LENGTH


def _with_curve(fitted: Fitted, weights: Floats, curve: CurveError) -> Fitted:
    """The same model on the curve the log showed, as if a steady discharge had traced it."""
    plan, theta, old = fitted.plan, fitted.centre[np.newaxis], fitted.reference
    circuit = _centre(fitted)
    whole = float(circuit.charge_c.item())
    mended = np.maximum.accumulate(circuit.curve.volts[0] + curve.between(SOC_GRID) @ weights)
    amps = whole / STEADY_S
    charge = np.linspace(0.0, old.start_soc * whole, 4 * CURVE_POINTS)
    steady = replace(old, current_a=amps)
    sag, gap = sag_and_gap(plan, theta, steady, charge / amps)
    volts = np.interp(old.start_soc - (charge + gap[0]) / whole, SOC_GRID, mended) - sag[0]
    end = int(np.flatnonzero(volts > old.cutoff_v)[-1]) + 1
    end_c = float(np.interp(-old.cutoff_v, -volts[: end + 1], charge[: end + 1]))
    keep = np.unique(np.linspace(0, end - 1, CURVE_POINTS).astype(np.intp))
    steady = replace(steady, charge_c=end_c, duration_s=end_c / amps, relative=old.relative,
                     curve_charge_c=np.append(charge[keep], end_c), curve_v=np.append(volts[keep], old.cutoff_v))  # fmt: skip
    place = plan.names.index("charge_factor")
    centre = fitted.centre.copy()
    centre[place] += np.log(whole / float(circuit_of(plan, theta, steady).charge_c.item()))
    return replace(fitted, reference=steady, centre=centre)


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
