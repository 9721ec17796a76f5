"""What is told of an alternator that is joined to the battery without a charger."""

from __future__ import annotations

from typing import Any

from planner.explain.words import amps, rounded, volts
from planner.install.alternator import DirectCharge
from planner.verdict.assess import Assessment
from planner.verdict.batch import wiring_ohm
from planner.verdict.wiring_check import direct_charge


def alternator_notes(assessment: Assessment) -> list[str]:
    """Its current, its rating, and the maker's limits of the battery; none without such an alternator."""
    direct = direct_charge(assessment.batch)
    if direct is None:
        return []
    ohm = wiring_ohm(assessment.outing.wiring)
    free = direct.unlimited_a(ohm)
    if free == 0.0:
        return [
            f"The alternator holds {volts(direct.set_v, 'near')}, no more than the {volts(direct.rest_v, 'near')} of "
            "the battery at rest after this plan: it does not charge. Check both, and the number of units in series."
        ]
    return [_current(direct, ohm), *_limits(assessment, direct, ohm)]


def _current(direct: DirectCharge, ohm: float) -> str:
    free, loop = direct.unlimited_a(ohm), 1e3 * (direct.source_ohm + ohm)
    told = (
        f"An alternator held at {volts(direct.set_v, 'near')} without a charger pushes up to {amps(free, 'up')} into "
        f"the battery this plan leaves ({volts(direct.rest_v, 'near', 2)} at rest, {loop:.1f} milliohms of battery, "
        "cable and joints; the alternator's own leads are left out, so this is a high estimate)."
    )
    if direct.rated_a is None:
        return f"{told} Its rated current is not stated: whether it can give that for long is not known."
    assert direct.output_fuse_a is not None  # it follows from the rating
    most = f"{rounded(direct.output_fuse_a, 1.0, 'down'):.0f}"
    own = (
        f" Its own output conductor needs a fuse of {most} A or less, 120 % of its rated current, "
        "unless it limits itself (33 CFR 183.460)."
    )
    if direct.runs_flat_out(ohm):
        return f"{told} That is all its {amps(direct.rated_a, 'near')} and more: it runs flat out.{own}"
    return f"{told} It is rated for {amps(direct.rated_a, 'near')}.{own}"


def _limits(assessment: Assessment, direct: DirectCharge, ohm: float) -> list[str]:
    """The maker's limits of voltage and current; every unit of a bank is taken to bear its like share."""
    claims, bank = assessment.record.claims, assessment.outing.bank
    series, parallel = (bank.series, bank.parallel) if bank else (1, 1)
    found = []
    if claims.charge_voltage_v is None:
        found.append("The charge voltage the maker allows is not recorded: ask before joining an alternator.")
    elif direct.set_v > claims.charge_voltage_v * series:
        stated = volts(claims.charge_voltage_v * series, "near")
        found.append(
            f"The alternator's {volts(direct.set_v, 'near')} is above the {stated} the battery's maker states: do "
            "not join them."
        )
    share = direct.current_a(ohm) / parallel
    if claims.charge_current_a is None:
        found.append(
            f"The charge current the maker allows is not recorded, against {amps(share, 'up')} for each unit."
        )
    elif share > claims.charge_current_a:
        found.append(
            f"{amps(share, 'up')} for each unit is more than the charge current its maker states, "
            f"{amps(claims.charge_current_a, 'down')}."
        )
    return found


def alternator_json(assessment: Assessment) -> dict[str, Any] | None:
    """Further key of the section `wiring`; None without such an alternator."""
    direct = direct_charge(assessment.batch)
    if direct is None:
        return None
    ohm = wiring_ohm(assessment.outing.wiring)
    return {
        "voltage_V": direct.set_v,
        "battery_at_rest_V": direct.rest_v,
        "loop_mohm": 1e3 * (direct.source_ohm + ohm),
        "unlimited_A": direct.unlimited_a(ohm),
        "rated_A": direct.rated_a,
        "charge_A": direct.current_a(ohm),
        "flat_out": direct.runs_flat_out(ohm),
    }
