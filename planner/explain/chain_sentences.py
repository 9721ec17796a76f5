"""Which link between battery and load gives first, and the cheapest change that helps: in words and as JSON."""

from __future__ import annotations

from typing import Any

from planner.constants import ZERO_CELSIUS_K
from planner.explain.words import amps, listed, rounded, volts
from planner.verdict.assess import Assessment
from planner.verdict.cheapest_change import Change, cheapest_change
from planner.verdict.check import FITS, GOOD
from planner.verdict.inverter import inrushes
from planner.verdict.links import CHOSEN, GIVES, LinkLimit

NAMES = {
    "battery": "The battery's own protection",
    "lead": "A lead inside the battery",
    "fuse": "The fuse",
    "cable": "The cable",
    "drop": "The voltage lost in cable and joints",
    "inverter": "The inverter's cut-out",
    "terminals": "The heat of the terminals",
}
MANY = 10.0  # beyond it a factor is told as "more than"


def links_sentences(assessment: Assessment) -> list[str]:
    """A sentence a link, the one that gives first in front; none where no cable was entered."""
    if assessment.wiring is None:
        return []
    return [_link(place, one) for place, one in enumerate(assessment.links, start=1)]


def _link(place: int, one: LinkLimit) -> str:
    size = f"{rounded(one.factor, 0.01, 'down'):.2f}" if one.factor < MANY else f"more than {MANY:.0f}"
    told = f"{place}. {NAMES[one.link]}"
    if one.factor < 1.0:
        how = {GIVES: "gives before", CHOSEN: "goes beyond what you allow before"}.get(
            one.kind, "is untested before"
        )
        return f"{told} {how} your plan's currents are reached: at {size} times your plan."
    if one.kind == GIVES:
        return f"{told} gives at {size} times the currents of your plan."
    if one.kind == CHOSEN:
        return f"{told} reaches what you allow at {size} times the currents of your plan."
    return f"{told} was shown to hold {size} times the currents of your plan; beyond that nothing is known."


def change_sentence(assessment: Assessment, change: Change | None) -> str | None:
    """The cheapest change, in the buyer's own controls; None where nothing needs to change or no cable was entered."""
    wanted = [one for one in assessment.checks if one.id in ("wiring", "inverter") and one.verdict != FITS]
    if assessment.wiring is None or not wanted:
        return None
    if change is None and all(one.verdict in GOOD for one in wanted):
        return "No change of joints, fuse, cut-out or one cable lifts these limits."
    if change is None:
        return "No change of joints, fuse, cut-out or one cable makes cable, fuse and inverter good for this plan."
    ways = []
    if change.contacts_ohm is not None:
        ways.append(f"make every joint clean and tight, {1e3 * change.contacts_ohm:.1f} milliohms together")
    if change.conductor is not None:
        ways.append(f"use cable {change.conductor}")
    if change.fuse_a is not None:
        ways.append(f"fit a fuse of {amps(change.fuse_a, 'near')} at the battery")
    if change.cutout_below_v is not None:
        ways.append(
            f"set the cut-out below {volts(change.cutout_below_v, 'down')}, if the inverter's maker allows it"
        )
    return (
        f"The cheapest change that helps: {listed(ways)}. Cable, fuse and inverter then are: {change.verdict}; the whole "
        f"outing: {change.whole}. Local code and a qualified person decide."
    )


def chain_json(assessment: Assessment) -> dict[str, Any]:
    """The ranked links and the cheapest change, for the section `wiring`."""
    change = cheapest_change(assessment)
    return {
        "gives_first": assessment.links[0].link if assessment.links else None,
        "links": [_json(one) for one in assessment.links],
        "inrush": [
            {
                "load": name,
                "peak_A": bare.peak_a,
                "time_constant_us": 1e6 * bare.tau_s,
                "i2t_A2s": bare.i2t_a2s,
                "stored_J": bare.energy_j,
                "precharged_peak_A": None if tamed is None else tamed.peak_a,
                "precharged_after_s": None if tamed is None else tamed.settled_s,
            }
            for name, bare, tamed in inrushes(assessment.batch)
        ],
        "cheapest_change": None if change is None else _change_json(assessment, change),
    }


def _json(one: LinkLimit) -> dict[str, Any]:
    names = {"A": "A", "%": "percent", "W": "W", "degC": "degC"}
    zero = ZERO_CELSIUS_K if one.unit == "degC" else 0.0
    unit = names[one.unit]
    return {
        "link": one.link,
        "load_factor": one.factor,
        f"asked_{unit}": one.asked - zero,
        f"limit_{unit}": one.limit - zero,
        "kind": one.kind,
        "source": one.source,
    }


def _change_json(assessment: Assessment, change: Change) -> dict[str, Any]:
    return {
        "contact_resistance_mohm": None if change.contacts_ohm is None else 1e3 * change.contacts_ohm,
        "fuse_A": change.fuse_a,
        "cutout_below_V": change.cutout_below_v,
        "conductor": change.conductor,
        "verdict": change.verdict,
        "overall_verdict": change.whole,
        "text": change_sentence(assessment, change),
    }
