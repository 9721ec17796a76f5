"""Temperature rise of the terminals: fitted from the bench readings, carried through an outing.

Rise obeys d(rise)/dt = (rise_ss (I / I_ref)^2 - rise) / tau. Copper's temperature coefficient makes the
square law optimistic at higher currents, and it holds at unchanged cooling only.
Source: first-order body heated by I^2 R; the size of tau when untested is common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import curve_fit

from planner.battery.envelope import Envelope, largest_demonstrated_a
from planner.record.conditions import assumed_of
from planner.record.instrument import combine, standard_uncertainty, temperature_limit
from planner.record.schema import Record, TestConditions

Floats = NDArray[np.float64]

# Priors, handbook class: common practice, no source.
PRIOR_TAU_S = 540.0
PRIOR_TAU_SPREAD = 0.30
TAU_BOUNDS_S = (20.0, 6.0 * 3600.0)  # outside these a fit is of noise, not of a terminal
BOUND_WINDOW_S = 900.0  # a current shown this long bounds the heat of half of it
BOUND_FRACTION = 0.5
TAU_STEP = 0.01  # of the time constant; rises are smooth in it


@dataclass(frozen=True, slots=True)
class Reading:
    """One rise, as if taken at the reference current: time [s], rise [K], its standard uncertainty [K]."""

    time_s: float
    rise_k: float
    standard_k: float


@dataclass(frozen=True, slots=True)
class TerminalModel:
    """The fitted rise.

    current_a : reference current [A]. rise_ss_k : steady rise there [K]. tau_s : time constant [s].
    u_rise_rel, u_tau_rel : relative standard uncertainties; correlation between the two.
    evidence : derived (from measured readings).
    """

    current_a: float
    rise_ss_k: float
    tau_s: float
    u_rise_rel: float
    u_tau_rel: float
    correlation: float
    evidence: str = "derived"
    warnings: tuple[str, ...] = ()


def fit_terminals(record: Record) -> TerminalModel | None:
    """Rise model from a record's terminal tests and from holds with both terminal temperatures.

    All readings are scaled by current squared to the current of the latest one. None when there is no
    reading of a rise. One reading, or readings that do not bend: tau is the prior of 9 min, and the
    steady rise goes with it.
    """
    series, warnings = _series(record)
    if not series:
        return None
    reference_a = max(series, key=lambda item: (item[1][-1].time_s, item[0]))[0]
    readings = sorted(
        (_scaled(reading, (reference_a / current_a) ** 2) for current_a, run in series for reading in run),
        key=lambda reading: (reading.time_s, reading.rise_k),
    )
    bends = all(_bends(run) for _, run in series)
    fitted = _fit_both(readings) if bends and len(readings) > 1 else None
    if fitted is not None:
        fitted = _widened(fitted, reference_a, series)
    if fitted is None:
        warnings.append(
            "terminal readings do not tell a time constant; the prior of 9 min is taken (handbook)"
        )
    rise_k, tau_s, u_rise, u_tau, correlation = fitted or _fit_rise(readings)
    if not rise_k > 0.0:
        return None
    return TerminalModel(reference_a, rise_k, tau_s, u_rise, u_tau, correlation, warnings=tuple(warnings))


def three_point_fit(step_s: float, rises_k: Sequence[float]) -> tuple[float, float] | None:
    """Time constant [s] and steady rise [K] of three readings `step_s` apart, the origin left free.

    None when they do not bend (ratio of the increments not between 0 and 1).
    Source: hand calculation, increments of an exponential fall by q = exp(-step / tau).
    """
    first, second, third = rises_k
    if not 0.0 < third - second < second - first:
        return None
    q = (third - second) / (second - first)
    return -step_s / math.log(q), first + (second - first) / (1.0 - q)


def steady_rise_k(model: TerminalModel, rms_current_a: ArrayLike) -> Floats:
    """Steady rise [K] under a current, or under fast cycling of this RMS. Shape of `rms_current_a`."""
    scale = np.asarray(rms_current_a, dtype=np.float64) / model.current_a
    return np.asarray(model.rise_ss_k * scale**2)


def mean_square_a2(start_a: ArrayLike, end_a: ArrayLike) -> Floats:
    """Mean square of a current that moves straight from start to end [A^2]. Source: hand calculation."""
    start, end = np.asarray(start_a, dtype=np.float64), np.asarray(end_a, dtype=np.float64)
    return np.asarray((start * start + start * end + end * end) / 3.0)


def repeat_to_steady(
    edges_s: ArrayLike,
    start_a: ArrayLike,
    end_a: ArrayLike,
    model: TerminalModel,
) -> Floats:
    """Rise at every edge once the trace has repeated for ever [K].

    edges_s : (m + 1,) rising [s]. start_a, end_a : (..., m) current at both ends of each piece [A].
    Returns (..., m + 1). Exact for constant pieces, where the extremes are at the edges; a moving piece
    acts by its mean square, so keep moving pieces short against tau.
    Source: hand calculation, the rise after a trace is linear in the rise before it.
    """
    return _repeated(edges_s, start_a, end_a, model, model.tau_s)


def peak_rise(
    edges_s: ArrayLike, start_a: ArrayLike, end_a: ArrayLike, model: TerminalModel
) -> tuple[float, float]:
    """Largest rise [K] of a trace that repeats for ever, and its relative standard uncertainty; shapes (m + 1,), (m,).

    Steady rise and time constant together, as they were fitted: a short load is told by their ratio, a long one by the
    steady rise alone. Never less than that of the steady rise, as the square law's own error is in neither.
    Source: JCGM 100:2008 5.2.2, sensitivity to the time constant by a difference over 2 %.
    """
    taus = model.tau_s * np.array([[1.0 - TAU_STEP], [1.0], [1.0 + TAU_STEP]])
    lower, peak, upper = map(float, _repeated(edges_s, start_a, end_a, model, taus).max(axis=-1))
    if not peak > 0.0:
        return peak, model.u_rise_rel
    by_tau = (upper - lower) / (2.0 * TAU_STEP * peak)
    correlation = [[1.0, model.correlation], [model.correlation, 1.0]]
    return peak, max(model.u_rise_rel, combine([model.u_rise_rel, by_tau * model.u_tau_rel], correlation))


def rms_current_a(edges_s: ArrayLike, start_a: ArrayLike, end_a: ArrayLike) -> Floats:
    """RMS of a whole trace [A]; shapes as `repeat_to_steady`, returns the leading shape."""
    lengths = np.diff(np.asarray(edges_s, dtype=np.float64))
    return np.asarray(np.sqrt(mean_square_a2(start_a, end_a) @ lengths / lengths.sum()))


def fits_by_bound(rms_900_a: float, envelope: Envelope) -> bool:
    """Whether heat fits with no rise reading: RMS over 15 min within half of what was shown for 15 min.

    A quarter of the heat: common practice, no source.
    """
    shown_a = largest_demonstrated_a(envelope, BOUND_WINDOW_S)
    return shown_a is not None and rms_900_a <= BOUND_FRACTION * shown_a


def _series(record: Record) -> tuple[list[tuple[float, list[Reading]]], list[str]]:
    """Readings of each test with its current, times rising, and warnings."""
    series: list[tuple[float, list[Reading]]] = []
    warnings: list[str] = []
    for test in record.terminal_tests:
        standard_k = _standard_k(test.at, warnings)
        run = [Reading(t, k - test.ambient_k, standard_k) for t, k in sorted(test.readings) if t > 0.0]
        if run:
            series.append((test.current_a, run))
    for hold in record.current_tests:
        start_k, end_k, held_s = hold.terminal_start_k, hold.terminal_end_k, hold.duration_s
        if hold.kind == "hold" and start_k is not None and end_k is not None and held_s:
            series.append(
                (hold.current_a, [Reading(held_s, end_k - start_k, _standard_k(hold.at, warnings))])
            )
    return series, warnings


def _standard_k(at: TestConditions, warnings: list[str]) -> float:
    """Standard uncertainty of a rise [K]: the probe read twice, at the terminal and in the air."""
    limit = temperature_limit(at.instrument)
    if not limit.stated:
        warnings.append(f"{at.place}: {assumed_of(at.instrument, 'temperature')}")
    return math.sqrt(2.0) * standard_uncertainty(limit.half_width)


def _scaled(reading: Reading, factor: float) -> Reading:
    return Reading(reading.time_s, reading.rise_k * factor, reading.standard_k * factor)


def _bends(run: Sequence[Reading]) -> bool:
    """Whether one test's readings slow down, as a rise to a steady state must; one reading may.

    The last stretch is compared with the mean slope before it and, where the last three readings stand
    equally apart, with the stretch before.
    """
    if len(run) < 2:
        return True
    before, last = run[-2], run[-1]
    gap_s = last.time_s - before.time_s
    if gap_s <= 0.0 or (last.rise_k - before.rise_k) / gap_s >= before.rise_k / before.time_s:
        return False
    if len(run) < 3 or not math.isclose(before.time_s - run[-3].time_s, gap_s, rel_tol=0.01):
        return True
    return last.rise_k - before.rise_k < max(before.rise_k - run[-3].rise_k, before.standard_k)


def _fit_both(readings: Sequence[Reading]) -> tuple[float, float, float, float, float] | None:
    """Least squares through the origin; None when the readings leave tau open.

    Covariance by the probe's error (delta method), widened when the scatter is larger than it.
    """
    times, rises, standards = _columns(readings)
    if np.unique(times).size < 2:
        return None
    guess = (float(rises.max()) * 1.2, PRIOR_TAU_S)
    bounds = ((1e-3, TAU_BOUNDS_S[0]), (1e4, TAU_BOUNDS_S[1]))
    if not bounds[0][0] < guess[0] < bounds[1][0]:
        return None
    sigma = np.maximum(standards, 1e-6)  # an error-free probe still needs a weight
    best, covariance = curve_fit(
        _rise, times, rises, p0=guess, sigma=sigma, absolute_sigma=True, bounds=bounds, x_scale=guess
    )
    if len(readings) > 2:
        scatter = float(np.sum(((rises - _rise(times, *best)) / sigma) ** 2)) / (len(readings) - 2)
        covariance = covariance * max(scatter, 1.0)
    u_rise, u_tau = (float(u) for u in np.sqrt(np.diag(covariance)) / best)
    settled = TAU_BOUNDS_S[0] * 1.01 < best[1] < TAU_BOUNDS_S[1] * 0.99
    # Told worse than the prior would tell it: the prior is the better knowledge.
    if not (settled and math.isfinite(u_rise) and 0.0 <= u_tau <= PRIOR_TAU_SPREAD):
        return None
    product = u_rise * u_tau * float(best[0] * best[1])
    correlation = float(covariance[0, 1]) / product if product > 0.0 else 0.0
    return float(best[0]), float(best[1]), u_rise, u_tau, correlation


def _widened(
    fitted: tuple[float, float, float, float, float],
    reference_a: float,
    series: Sequence[tuple[float, list[Reading]]],
) -> tuple[float, float, float, float, float]:
    """The fit, no surer than it agrees with three equal readings whose origin is left free.

    A terminal that starts late or early bends the fit through the origin; the gap between both answers
    is then the least honest standard uncertainty.
    """
    rise_k, tau_s, u_rise, u_tau, correlation = fitted
    for current_a, run in series:
        times = [reading.time_s for reading in run]
        if len(run) != 3 or not math.isclose(times[2] - times[1], times[1] - times[0], rel_tol=0.01):
            continue
        free = three_point_fit(times[1] - times[0], [reading.rise_k for reading in run])
        if free is not None:
            u_tau = max(u_tau, abs(free[0] / tau_s - 1.0))
            u_rise = max(u_rise, abs(free[1] * (reference_a / current_a) ** 2 / rise_k - 1.0))
    return rise_k, tau_s, u_rise, u_tau, correlation


def _fit_rise(readings: Sequence[Reading]) -> tuple[float, float, float, float, float]:
    """Steady rise with the prior time constant, whose spread is carried into it."""
    rise_k, probe_k = _rise_at(readings, PRIOR_TAU_S)
    step = 1e-3
    shifted_k, _ = _rise_at(readings, PRIOR_TAU_S * (1.0 + step))
    if not rise_k > 0.0:
        return rise_k, PRIOR_TAU_S, 0.0, PRIOR_TAU_SPREAD, 0.0
    by_tau = (shifted_k / rise_k - 1.0) / step * PRIOR_TAU_SPREAD
    u_rise = math.hypot(by_tau, probe_k / rise_k)
    return rise_k, PRIOR_TAU_S, u_rise, PRIOR_TAU_SPREAD, by_tau / u_rise if u_rise > 0.0 else 0.0


def _rise_at(readings: Sequence[Reading], tau_s: float) -> tuple[float, float]:
    """Weighted steady rise [K] for a given time constant, and its standard uncertainty [K]."""
    times, rises, standards = _columns(readings)
    shape = -np.expm1(-times / tau_s)
    weight = 1.0 / np.maximum(standards, 1e-6) ** 2
    information = float(np.sum(weight * shape * shape))
    return float(np.sum(weight * shape * rises)) / information, 1.0 / math.sqrt(information)


def _columns(readings: Sequence[Reading]) -> tuple[Floats, Floats, Floats]:
    table = np.array([(r.time_s, r.rise_k, r.standard_k) for r in readings], dtype=np.float64)
    return table[:, 0], table[:, 1], table[:, 2]


def _rise(times_s: Floats, rise_ss_k: float, tau_s: float) -> Floats:
    return np.asarray(-rise_ss_k * np.expm1(-times_s / tau_s))


def _repeated(
    edges_s: ArrayLike, start_a: ArrayLike, end_a: ArrayLike, model: TerminalModel, tau_s: ArrayLike
) -> Floats:
    """As `repeat_to_steady`, for time constants [s] that broadcast with the pieces (..., m)."""
    lengths = np.diff(np.asarray(edges_s, dtype=np.float64))
    heat = model.rise_ss_k * mean_square_a2(start_a, end_a) / model.current_a**2
    heat, decay = np.broadcast_arrays(heat, np.exp(-lengths / np.asarray(tau_s, dtype=np.float64)))
    rows = zip(*(each.reshape(-1, each.shape[-1]).tolist() for each in (heat, decay)), strict=True)
    after = np.array([list(accumulate(zip(*row, strict=True), _after, initial=0.0)) for row in rows])
    after, left = after.reshape(*heat.shape[:-1], -1), np.cumprod(decay, axis=-1)
    start = after[..., -1:] / (1.0 - left[..., -1:])
    return np.concatenate((start, after[..., 1:] + start * left), axis=-1)


def _after(rise_k: float, piece: tuple[float, float]) -> float:
    """Rise [K] after a piece that pulls towards one and leaves a share of what there is."""
    towards_k, left = piece
    return towards_k + (rise_k - towards_k) * left
