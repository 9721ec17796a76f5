"""How the discharge of a log ended, with the evidence for it.

Discharge is positive here. What a log cannot tell is said: a hand that switches off at once, at no round time,
looks like a protection that opens and closes again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.log_file.columns import FloatArray
from planner.record.log_ramp import Ramp
from planner.record.log_sign import LOADED
from planner.record.log_steps import OPENED, Step

KNEE_SHARE = 0.05  # the last twentieth of the charge is compared with the rest
KNEE_FACTOR = 3.0  # times the mean fall: the curve has turned down (common practice, no source)
KNEE_LEAST = 0.02  # of the voltage: a smaller fall is sag under load, not the knee
LOWEST_MARGIN = 0.005  # of the voltage: the end counts as the lowest reading within this
# (shorter than s, multiple of s): durations a tester sets on a clock (common practice, no source)
ROUND_TIMES = ((30.0, 5.0), (300.0, 10.0), (7200.0, 60.0), (np.inf, 300.0))
# what a clock is set to: a time that is round by the largest of these is the least likely to be so by chance
CLOCK_STEPS_S = (5.0, 10.0, 30.0, 60.0, 300.0)
BY_CHANCE = 0.1  # of all times look as round as that, at most, where the time alone tells a clock from a trip
ROUND_WITHIN = 0.1  # of the multiple, at most, however slow the logger
SAME_LEVEL = 0.1  # of the last current: samples of the same load
# a hand turns a load down over several readings, each lower by more than noise, within so long; a protection opens
# between two (common practice, no source)
TURNED_LEAST, TURNED_STEP, TURNED_WITHIN_S, TURNED_SHARE = 2, 0.02, 60.0, 0.5
TOPPED_LEAST = 3  # readings of exactly one value after a ramp: the top of a range

Places = np.ndarray[tuple[int], np.dtype[np.intp]]

UNTIL = {
    "cutoff": "the stop voltage was reached",
    "undervoltage": "the unit, empty, switched itself off",
    "trip": "the unit opened under load",
    "clock": "the set time was over",
    "operator": "it was stopped by hand",
    "meter": "the recording, or the meter's range, came to its end",
}


@dataclass(frozen=True, slots=True)
class Ending:
    """How the discharge ended.

    kind : cutoff | undervoltage | trip | clock | operator | meter (the recording ended, or the range of the meter,
    while the unit delivered). certain : False when another cause looks the same.
    held_s : how long the last level of current was held [s].
    start_s, end_s : first loaded sample, and first sample without load (or the last of the log).
    current_a : current at the end. last_v, after_v : voltage under load at the end, and after it (None when
    the log ends with it).
    """

    kind: str
    certain: bool
    evidence: str
    start_s: float
    end_s: float
    held_s: float
    current_a: float
    last_v: float
    after_v: float | None


def find_ending(table: FloatArray, steps: Sequence[Step], usual_s: float, ramp: Ramp | None) -> Ending | None:
    """The end of the discharge; None when the log holds none.

    table : outline with discharge positive, shape (4, n). steps : discharge positive. usual_s : interval [s].
    """
    time_s, voltage_v, current_a, _ = table
    largest = float(current_a.max())
    loaded = np.flatnonzero(current_a > LOADED * largest) if largest > 0.0 else np.empty(0, dtype=np.intp)
    if not loaded.size:
        return None
    stops = [s for s in steps if s.from_a > LOADED * largest >= s.to_a]
    last = int(loaded[-1])
    end_s, level, last_v, after_v = _last_loaded(table, last, stops[-1] if stops else None)
    start_s = float(time_s[loaded[0]])
    hand = _turned_down(time_s, current_a, last) if after_v is not None else None
    if hand is not None:
        end_s, level, last_v = float(time_s[hand]), float(current_a[hand]), float(voltage_v[hand])
    if ramp is not None and ramp.end_a > level:
        level = ramp.end_a  # the samples before the end of a ramp are lower than its end
    reached = [s.start_s for s in steps if s.start_s < end_s and abs(s.to_a - level) <= SAME_LEVEL * level]
    held_s = end_s - (reached[-1] if reached else start_s)
    knee = _knee(table, loaded, level, last_v)
    if hand is not None and not knee and after_v is not None and after_v >= OPENED * last_v:
        kind, certain, evidence = "operator", True, (
            f"the load of {level:.4g} A was turned down to zero in {last - hand + 1} readings over "
            f"{time_s[last + 1] - time_s[hand]:.3g} s and the voltage came back to {after_v:.2f} V: a protection opens "
            "at once."
        )  # fmt: skip
    else:
        topped = ramp is not None and _topped(time_s, current_a, ramp)
        kind, certain, evidence = _judge(knee, level, last_v, after_v, held_s, usual_s, ramp, topped)
    return Ending(kind, certain, evidence, start_s, end_s, held_s, level, last_v, after_v)


def _last_loaded(table: FloatArray, last: int, stop: Step | None) -> tuple[float, float, float, float | None]:
    """Time [s], current [A] and voltage [V] of the last load, and the voltage at rest after it, None without one.

    last : place of the last reading under load. stop : the step that ended it.
    """
    time_s, voltage_v, current_a, _ = table
    if last == time_s.size - 1:
        return float(time_s[last]), float(current_a[last]), float(voltage_v[last]), None
    if stop is None:
        rest_v = float(np.median(voltage_v[last + 1 :]))
        return float(time_s[last]), float(current_a[last]), float(voltage_v[last]), rest_v
    rest = voltage_v[time_s >= stop.start_s]
    return stop.start_s, stop.from_a, stop.from_v, float(np.median(rest)) if rest.size else stop.first_v


def _judge(
    knee: str,
    level: float,
    last_v: float,
    after_v: float | None,
    held_s: float,
    usual_s: float,
    ramp: Ramp | None,
    topped: bool,
) -> tuple[str, bool, str]:
    """Kind, certainty and evidence. knee : words for the fall at the end, empty when there is none."""
    gone = after_v is not None and after_v < OPENED * last_v
    if knee:
        return _emptied(knee, after_v, gone)
    drop = f"the current of {level:.4g} A fell to zero at {last_v:.3f} V, far from the knee"
    if gone:
        return "trip", True, f"{drop}, and the terminals fell to {after_v:.2f} V: the unit opened."
    if ramp is not None and after_v is not None and not topped:
        return "trip", False, f"{drop} while the current was still rising at {ramp.rate_a_per_s:.3g} A/s."
    multiple = _round_multiple(held_s, usual_s)
    if multiple:
        stopped = f"the load of {level:.4g} A stopped at {last_v:.3f} V after {multiple:g} s, a round time"
        if _round_by_chance(multiple, usual_s) <= BY_CHANCE:
            return "clock", True, f"{stopped}."
        return "clock", False, f"{stopped}, though at this interval of the log many a trip would look so round."
    if topped:
        return (
            "meter",
            False,
            f"the readings stayed at exactly {level:.5g} A after the ramp: the top of the meter's range or the load's "
            "limit.",
        )
    if after_v is not None:
        return "trip", False, f"{drop}, after {held_s:.6g} s, which is no round time."
    where = f"the log ends under a load of {level:.4g} A at {last_v:.3f} V, far from the knee"
    return "meter", False, f"{where}: the recording stopped while the unit still delivered."


def _emptied(knee: str, after_v: float | None, gone: bool) -> tuple[str, bool, str]:
    """Kind, certainty and evidence of an end behind the knee. gone : whether the terminals fell."""
    if gone:
        return (
            "undervoltage",
            True,
            f"{knee}, then the terminals fell to {after_v:.2f} V: the unit opened when empty.",
        )
    then = (
        "the log ends there" if after_v is None else f"the voltage came back to {after_v:.2f} V without load"
    )
    return "cutoff", True, f"{knee}; {then}."


def _turned_down(time_s: FloatArray, current_a: FloatArray, last: int) -> int | None:
    """The last reading of the full load, where from there to `last` it was turned down in steps; else None."""
    first = last
    while (
        first > 0
        and current_a[first - 1] > current_a[first] * (1.0 + TURNED_STEP)
        and time_s[last] - time_s[first - 1] <= TURNED_WITHIN_S
    ):
        first -= 1
    steady = first > 0 and abs(current_a[first - 1] - current_a[first]) <= SAME_LEVEL * current_a[first]
    fell = current_a[last] <= TURNED_SHARE * current_a[first]
    return first if steady and fell and last - first >= TURNED_LEAST else None


def _topped(time_s: FloatArray, current_a: FloatArray, ramp: Ramp) -> bool:
    """Whether readings stayed at exactly the end of the ramp, as at the top of a range."""
    after = current_a[time_s >= ramp.end_s]
    return int(np.count_nonzero(after == ramp.end_a)) > TOPPED_LEAST


def _knee(table: FloatArray, loaded: Places, level: float, last_v: float) -> str:
    """Words for a steep fall to the lowest reading at the end of the discharge; empty when there is none."""
    time_s, voltage_v, current_a, _ = table
    charge_c = np.concatenate(
        ([0.0], np.cumsum(0.5 * np.diff(time_s) * np.maximum(current_a[1:] + current_a[:-1], 0.0)))
    )
    same = at_the_last_load(table, loaded, level, last_v)
    if same.size < 3:
        same = loaded
    voltage, charge = np.append(voltage_v[same], last_v), np.append(charge_c[same], charge_c[loaded[-1]])
    if charge[-1] <= charge[0] or last_v > float(voltage.min()) + LOWEST_MARGIN * last_v:
        return ""
    turn = charge[-1] - KNEE_SHARE * (charge[-1] - charge[0])
    before_v = float(np.interp(turn, charge, voltage))
    fall = before_v - last_v
    # Fall per twentieth before; sag in the first twentieth belongs to the load, not the curve.
    settled_v = float(np.interp(charge[0] + KNEE_SHARE * (charge[-1] - charge[0]), charge, voltage))
    mean_fall = max(settled_v - before_v, 0.0) * KNEE_SHARE / (1.0 - 2.0 * KNEE_SHARE)
    if fall < KNEE_LEAST * before_v or fall < KNEE_FACTOR * mean_fall:
        return ""
    return (
        f"the voltage fell {fall:.2f} V to its lowest, {last_v:.2f} V, in the last "
        f"{KNEE_SHARE * 100:.0f} % of the charge"
    )


def at_the_last_load(table: FloatArray, loaded: Places, level: float, last_v: float) -> Places:
    """The loaded rows that carry the load at the end: its current, or its power where more rows have that."""
    _, voltage_v, current_a, _ = table
    current = np.abs(current_a[loaded] - level) <= SAME_LEVEL * level
    # A load of constant power draws more current at the end than before, by more than SAME_LEVEL behind the knee.
    power = np.abs(current_a[loaded] * voltage_v[loaded] - level * last_v) <= SAME_LEVEL * level * last_v
    same: Places = loaded[power if np.count_nonzero(power) > np.count_nonzero(current) else current]
    return same


def _round_by_chance(multiple_s: float, usual_s: float) -> float:
    """Share of all times that would be read as one as round as this: a trip at any of them looks like a clock.

    Two readings of the log stand for the round time, each for all that lies within one interval usual_s of it.
    """
    step = max(step for step in CLOCK_STEPS_S if multiple_s % step == 0.0)
    return 2.0 * usual_s / step


def _round_multiple(duration_s: float, usual_s: float) -> float:
    """The duration rounded to a tester's round time [s]; 0 when it is none."""
    step = next(multiple for shorter, multiple in ROUND_TIMES if duration_s < shorter)
    within = min(0.5 * usual_s, ROUND_WITHIN * step)
    # A log that ends with its load shows its last sample one interval before the load stopped.
    for length in (duration_s, duration_s + usual_s):
        nearest = round(length / step) * step
        if nearest > 0.0 and abs(length - nearest) <= within:
            return nearest
    return 0.0
