"""What is told beside the answer of motors and terminals: claims, starts, and the limits of named standards."""

from __future__ import annotations

import math

from planner.constants import ZERO_CELSIUS_K
from planner.explain.cautions import BURNS, terminal_k
from planner.explain.words import degrees, rounded
from planner.install.joints import RISE_LIMITS, SKIN_SOURCE, STANDARD_AMBIENT_K
from planner.verdict.assess import Assessment
from planner.verdict.motor_start import MotorStart, ThrustClaim, motor_starts, thrust_claims

ZONES = {
    "demonstrated": "this unit was shown to hold that",
    "within meter error": "a test lies closer to that than the meter can tell",
    "untested": "no test covers that",
    "conflict": "one test held there and another switched off",
    "trips": "this unit switched off at that or less",
}


def install_notes(assessment: Assessment) -> list[str]:
    """Motors first, then terminals."""
    batch = assessment.batch
    return [
        *(_claim(one) for one in thrust_claims(batch)),
        *(_start(one) for one in motor_starts(batch, assessment.envelope)),
        *_terminals(assessment),
    ]


def _claim(one: ThrustClaim) -> str:
    told = (
        f"{one.load}: a thrust of {one.thrust_n:.0f} N from a propeller of {100.0 * one.propeller_m:.0f} cm takes at "
        f"least {math.ceil(one.floor_w):.0f} W at the shaft in fresh water (momentum theory); at full speed it takes "
        f"{one.input_w:.0f} W from the battery."
    )
    if one.possible:
        return f"{told} The claim is not impossible; that is all this shows. A thrust is never turned into a current."
    return f"{told} The claim is impossible: thrust, propeller or current is wrong. Read the current with a meter."


def _start(one: MotorStart) -> str:
    told = f"{one.load}: at standstill it draws up to {one.locked_a:.0f} A."
    if one.above_s == 0.0:
        told += f" That is no more than the {one.level_a:.0f} A shown to hold for 15 minutes."
    elif one.above_s is not None and one.start_zone is not None:
        told += f" Spinning up it draws more than {one.level_a:.0f} A for {one.above_s:.2f} s: {ZONES[one.start_zone]}."
    return f"{told} A fouled propeller keeps it there; for a minute of that: {ZONES[one.stall_zone]}."


def _terminals(assessment: Assessment) -> list[str]:
    """The worst rise beside the limits of named standards, and the skin that touches it."""
    worst = terminal_k(assessment)
    if worst is None:
        return []
    rise = worst - assessment.outing.ambient_k
    told = f"The terminals rise by {rounded(rise, 1.0, 'up'):.0f} K"
    beyond = [one for one in RISE_LIMITS if rise > one.rise_k]
    found = []
    if beyond:
        least = min(beyond, key=lambda one: one.rise_k)
        found.append(
            f"{told}, more than the {least.rise_k:.0f} K that {least.source.text} allows for '{least.part}'; "
            f"{len(beyond)} of the {len(RISE_LIMITS)} published limits we hold "
            f"{'is' if len(beyond) == 1 else 'are'} passed."
        )
    else:
        near = min(RISE_LIMITS, key=lambda one: one.rise_k - rise)
        found.append(
            f"{told}. The nearest published limit we hold is {near.rise_k:.0f} K for "
            f"'{near.part}' ({near.source.text}; for new, clean parts in air of {degrees(STANDARD_AMBIENT_K)})."
        )
    if worst >= BURNS.temperature_k:
        found.append(
            f"Metal at {BURNS.temperature_k - ZERO_CELSIUS_K:.0f} °C burns the skin that touches it for "
            f"{BURNS.contact_s:.0f} s ({SKIN_SOURCE.text}): the terminals get hotter than that."
        )
    return found
