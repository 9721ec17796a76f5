"""Sentences about cable, fuse and inverter: the checks `wiring` and `inverter`."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from planner.explain.energy_sentences import prior_decides
from planner.explain.words import about_time, amp_hours, amps, capital, chance, fullness, listed, volts

Parts = Mapping[str, Any]

LOW_SOC = 0.15  # an inverter that gives up below this met a battery that was nearly empty
NOT_THE_BATTERY = "The battery is not the cause: do not send it back."


def _ampacity(parts: Parts) -> str:
    if parts["ampacity_A"] is None:
        return f"The cable {parts['gauge']} is thinner than any the table allows at {amps(parts['current_A'], 'up')}."
    return (
        f"The cable {parts['gauge']} may carry {amps(parts['ampacity_A'], 'down')}; your plan heats it like "
        f"{amps(parts['current_A'], 'up')} for a minute."
    )


def _fuse_above(parts: Parts) -> str:
    return (
        f"The fuse of {amps(parts['fuse_A'], 'near')} is larger than the {amps(parts['ampacity_A'], 'down')} the cable "
        f"{parts['gauge']} may carry: the cable would burn before the fuse opens."
    )


def _fuse_below(parts: Parts) -> str:
    return (
        f"The fuse of {amps(parts['fuse_A'], 'near')} is smaller than the {amps(parts['current_A'], 'up')} your plan "
        "draws over a minute: it will open."
    )


def _no_fuse(parts: Parts) -> str:
    charges = parts["fuse_from_A"] > parts["fuse_low_A"]
    return (
        f"No fuse fits this cable and this plan: it would have to be {amps(parts['fuse_from_A'], 'up')} or more for "
        f"{'the charge' if charges else 'the load'}, and {amps(parts['ampacity_A'], 'down')} or less for the cable."
    )


def _outside(parts: Parts) -> str:
    if "current above ampacity" in parts["reasons"]:
        return ""  # it was said already that it is too thin
    return f"The table we use says nothing about {parts['gauge']}. It may well do. We would not rely on it."


def _not_stated(parts: Parts) -> str:
    return "You named no fuse. The cable needs one at the battery."


def _nuisance(parts: Parts) -> str:
    return (
        f"The fuse of {amps(parts['fuse_A'], 'near')} is close to the {amps(parts['current_A'], 'up')} your plan draws: "
        f"below {amps(parts['fuse_low_A'], 'up')} it may open although nothing is wrong."
    )


def _drop(parts: Parts) -> str:
    if parts["drop_V"] >= parts["drop_base_V"]:
        return f"At {amps(parts['current_A'], 'up')} the cable would take all the voltage there is: nothing would run."
    return (
        f"The cable loses {volts(parts['drop_V'], 'up', 2)} of {volts(parts['drop_base_V'], 'near')} at "
        f"{amps(parts['current_A'], 'up')}, or more at the highest current, and that is above what you allowed."
    )


def _charge_above(parts: Parts) -> str:
    return (
        f"The same cable brings the charge, {amps(parts['charge_A'], 'up')}, and {parts['gauge']} may carry "
        f"{amps(parts['ampacity_A'], 'down')}."
    )


def _fuse_below_charge(parts: Parts) -> str:
    return (
        f"The charge, {amps(parts['charge_A'], 'up')}, comes back through the fuse of {amps(parts['fuse_A'], 'near')} "
        "and will open it. A fuse that opens while an alternator charges can damage the alternator."
    )


def _nuisance_charge(parts: Parts) -> str:
    return (
        f"The charge, {amps(parts['charge_A'], 'up')}, comes back through the fuse of {amps(parts['fuse_A'], 'near')}: "
        f"below {amps(parts['fuse_from_A'], 'up')} it may open although nothing is wrong."
    )


def _not_limited(parts: Parts) -> str:
    return (
        f"Nothing but the cable limits the alternator: {amps(parts['charge_A'], 'up')} flow for as long as the battery "
        "takes them, and a machine that runs flat out for hours overheats."
    )


_REASONS: Mapping[str, Callable[[Parts], str]] = {
    "current above ampacity": _ampacity,
    "fuse above ampacity": _fuse_above,
    "fuse below load": _fuse_below,
    "no fuse possible": _no_fuse,
    "outside the table": _outside,
    "no fuse stated": _not_stated,
    "fuse may open under the load": _nuisance,
    "drop above allowed": _drop,
    "charge above ampacity": _charge_above,
    "fuse below charge": _fuse_below_charge,
    "fuse may open under the charge": _nuisance_charge,
    "alternator not limited": _not_limited,
}


def _reasons(parts: Parts) -> str:
    return " ".join(filter(None, (_REASONS[reason](parts) for reason in parts["reasons"])))


def _wiring_fits(parts: Parts) -> str:
    return (
        f"The cable {parts['gauge']} may carry {amps(parts['ampacity_A'], 'down')}; your plan heats it like "
        f"{amps(parts['current_A'], 'up')} for a minute. It loses {volts(parts['drop_V'], 'up', 2)} on the way. The "
        f"fuse of {amps(parts['fuse_A'], 'near')} suits both."
    )


def _wiring_limit(parts: Parts) -> str:
    done = []
    if parts["conductor"] is not None:
        done.append(f"use cable {parts['conductor']} or thicker")
    elif "drop above allowed" in parts["reasons"]:
        done.append("use shorter or thicker cable")
    fuse, wanted = parts["fuse_A"], parts["suggested_fuse_A"]
    if wanted is not None and wanted != fuse:
        done.append(f"fit a fuse of {amps(wanted, 'near')} at the battery")
    if "alternator not limited" in parts["reasons"]:
        done.append("have a charger that limits the current put between alternator and battery")
    if not done:
        done.append("use several cables side by side, or less current: no single cable of the table does it")
    text = listed(done)
    return f"{capital(text)}."


def _cuts_out(parts: Parts) -> str:
    how = "As wired" if parts["wired"] else "Even straight at the battery's terminals"
    text = (
        f"{how}, {parts['load']} switches itself off after about {about_time(parts['time_s'], 'down')}, when its own "
        f"terminals fall below {volts(parts['cutout_v'], 'near')}, with the battery still {fullness(parts['soc'])}."
    )
    if parts["soc"] < LOW_SOC:
        return (
            text.replace("with the battery still", "with the battery")
            + " The battery has given its charge by then."
        )
    text += f" To stay on it needs {volts(parts['needed_rest_v'], 'up')} of the battery at rest."
    cause = (
        "The cable, its contacts and the inverter's own cut-out are the cause."
        if parts["wired"]
        else ("The inverter's own cut-out is the cause.")
    )
    unsure = f" {prior_decides(parts)}" if "name" in parts else ""
    return f"{text} {cause} {NOT_THE_BATTERY}{unsure}"


def _cure(parts: Parts) -> str:
    cure = parts["cure"]
    ways = []
    if "conductor" in cure:
        ways.append(f"with cable {cure['conductor']} or thicker")
    if "contacts" in cure:
        ways.append("with every contact clean and tight")
    if "cutout_below_v" in cure:
        low = volts(cure["cutout_below_v"], "down")
        ways.append(f"with its cut-out set below {low}, if its maker allows that")
    if not ways:
        return "No single change to cable, contacts or cut-out keeps it on through the plan. Use it for a shorter time."
    if len(ways) > 1:
        return f"It stays on {', or '.join(ways)}. One of these is enough."
    return f"It stays on {ways[0]}."


def _inverter_fits(parts: Parts) -> str:
    return (
        f"{capital(parts['load'])} stays on through the plan: its own terminals do not fall below "
        f"{volts(parts['cutout_v'], 'near')} for long enough to switch it off."
    )


def _inverter_prior(parts: Parts) -> str:
    return f"In the middle of what we expect, {parts['load']} stays on through the plan. {prior_decides(parts)}"


def _inverter_no_wiring(parts: Parts) -> str:
    return (
        f"{capital(parts['load'])} stays on if it sits at the battery's terminals. You told us "
        f"nothing of its cable, and cable takes voltage away from its cut-out of {volts(parts['cutout_v'], 'near')}."
    )


def _inverter_limits(parts: Parts) -> str:
    return (
        f"{capital(parts['load'])} stays on through the plan in {chance(parts['share'])} outings "
        "like this one. In the others its own terminals fall below its cut-out of "
        f"{volts(parts['cutout_v'], 'near')}. {NOT_THE_BATTERY}"
    )


def _inverter_limit(parts: Parts) -> str:
    found = []
    if not parts["wired"]:
        found.append("Use short, thick cable, and enter its gauge and length to have it judged.")
    used_c = parts.get("start_used_c")
    if used_c is not None and math.isfinite(used_c):
        found.append(
            "Start it only while the counter, zeroed when the battery is full, shows less than "
            f"{amp_hours(used_c, 'down')} used."
        )
    return " ".join(found) or "Use it early in the plan, while the battery is full."


def _says(text: str) -> Callable[[Parts], str]:
    return lambda _: text


SENTENCES: Mapping[str, Callable[[Parts], str]] = {
    **{"wiring_" + reason.replace(" ", "_"): _reasons for reason in _REASONS},
    "wiring_fits": _wiring_fits,
    "wiring_limit": _wiring_limit,
    "wiring_missing": _says("You ask about the wiring, but the outing says nothing of the cable."),
    "enter_wiring": _says("Enter the cable's gauge or area, its length one way, its contacts and its fuse."),
    "inverter_cuts_out": _cuts_out,
    "inverter_cure": _cure,
    "inverter_prior": _inverter_prior,
    "inverter_fits": _inverter_fits,
    "inverter_no_wiring": _inverter_no_wiring,
    "inverter_limits": _inverter_limits,
    "inverter_limit": _inverter_limit,
    "inverter_missing": _says("You ask about the inverter, but no load of the outing has a cut-out voltage."),
    "enter_inverter": _says(
        "Enter the inverter as a load, with its power, efficiency, idle power and cut-out voltage."
    ),
}
