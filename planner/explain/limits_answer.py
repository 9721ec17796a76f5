"""The limits of an outing on a battery: `limits_json` as an object, `limits_text` in words."""

from __future__ import annotations

from typing import Any

from planner.constants import COULOMB_PER_AH, SECONDS_PER_HOUR
from planner.explain.answer_text import headline
from planner.explain.check_words import TITLES
from planner.explain.figures import finite
from planner.explain.layout import Page
from planner.explain.sentences import sentence
from planner.explain.warnings import warnings
from planner.explain.words import about_time, amp_hours, amps, capital
from planner.verdict.boundary import GOOD_EVERYWHERE, GOOD_TO_THE_END
from planner.verdict.energy import missing_at_start_c
from planner.verdict.limits import Limit, Limits

NAMES = {
    "load_factor": "All loads together",
    "duration": "Length of the outing",
    "cell_temperature": "Coldest battery at the start",
    "gauge": "Thinnest conductor",
    "inverter_power": "Largest inverter load",
    "steady_speed": "Highest steady speed",
    "smallest_battery": "Smallest battery of this kind",
    "earliest_month": "Earliest month",
}
FROM_HERE_ON = ("Ah", "month")  # less of these asks for more
_UNITS = {"1": " times", "AWG": "", "month": "", "degC": " °C"}


def limits_json(found: Limits) -> dict[str, Any]:
    """Everything `limits --json` prints."""
    spare = found.spare
    return {
        "verdict": found.present.verdict,
        "battery": found.present.record.name,
        "outing": found.present.outing.name,
        "seed": found.present.seed,
        "draws": found.present.draws,
        "confidence": found.confidence,
        "limits": [_limit_json(limit, found.confidence) for limit in found.limits],
        "turn_back": {"charge_Ah": _part(spare.turn_back_c, COULOMB_PER_AH),
                      "time_h": _part(spare.turn_back_s, SECONDS_PER_HOUR),
                      "middle_charge_Ah": _part(spare.middle_c, COULOMB_PER_AH),
                      "middle_time_h": _part(spare.middle_s, SECONDS_PER_HOUR)},
        "longest_pull": {"current_A": spare.pull_a, "demonstrated_s": spare.pull_s},
        "warnings": list(warnings(found.present)),
    }  # fmt: skip


def limits_text(found: Limits) -> str:
    """The limits for reading."""
    page = Page()
    present = found.present
    page.title(
        headline(present), (f"Battery: {present.record.name}", f"Outing:  {present.outing.name}")
    )
    told = [f"{NAMES[limit.id]}: {reason(limit, found.confidence)}" for limit in found.limits]
    page.part("How far each thing can go, all else as planned", told)
    page.part("From the plan as it stands", _spare(found))
    return page.text()


def _limit_json(limit: Limit, confidence: float) -> dict[str, Any]:
    inside, outside = limit.inside, limit.outside
    searched = limit.searched
    return {
        "id": limit.id,
        "value": limit.value,
        "unit": limit.unit,
        "check": outside.check.id if outside and outside.check else None,
        "inside": inside.verdict if inside else None,
        "outside": outside.verdict if outside else None,
        "sure_value": limit.sure_value,
        "sure_check": sure_check(limit),
        "reason": reason(limit, confidence),
        "searched": list(searched) if searched else None,
        "monotone": limit.found.monotone if limit.found else None,
        "probes": limit.probes,
    }


def sure_check(limit: Limit) -> str | None:
    """The check that stands against one step more than the value that is sure enough: "energy" where it runs short."""
    beyond = limit.sure_outside
    if beyond is None:
        return None
    return "energy" if beyond.good or beyond.check is None else beyond.check.id


def reason(limit: Limit, confidence: float) -> str:
    """Why the limit lies there, or why there is none."""
    if limit.found is None:
        return f"Not searched: no {limit.missing} was given; give one to have this limit."
    if limit.outside is None or limit.inside is None:
        first, last = limit.searched or ("", "")
        span = f"from {limit_shown(first, limit.unit)} to {limit_shown(last, limit.unit)}"
        if limit.found.kind == GOOD_EVERYWHERE:
            return f"No limit found: it stays good everywhere that was searched, {span}."
        if limit.found.kind == GOOD_TO_THE_END:
            return (
                "No limit found: not good as planned, but good further on and to the end of what was "
                f"searched, {span}."
            )
        return f"No limit: it is good nowhere that was searched, {span}."
    check = limit.outside.check
    word = "from" if limit.unit in FROM_HERE_ON else "up to"
    text = (
        f"{word} {limit_shown(limit.value, limit.unit)} on it {limit.inside.verdict}"
        if word == "from"
        else (f"up to {limit_shown(limit.value, limit.unit)} it {limit.inside.verdict}")
    )
    if check is not None:
        text += f"; one step further decides: {TITLES[check.id].lower()}, {check.verdict}. {sentence(check.reason)}"
    text += _sure(limit, confidence)
    if not limit.found.monotone:
        text += " The verdict changes more than once over what was searched; this is the change met first."
    return capital(text)


def _sure(limit: Limit, confidence: float) -> str:
    """The value that holds in the chosen share of outings, where it is another one."""
    share = f"{100.0 * confidence:.3g} outings in a hundred"
    if limit.sure_value is None:
        return f" At no value that was searched does it last to the end in {share}."
    if limit.sure_value == limit.value:
        return f" The same holds for {share}."
    name = TITLES[sure_check(limit) or "energy"].lower()
    return f" For {share}: {limit_shown(limit.sure_value, limit.unit)}; one step further decides: {name}."


def limit_shown(value: float | str | None, unit: str) -> str:
    """A limit as it is told: four digits and its unit, "None" where there is none."""
    if value is None or isinstance(value, str):
        return str(value)
    return f"{value:.4g}{_UNITS.get(unit, ' ' + unit)}"


def _spare(found: Limits) -> list[str]:
    spare, said = found.spare, []
    way_home, full_c = found.present.outing.get_home is not None, missing_at_start_c(found.present.batch)
    if spare.turn_back_c is not None:
        verb = "Turn back" if way_home else "Stop"
        shows = amp_hours(spare.turn_back_c + full_c, "down")
        text = f"{verb} when the counter, zeroed when the battery is full, shows {shows} used"
        if spare.turn_back_s is not None:
            text += f", or after {about_time(spare.turn_back_s, 'down')} by the clock"
        said.append(f"{text}. {_kept(found.confidence)}")
    if spare.middle_c is not None:
        shows = amp_hours(spare.middle_c + full_c, "down")
        middle = f"In the middle of all outings the same charge is kept where it shows {shows}"
        if spare.middle_s is not None:
            middle += f", or {about_time(spare.middle_s, 'down')} by the clock"
        said.append(f"{middle}: half of them would then {'come home short' if way_home else 'use the reserve'}.")
    if spare.pull_a is not None:
        pull = f"The highest current of the plan, {amps(spare.pull_a, 'up')}"
        if spare.pull_s is None:
            said.append(f"{pull}: no test shows it held for any time.")
        else:
            said.append(f"{pull}: our tests show it held for {about_time(spare.pull_s, 'down')} at most.")
    return said


def _kept(confidence: float) -> str:
    return f"That keeps the reserve in {100.0 * confidence:.3g} outings of a hundred."


def _part(value: float | None, divisor: float) -> float | None:
    return None if value is None else finite(value / divisor)
