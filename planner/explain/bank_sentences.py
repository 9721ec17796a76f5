"""Sentences about several units together: the check `bank`."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from planner.explain.peak_sentences import other_pulls
from planner.explain.words import about_time, amps

Parts = Mapping[str, Any]


def _shares(parts: Parts) -> str:
    """Who carries what at the largest load."""
    branches = parts["branches"]
    if len(branches) == 1:
        return f"In series every unit carries the whole {amps(parts['load_a'], 'up')}"
    first = [branch.first_a for branch in branches]
    return (
        f"Of {amps(parts['load_a'], 'up')} at the most, the units carry between {amps(min(first), 'down')} and "
        f"{amps(max(first), 'up')} each"
    )


def _most(parts: Parts) -> str:
    hardest = max(parts["branches"], key=lambda branch: branch.max_a)
    return f"unit {hardest.unit} carries up to {amps(hardest.max_a, 'up')}"


def _trips(parts: Parts) -> str:
    return f"In this bank {_most(parts)}. The unit we tested switched off at that, for as long as your plan asks it."


def _not_proven(parts: Parts) -> str:
    return (
        f"{_shares(parts)}; {_most(parts)}, and for that long we have no test that covers it. It may well do. We "
        "would not rely on it until tested."
    )


def _one_lost(parts: Parts) -> str:
    hardest = max(parts["losses"], key=lambda loss: loss.survivor_a)
    return (
        f"If unit {hardest.lost} switches off, the rest carry up to {amps(hardest.survivor_a, 'up')} each, "
    )


def _limits(parts: Parts) -> str:
    worse = [loss for loss in parts["losses"] if loss.verdict != "fits"]
    hardest = max(worse, key=lambda loss: loss.survivor_a)
    if hardest.zone == "trips":
        then = "and the unit we tested switched off at that: all goes dark"
    elif not hardest.completes:
        then = "and they are empty before the end of the outing"
    else:
        then = "and we have no test that covers that"
    return (
        f"{_shares(parts)}, which the tested unit was shown to do. If unit {hardest.lost} switches off, the rest "
        f"carry up to {amps(hardest.survivor_a, 'up')} each, {then}."
    )


def _limit(parts: Parts) -> str:
    shed = [
        loss.shed_to_a for loss in parts["losses"] if loss.verdict != "fits" and loss.zone != "demonstrated"
    ]
    known = [current for current in shed if current is not None]
    if shed and known:
        return f"As soon as one unit switches off, cut the load to {amps(min(known), 'down')} or less."
    if shed:
        return "As soon as one unit switches off, switch everything off."
    return "As soon as one unit switches off, head home: the rest are empty before the end of the plan."


def _fits(parts: Parts) -> str:
    text = f"{_shares(parts)}, which the tested unit was shown to do."
    if parts["losses"]:
        text += f" {_one_lost(parts)}which it was shown to do as well."
    return text


def _hold(parts: Parts) -> str:
    """The test that tells whether a unit carries its share; even leads lower the share and settle nothing themselves."""
    who = "one unit alone" if parts["alike"] else "each unlike unit alone that was not tested so"
    text = (
        f"It would be settled by a hold of {who} on the bench a little above {amps(parts['current_a'], 'up')} for "
        f"{about_time(parts['duration_s'], 'up')}, ended by the clock, with the battery inside as cold or as warm as in your plan."
        f"{other_pulls(parts)}"
    )
    if parts["even_a"] is None:
        return text
    return f"{text} Leads of equal length and thickness would bring each nearer to {amps(parts['even_a'], 'up')}."


def _says(text: str) -> Callable[[Parts], str]:
    return lambda _: text


SENTENCES: Mapping[str, Callable[[Parts], str]] = {
    "bank_trips": _trips,
    "bank_not_proven": _not_proven,
    "bank_limits": _limits,
    "bank_limit": _limit,
    "bank_fits": _fits,
    "bank_missing": _says("You ask about several batteries together, but the outing names one only."),
    "enter_bank": _says(
        "Enter how many units are side by side and in series, and the resistance of each one's leads."
    ),
    "series_refused": _says("The maker does not allow units of this kind in series."),
    "series_unknown": _says(
        "Whether the maker allows units of this kind in series is not recorded. We would not join them until that "
        "is known."
    ),
    "series_permission": _says(
        "It would be settled by the maker's written word on series use, put into the record."
    ),
    "bank_hold": _hold,
}
