"""What is told beside the answer of a bank: the current at joining, and what a string leaves behind."""

from __future__ import annotations

from typing import Any

from planner.constants import COULOMB_PER_AH
from planner.explain.words import amp_hours, amps, volts
from planner.verdict.assess import Assessment
from planner.verdict.bank_joining import Joining, Stranded, joining_of, stranded_of
from planner.verdict.wiring_check import full_open_v


def bank_notes(assessment: Assessment) -> list[str]:
    """Sentences about joining and strings; none for a single unit."""
    if assessment.bank is None:
        return []
    joining = joining_of(assessment.batch)
    return [
        *_whole_string(assessment),
        *([] if joining is None else [_joining(joining)]),
        *(_stranded(one) for one in stranded_of(assessment.batch)),
    ]


def _whole_string(assessment: Assessment) -> list[str]:
    """What a protection that opens in a string has to bear, and whether the makers allow it."""
    batch = assessment.batch
    if batch.setup.series < 2:
        return []
    allowed = {one.series_allowed for row in batch.branch_units for one in row}
    if allowed == {True}:
        word = "Their makers allow it, as recorded."
    elif False in allowed:
        word = "A maker here forbids it."
    else:
        word = "Whether their makers allow it is not recorded."
    return [
        f"In series a unit that switches off bears the voltage of the whole string, "
        f"{volts(full_open_v(batch), 'up')} when full: its protection must be made for that. {word}"
    ]


def _joining(one: Joining) -> str:
    told = (
        f"Joined as they are, before any load, unit {one.giver} drives up to {amps(one.first_a, 'up')} into unit "
        f"{one.taker}, some {amps(one.lasting_a, 'near')} for longer: only the leads hold it back. That is a charge "
        f"for unit {one.taker}, with the limits and the cold of any charge"
    )
    if one.allowed_a is None:
        told += "; the charge current its maker allows is not recorded."
    elif one.first_a > one.allowed_a:
        told += f", and more than the {amps(one.allowed_a, 'down')} its maker states."
    else:
        told += f"; its maker states {amps(one.allowed_a, 'down')}."
    return f"{told} Charge each unit fully by itself before joining them."


def _stranded(one: Stranded) -> str:
    told = (
        f"In series the weakest unit ends the run: it holds {amp_hours(one.weakest_c, 'down')}, the strongest "
        f"{amp_hours(one.strongest_c, 'down')}, of which {amp_hours(one.stranded_c, 'up')} stay behind. Amp-hours of "
        "units in series never add."
    )
    if one.drift_c is None:
        return f"{told} How fast they drift apart in storage is not known: a sleep current is missing in a record."
    return (
        f"{told} In storage their own sleep currents set them apart by {amp_hours(one.drift_c, 'up')} in 30 days: "
        "charge each one by itself before use."
    )


def joining_json(assessment: Assessment) -> dict[str, Any]:
    """Further keys of the section `bank`."""
    joining = joining_of(assessment.batch)
    return {
        "joining": None
        if joining is None
        else {
            "giver": joining.giver,
            "taker": joining.taker,
            "first_A": joining.first_a,
            "lasting_A": joining.lasting_a,
            "allowed_A": joining.allowed_a,
        },
        "strings": [
            {
                "branch": one.branch,
                "weakest_Ah": one.weakest_c / COULOMB_PER_AH,
                "strongest_Ah": one.strongest_c / COULOMB_PER_AH,
                "stranded_Ah": one.stranded_c / COULOMB_PER_AH,
                "drift_Ah_per_30_days": None if one.drift_c is None else one.drift_c / COULOMB_PER_AH,
            }
            for one in stranded_of(assessment.batch)
        ],
    }
