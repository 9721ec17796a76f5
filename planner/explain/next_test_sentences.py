"""Sentences about which test to run next, and why the others would change nothing."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from planner.explain.check_words import CHECK_WORDS
from planner.explain.words import about_time, amp_hours, amps, chance, degrees, exact_time, listed
from planner.verdict.check import NOT_PROVEN
from planner.verdict.outcomes import BETWEEN, DRAWN, Outcomes

Parts = Mapping[str, Any]

CHECK_NAMES = {
    **{check: words.name for check, words in CHECK_WORDS.items()},
    "recovery": "the caution about coming back after a trip",
    "cold_charging": "the caution that it may take charge while too cold",
    "inrush": "the caution about connecting the inverter",
    "storage": "how long it may stand unused",
}


def checks(names: tuple[str, ...]) -> str:
    """The questions by name."""
    return listed([CHECK_NAMES[name] for name in names])


def firm_told(outcomes: Outcomes, base: str) -> str:
    """How likely the test leaves a firm answer, and where that share comes from. base : the verdict before it."""
    low, high = outcomes.firm()
    before = "Now the answer is not firm" if base == NOT_PROVEN else f"Now the answer is firm: {base}"
    if low == high and low in (0.0, 1.0):
        after = "it is" if low == 1.0 else "it is not, as other questions stay open"
        return f"{before}; after this test {after}, however it comes out."
    if low != high:
        well = outcomes.each[0].verdict != NOT_PROVEN
        return (
            f"{before}; after this test it is if it comes out {'well' if well else 'badly'}. How likely that is, nothing "
            "entered here tells."
        )
    return (
        f"{before}; after this test it is with a chance of {chance(low)}. {_BASIS[outcomes.basis or DRAWN]}"
    )


_BASIS = {
    DRAWN: "That chance is a guess: it rests on the spreads this forecast assumes, not on any test.",
    BETWEEN: "That chance is a guess: the place where the unit switches may lie anywhere between the nearest two "
    "readings, all alike likely.",
}


def _outcome(parts: Parts) -> str:
    passed, failed = parts["passed"], parts["failed"]
    told = f"If it comes out well, {checks(parts['changes'])} is settled and the whole answer is: {passed}."
    return told if failed is None else f"{told} If it does not: {failed}."


def _show_current(parts: Parts) -> str:
    need = f"{amps(parts['need_a'], 'up')} for {about_time(parts['need_s'], 'up')}"
    own = f"{parts['current_a']:.4g} A held for {exact_time(parts['duration_s'])}, ended by the clock"
    more = " It takes the other test in this record as well." if parts["together"] else ""
    return f"Your plan asks for up to {need}, and no test covers that; {own}, would, the meter's error taken off.{more} {_outcome(parts)}"


def _discharge(parts: Parts) -> str:
    how = "as the record's model expects" if parts["likely"] else "a good outcome, as one in ten would be"
    return (
        f"A full discharge at {amps(parts['current_a'], 'near')} with the battery inside at {degrees(parts['cell_k'])}. With "
        f"{amp_hours(parts['charge_c'], 'near')}, {how}, the answer changes. {_outcome(parts)}"
    )


def _terminals(parts: Parts) -> str:
    return (
        f"Terminal temperatures at {amps(parts['current_a'], 'near')}, read until they stand still; a rise of "
        f"{parts['rise_k']:.0f} K or less settles it. {_outcome(parts)}"
    )


def _both_legs(parts: Parts) -> str:
    return (
        f"Soak the unit cold and try a small charge every degree, cooling and then warming. If it still refuses at "
        f"{degrees(parts['blocked_k'])} and takes charge again by {degrees(parts['accepted_k'], 'up')}, the cold hours are "
        f"known. {_outcome(parts)}"
    )


def _harm_or_dark(parts: Parts) -> str:
    return (
        "Soak the unit cold and try a small charge every degree, cooling and then warming. Where it sits now, refused charge "
        "leaves it dark and charge let in harms it unseen; the test tells which of the two you have, and so whether to bring "
        f"it warmth or a second battery. If it still refuses at {degrees(parts['blocked_k'])}, the whole answer is: "
        f"{parts['passed']}; if it does not: {parts['failed']}."
    )


def _warming_leg(parts: Parts) -> str:
    return (
        f"Warm the cold unit and try a small charge every degree. If it takes charge again by "
        f"{degrees(parts['accepted_k'], 'up')}, fewer hours are lost. {_outcome(parts)}"
    )


REASONS: Mapping[str, Callable[[Parts], str]] = {
    "show_current": _show_current,
    "discharge": _discharge,
    "terminals": _terminals,
    "both_legs": _both_legs,
    "warming_leg": _warming_leg,
    "both_legs_tell_harm": _harm_or_dark,
    "warming_leg_tell_harm": _harm_or_dark,
    "log_the_outing": lambda p: (
        f"Log the current of one outing, a reading a second or faster, in place of what is stated or claimed. {_outcome(p)}"
    ),
    "sound_joints": lambda p: (
        f"Read the millivolts across every joint, the fuse and the cable under load, and make the bad ones good. {_outcome(p)}"
    ),
    "shares_alike": lambda p: (
        f"Put the pair on your own leads and read each branch's current; if they share alike, it is settled. {_outcome(p)}"
    ),
    "recovery": lambda _: (
        "A load that keeps people safe hangs on this battery and nobody saw how it comes back after switching off. Only the "
        "tester decides whether to make it switch off: that may end the unit."
    ),
    "bare_inrush": lambda p: (
        f"Connecting the inverter's empty capacitors draws up to {amps(p['peak_a'], 'up')} for a moment, more than this unit ever "
        "carried on the bench. Connecting it once, fused and at arm's length, shows whether the unit stays on; a precharge "
        "resistor saves the test."
    ),
    "sleep": lambda _: (
        "Nobody measured what this unit takes for itself while it stands, so how long it may stand is an upper bound. A day at "
        "rest with the current read tells."
    ),
    "sleep_is_known": lambda _: "What it takes for itself while it stands is measured.",
    "no_capacitance": lambda _: (
        "The plan does not say how large the inverter's input capacitors are, so nothing tells the inrush; a precharge "
        "resistor removes it without a test."
    ),
    "need_demonstrated": lambda _: "The record already demonstrates every pull in your plan.",
    "need_condemned": lambda _: "Condemned by a trip: this unit switched off at such a pull, and no pass can excuse it.",
    "record_contradicts": lambda _: "One test held there and another switched off: the tester must explain that first.",
    "trip_in_the_way": lambda _: "The current it would take lies where this unit already switched off.",
    "no_open_surge": lambda _: "No pull of half a minute or less is without a test.",
    "no_open_hold": lambda _: "No pull longer than half a minute is without a test.",
    "hold_does_not_speak": lambda _: (
        "The pull comes with the battery nearly empty or too cold for a hold to speak for: a pass would change nothing."
    ),
    "load_is_claimed": lambda _: "A load is only a claim: no test of the battery settles that.",
    "charge_is_shown": lambda _: "The charge is covered already; a further discharge changes no question that is open.",
    "no_outcome_helps": lambda _: "Even a good outcome of this discharge leaves every open question where it is.",
    "warm_is_known": lambda _: "Your battery will be colder than any test speaks for: only a cold discharge tells.",
    "not_colder_than_tested": lambda _: "Your battery will be no colder than the record's discharges speak for.",
    "heat_is_shown": lambda _: "The terminals' heat is covered already.",
    "too_hot_by_any_reading": lambda _: "The readings at hand leave no room: a better one would still be too hot.",
    "no_climate": lambda _: "No climate was given, so charging in the cold is not asked about.",
    "never_cold": lambda _: "No charging hour is cold.",
    "same_either_way": lambda _: "Both ends of what is known of the cold already give the same good verdict.",
    "warming_leg_is_enough": lambda _: "The cooling leg is known well enough; the warming leg alone settles it.",
    "cooling_leg_needed": lambda _: "Where it blocks is not known well enough: the warming leg alone settles nothing.",
    "takes_charge_there": lambda _: (
        "The readings of the cooling leg leave no outcome of this leg that would help: at best the probe cannot tell."
    ),
    "winter_bad_either_way": lambda _: (
        "Whichever way it comes out the winter is not served: refused, the battery runs dark; accepted, it charges too cold."
    ),
    "winter_charges_below_limit": lambda _: "A test already saw it take charge below the limit: no further test undoes that.",
    "no_charger_stated": lambda _: (
        "Nothing in the climate file ever charges the battery and it runs empty, however this comes out: state a charger, "
        "and hours in which it gives something, first."
    ),
    "winter_runs_dark": lambda _: "Even at the better end of what is known the battery runs dark in winter.",
    "loads_are_known": lambda _: "Every load is logged or measured already.",
    "log_same": lambda _: "Knowing the loads better changes no question that is open.",
    "all_good": lambda _: "Nothing is open.",
    "no_cable": lambda _: "No cable was entered.",
    "cable_is_good": lambda _: "The cable's questions are answered.",
    "joints_are_not_it": lambda _: "Sound joints would not change it: the cable itself, or the cut-out, decides.",
    "one_battery": lambda _: "There is one battery only.",
    "one_unit_shows_it": lambda _: "One unit's own tests demonstrate its share.",
    "shares_alike_already": lambda _: "The leads are equal: the share is even already.",
    "sharing_is_not_it": lambda _: "Even equal shares leave the question open.",
    "no_safety_load": lambda _: "No load that keeps people safe hangs on this battery.",
    "recovery_known": lambda _: "How it comes back after switching off is known.",
    "spread_is_kept": lambda _: (
        "A further unit tells how far units of the kind differ and settles no question by itself. Two tell their spread only to "
        "within three quarters of itself."
    ),
    "no_storage_question": lambda _: "No question of this plan rests on how long the battery stands unused.",
    "no_inverter": lambda _: "No inverter's capacitors are switched on.",
    "precharge": lambda _: "No question rests on it: a precharge resistor removes the inverter's inrush without a test.",
    "other_check_stands": lambda p: f"Another question stands against it whatever this test finds: {checks(p['checks'])}.",
}  # fmt: skip
