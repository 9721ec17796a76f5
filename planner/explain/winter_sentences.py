"""Sentences about charging in the cold: the check `winter_charging`."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from planner.explain.words import degrees, month_names, of_hundred, span_of

Parts = Mapping[str, Any]


def _blocked(parts: Parts) -> str:
    low, high, offered = parts["blocked_low"], parts["blocked_high"], parts["offered"]
    text = (
        f"With the weather you chose, charging is blocked in {span_of(low, high, 'hours')} of {span_of(offered, offered, 'hours')} "
        f"with a charger in the year, {of_hundred(low, high, offered)} of every 100."
    )
    if parts["months"]:
        text += f" They fall in {month_names(parts['months'])}."
    if high - low >= 1.0:
        text += " The range is wide because the switching temperature is known only to within a few degrees."
    return text


def _below_limit(parts: Parts) -> str:
    return (
        "On the bench this unit took charge while the battery inside was too cold for it. With the weather you chose "
        f"that would happen in {span_of(parts['exposed_low'], parts['exposed_high'], 'hours')} of the year; the "
        f"battery inside gets down to {degrees(parts['coldest_k'], 'down')}. Charging in the cold does lasting harm "
        "that cannot be seen."
    )


def _maybe_below(parts: Parts) -> str:
    known = "known only to within a few degrees" if parts["blocks"] else "not known"
    return (
        f"It is {known} at which temperature this unit blocks charging. With the weather you chose it may take "
        f"charge while too cold in {span_of(parts['exposed_low'], parts['exposed_high'], 'hours')} of the year. Or it "
        f"may refuse charge in {span_of(parts['blocked_low'], parts['blocked_high'], 'hours')} of the "
        f"{span_of(parts['offered'], parts['offered'], 'hours')} with a charger. The battery inside gets down to "
        f"{degrees(parts['coldest_k'], 'down')}.{_free(parts, 'neither happens')} Until tested, do not charge it when "
        "the battery inside may be below 5 °C."
    )


def _free(parts: Parts, what: str) -> str:
    """The months in which nothing stands against charging."""
    return f" In {month_names(parts['months_free'])} {what}." if parts["months_free"] else ""


def _dark(parts: Parts) -> str:
    dark = f"Your own use then finds it empty on {span_of(parts['dark_low'], parts['dark_high'], 'days')}."
    return f"{_blocked(parts)} {dark}{_free(parts, 'charging is never blocked')}"


def _dark_maybe(parts: Parts) -> str:
    return (
        f"{_blocked(parts)} With the lower switching temperature it never runs empty; with the upper one it does so "
        f"on {span_of(parts['dark_high'], parts['dark_high'], 'days')}. Which of the two is true has not been tested."
        f"{_free(parts, 'charging is never blocked')}"
    )


def _sometimes(parts: Parts) -> str:
    return f"{_blocked(parts)} Your own use never finds it empty."


def _limit(parts: Parts) -> str:
    text = f"In {month_names(parts['months'])} count on hours without charge"
    if parts["months_free"]:
        text += f"; in {month_names(parts['months_free'])} nothing needs to change"
    return f"{text}. Bring the battery indoors to charge, and give it time to warm up inside."


def _never(parts: Parts) -> str:
    if parts["coldest_k"] < parts["resume_k"]:
        return (
            "With the weather you chose, charging is never blocked in the hours you charge. At other hours the battery "
            f"inside gets down to {degrees(parts['coldest_k'], 'down')}: below {degrees(parts['resume_k'], 'up')} this unit "
            "may refuse charge."
        )
    return (
        f"With the weather you chose, charging is never blocked; the battery inside stays at "
        f"{degrees(parts['coldest_k'], 'down')} or above whatever the hour."
    )


def _no_charger(parts: Parts) -> str:
    what = "Nothing in the climate file charges the battery"
    if parts["stated"]:
        what = "What the climate file states as a charger gives nothing in any hour"
    return f"{what}, so when it would be charged is not known."


def _state_charger(parts: Parts) -> str:
    if parts["stated"]:
        return (
            "It would be settled by stating in the climate file hours and months in which something charges the "
            "battery: a panel gives nothing without sun."
        )
    return "It would be settled by stating what charges the battery in the climate file: its kind, its size and its hours."


def _no_charger_warm(parts: Parts) -> str:
    return (
        f"{_no_charger(parts)} It does not matter here: the battery inside stays at {degrees(parts['coldest_k'], 'down')} or "
        "above whatever the hour, warm enough to be charged, and your own use never finds it empty."
    )


def _no_charger_refused(parts: Parts) -> str:
    return (
        f"{_no_charger(parts)} The battery inside gets down to {degrees(parts['coldest_k'], 'down')}. On the bench this unit "
        f"was seen to refuse charge below {degrees(parts['block_k'], 'down')}, where charging does harm. Your own use "
        "never finds it empty without being charged."
    )


def _no_charger_cold(parts: Parts) -> str:
    hours = parts["cold_hours"]
    if hours > 0.0:
        return (
            f"{_no_charger(parts)} The battery inside gets down to {degrees(parts['coldest_k'], 'down')} and is too cold to be "
            f"charged in {span_of(hours, hours, 'hours')} of the year. No test shows that this unit refuses charge in "
            "all of them."
        )
    return (
        f"{_no_charger(parts)} The battery inside gets down to {degrees(parts['coldest_k'], 'down')}. No test shows that this "
        "unit takes charge there."
    )


def _no_charger_dark(parts: Parts) -> str:
    low, high = parts["dark_low"], parts["dark_high"]
    return (
        f"{_no_charger(parts)} Without charge your own use finds it empty on {span_of(low, high, 'days')} of the year. The "
        f"battery inside gets down to {degrees(parts['coldest_k'], 'down')}."
    )


def _no_charger_limit(parts: Parts) -> str:
    return (
        f"Charge it only while the battery inside is at {degrees(parts['resume_k'], 'up')} or above: below that this "
        "unit may refuse charge."
    )


def _says(text: str) -> Callable[[Parts], str]:
    return lambda _: text


SENTENCES: Mapping[str, Callable[[Parts], str]] = {
    "winter_charges_below_limit": _below_limit,
    "winter_may_charge_below_limit": _maybe_below,
    "winter_runs_dark": _dark,
    "winter_may_run_dark": _dark_maybe,
    "winter_blocked_hours": _sometimes,
    "winter_never_blocked": _never,
    "winter_no_charger_warm": _no_charger_warm,
    "winter_no_charger_refused": _no_charger_refused,
    "winter_no_charger_cold": _no_charger_cold,
    "winter_no_charger_dark": _no_charger_dark,
    "winter_no_charger_limit": _no_charger_limit,
    "state_charger": _state_charger,
    "winter_limit": _limit,
    "winter_missing": _says("You ask about charging in winter, but named no climate."),
    "enter_climate": _says(
        "Give a climate file: the weather, where the battery sits and when it is charged."
    ),
    "cold_charge": _says(
        "It would be settled by a cold-charge test: cool the battery a degree at a time until it refuses a small "
        "charge, then warm it until it takes charge again."
    ),
    "cold_charge_warming": _says(
        "It would be settled by the warming half of a cold-charge test: warm the cold battery a degree at a time "
        "until it takes charge again."
    ),
}
