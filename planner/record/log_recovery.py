"""Recovery of the voltage after the load, and the time constants it shows.

A voltage read early in the rest is below the rest voltage: the readings and whether it still rises are given.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.log_file.columns import FloatArray
from planner.record.exponential_fit import fit_settling
from planner.record.log_sign import LOADED
from planner.record.log_steps import Step

READ_AFTER_S = (1.0, 10.0, 60.0, 600.0, 3600.0)
FIT_AT_LEAST_S = 20.0  # of steady current: a shorter piece shows no time constant worth giving
FIT_AT_LEAST_ROWS = 10
FIT_AT_MOST_S = 3600.0  # later the slow drift of the cells mixes in
FITTED_PIECES = 3
STILL_RISING_V_PER_S = 1e-3 / 60.0  # a millivolt a minute (common practice, no source)


@dataclass(frozen=True, slots=True)
class Recovery:
    """A rest after load. readings : (time since release s, V); still_rising at the end of the rest."""

    start_s: float
    from_v: float
    readings: tuple[tuple[float, float], ...]
    end_v: float
    rest_s: float
    still_rising: bool


@dataclass(frozen=True, slots=True)
class TimeConstants:
    """Settling after one step. tau_s and resistance_ohm : one entry a term, shortest first.

    at_rest : False under load, where the fall of the open-circuit voltage is mixed in.
    """

    start_s: float
    at_rest: bool
    tau_s: tuple[float, ...]
    resistance_ohm: tuple[float, ...]
    rms_v: float


def find_recovery(table: FloatArray, steps: Sequence[Step]) -> Recovery | None:
    """The longest rest after a load; None when there is none, or the terminals were cut off.

    table : outline with discharge positive, shape (4, n). steps : discharge positive.
    """
    largest = float(np.max(np.abs(table[2])))
    releases = [at for at, step in enumerate(steps) if _is_release(step, largest)]
    pieces = [(steps[at], *_piece(table, steps, at, largest)) for at in releases]
    pieces = [piece for piece in pieces if piece[1].size > 1 and piece[1][-1] > piece[1][0]]
    if not pieces:
        return None
    step, time_s, voltage_v = max(pieces, key=lambda piece: piece[1][-1] - piece[1][0])
    since = time_s - step.start_s
    readings = tuple(
        (wait, float(np.interp(wait, since, voltage_v))) for wait in READ_AFTER_S if wait <= since[-1]
    )
    tail = since >= 0.75 * since[-1]
    slope = (voltage_v[tail][-1] - voltage_v[tail][0]) / max(float(np.ptp(since[tail])), 1e-9)
    return Recovery(
        step.start_s,
        step.from_v,
        readings,
        float(voltage_v[-1]),
        float(since[-1]),
        bool(slope > STILL_RISING_V_PER_S),
    )


def find_time_constants(table: FloatArray, steps: Sequence[Step]) -> tuple[TimeConstants, ...]:
    """Time constants after the steps left alone longest, rests first; empty where there is no data."""
    largest = float(np.max(np.abs(table[2])))
    pieces = []
    for at, step in enumerate(steps):
        time_s, voltage_v = _piece(table, steps, at, largest)
        if time_s.size < FIT_AT_LEAST_ROWS or time_s[-1] - time_s[0] < FIT_AT_LEAST_S:
            continue
        rest = _is_release(step, largest)
        pieces.append((not rest, -(time_s[-1] - time_s[0]), at, time_s, voltage_v))
    pieces.sort(key=lambda piece: piece[:3])
    found = []
    for loaded, _, at, time_s, voltage_v in pieces[:FITTED_PIECES]:
        fit = fit_settling(time_s, voltage_v, most_terms=2)
        step = steps[at]
        change_a = step.to_a - step.from_a
        # Under load the voltage settles downwards, at rest upwards: anything else is no settling of the cell.
        if fit is not None and all(amplitude * change_a > 0.0 for amplitude in fit.amplitude):
            ohms = tuple(amplitude / change_a for amplitude in fit.amplitude)
            found.append(TimeConstants(step.start_s, not loaded, fit.tau_s, ohms, fit.rms))
    return tuple(found)


def _is_release(step: Step, largest: float) -> bool:
    return step.from_a > LOADED * largest >= abs(step.to_a) and not step.opened


def _piece(
    table: FloatArray, steps: Sequence[Step], at: int, largest: float
) -> tuple[FloatArray, FloatArray]:
    """Time and voltage from one step to the next, at most FIT_AT_MOST_S."""
    time_s, voltage_v, current_a, _ = table
    step = steps[at]
    until = min(steps[at + 1].start_s if at + 1 < len(steps) else np.inf, step.start_s + FIT_AT_MOST_S)
    first, last = np.searchsorted(time_s, step.start_s), np.searchsorted(time_s, until)
    # Of equal time stamps the earlier rows still carry the old current.
    while first < last and abs(current_a[first] - step.to_a) > abs(current_a[first] - step.from_a):
        first += 1
    steady = np.abs(current_a[first:last] - step.to_a) <= LOADED * largest
    length = int(np.argmin(steady)) if not steady.all() else steady.size
    return time_s[first : first + length], voltage_v[first : first + length]
