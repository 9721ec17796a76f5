"""Sentences about current and heat: the checks `peak_current` and `terminal_heat`."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from planner.battery.current_evidence import Pass, Trip
from planner.battery.speaks import BELOW_TEST_K, WARMEST_CELL_K
from planner.explain.words import about_time, amps, amps_beside, capital, degrees, exact_time

Parts = Mapping[str, Any]

RECOVERY = {
    "itself": "After switching off on the bench it came back by itself.",
    "reconnect": "After switching off on the bench it came back only once the load was taken off and put on again.",
    "charger": "After switching off on the bench it came back only with a charger: away from one you stay dark.",
    "unknown": (
        "How this unit comes back after switching off is not recorded: count on staying dark until you have a charger."
    ),
}
_KIND = {
    "hold": "held {a} for {t}",
    "tripped hold": "held {a} for {t} before it switched off",
    "ramp": "passed through {a} for {t} while the current was being raised",
    "full discharge": "carried {a} through a full discharge of {t}",
    "early-ended discharge": "carried {a} through a discharge of {t}",
    "lasting half": "held twice that and more for 15 minutes or longer, which we count as {a} for as long as its charge lasts",
}


def _need(parts: Parts, size: str = "") -> str:
    """The demand that decides: longest pull, or pulsing by its heat. size : its current, where it is in words already."""
    size, length = size or amps(parts["current_a"], "up"), about_time(parts["duration_s"], "up")
    if parts["basis"] == "rms":
        return f"Your plan pulses: within {length} it heats the unit like {size} without a break"
    return f"The pull in your plan that decides is {size} for {length}"


def _demonstrated(parts: Parts) -> str:
    """Every pull is shown: the one with the least margin, and what the bench saw, meter error taken off."""
    by = parts["by"]
    ramp = by.kind == "ramp"
    able_a = by.largest_a(parts["duration_s"]) if ramp else by.current_a - by.limit_a
    lasts_s = parts["duration_s"] if ramp else by.duration_s
    size, able = amps_beside(parts["current_a"], able_a)
    did = _KIND[by.kind].format(a=able, t=exact_time(lasts_s))
    longer = by.kind == "full discharge" and parts["duration_s"] > lasts_s
    less = " At less current its charge lasts longer." if longer else ""
    need = _need(parts, size).replace("that decides", "with the least room")
    return f"{need}. On the bench this unit {did}, the meter's error taken off.{less}{_between_readings(parts)}"


def _between_readings(parts: Parts) -> str:
    """What a slow log leaves out; nothing where there is none."""
    if not parts["hides_s"]:
        return ""
    return (
        f" Your log has one reading in {exact_time(parts['hides_s'])}: harder pulls that are shorter than that are not in "
        "it, and this says nothing of them."
    )


def _opened(by: Pass | Trip | None) -> str:
    """The trip, as measured."""
    if not isinstance(by, Trip):
        return "this unit switched off"
    return f"at {amps(by.current_a, 'near')} this unit switched off after {exact_time(by.duration_s)}"


def _trips(parts: Parts) -> str:
    opened = _opened(parts["by"])
    need = f"{amps(parts['current_a'], 'up')} for {about_time(parts['duration_s'], 'up')}"
    return f"{capital(opened)}. You need {need}. {RECOVERY[parts['recovery']]}"


def _conflict(parts: Parts) -> str:
    held = next((entry for entry in parts["entries"] if isinstance(entry, Pass)), None)
    kept = f"it held {amps(held.current_a, 'near')} for {exact_time(held.duration_s)}" if held else "it held"
    return (
        f"{_need(parts)}. The record contradicts itself there: {_opened(parts['by'])}, and yet {kept} in another "
        f"test. Until that is explained we do not rely on it. {RECOVERY[parts['recovery']]}"
    )


def _close(parts: Parts) -> str:
    by = parts["by"]
    beside = f"{_opened(by)}" if isinstance(by, Trip) else _tested(by)
    return (
        f"{_need(parts)}. The nearest test is {beside}: closer than the meter can tell. It may well do. We would "
        f"not rely on it until tested. {RECOVERY[parts['recovery']]}"
    )


def _tested(by: Pass | None) -> str:
    return "not far off" if by is None else f"{amps(by.current_a, 'near')} for {exact_time(by.duration_s)}"


def _untested(parts: Parts) -> str:
    return (
        f"{_need(parts)}. We have no test of this unit that covers it.{_elsewhere(parts)} It may well do. We would not "
        f"rely on it until tested. {RECOVERY[parts['recovery']]}"
    )


def _elsewhere(parts: Parts) -> str:
    """Why a test that carried as much does not speak for these cells; nothing where there is none."""
    held = next((entry for entry in parts["entries"] if isinstance(entry, Pass)), None)
    if held is None:
        return ""
    if parts["warmest_k"] > max(WARMEST_CELL_K, held.cell_k):
        other = f"with the battery inside at {degrees(held.cell_k)}, and in your plan it gets to {degrees(parts['warmest_k'], 'up')}"
    elif parts["coldest_k"] < held.cell_k - BELOW_TEST_K:
        other = f"with the battery inside at {degrees(held.cell_k)}, and in your plan it gets to {degrees(parts['coldest_k'], 'down')}"
    else:
        other = "with a fuller battery, or further above the voltage at which your plan stops"
    return f" One test carried as much, but {other}."


def _hold_test(parts: Parts) -> str:
    need = f"{amps(parts['current_a'], 'up')} for {about_time(parts['duration_s'], 'up')}"
    return (
        f"It would be settled by a hold on the bench a little above {need}, ended by the clock, with the battery inside as "
        f"cold or as warm as in your plan.{other_pulls(parts)}"
    )


def other_pulls(parts: Parts) -> str:
    """What one hold leaves open."""
    return " Other pulls of your plan are open as well and ask for a hold of their own." if parts["others"] else ""


def _heat(parts: Parts, middle: str) -> str:
    return (
        f"The terminals get to {degrees(parts['worst_k'], 'up')} in air of {degrees(parts['ambient_k'])}, worst "
        f"moment, the outing repeated until it gets no hotter; the limit is {degrees(parts['limit_k'])}. {middle}"
        f" This comes from readings at {amps(parts['tested_a'], 'near')}."
    )


def _heat_close(parts: Parts) -> str:
    return _heat(
        parts,
        f"With the readings' own uncertainty it may be {degrees(parts['upper_k'], 'up')}, above the limit. It may "
        "well do. We would not rely on it until tested.",
    )


def _heat_bound(parts: Parts) -> str:
    return (
        f"Nobody read the terminals' temperature. Your plan heats them like {amps(parts['rms_a'], 'up')} without a "
        "break, at most half of what this unit carried for 15 minutes, so at most a quarter of that heat."
    )


def _heat_unknown(parts: Parts) -> str:
    return (
        f"Nobody read the terminals' temperature. Your plan heats them like {amps(parts['rms_a'], 'up')} without a "
        "break, more than half of what this unit was shown to carry for 15 minutes. It may well do. We would not "
        "rely on it until tested."
    )


def _terminal_test(parts: Parts) -> str:
    return (
        f"It would be settled by three readings of the terminals' temperature, five minutes apart, at "
        f"{amps(parts['current_a'], 'up')}."
    )


SENTENCES: Mapping[str, Callable[[Parts], str]] = {
    "nothing_drawn": lambda _: "Your plan draws no current.",
    "peak_demonstrated": _demonstrated,
    "peak_trips": _trips,
    "peak_conflict": _conflict,
    "peak_within_meter_error": _close,
    "peak_untested": _untested,
    "hold_test": _hold_test,
    "pull_nearly_empty": lambda p: (
        "No hold settles it, as by then the battery may be below a fifth of its charge: only a full discharge at "
        f"{amps(p['current_a'], 'up')} would. Plan that current for earlier."
    ),
    "conflict_explained": lambda _: (
        "It would be settled by the tester: why one test held and another switched off, or both tests run again."
    ),
    "heat_fits": lambda p: _heat(p, f"Its steady middle is {degrees(p['steady_k'])}."),
    "heat_too_hot": lambda p: _heat(p, "That is too hot."),
    "heat_close": _heat_close,
    "heat_bound": _heat_bound,
    "heat_unknown": _heat_unknown,
    "terminal_test": _terminal_test,
}
