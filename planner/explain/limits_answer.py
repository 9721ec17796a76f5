"""The limits of an outing on a battery: `limits_json` as an object, `limits_text` in words."""

from __future__ import annotations

from typing import Any

from planner.constants import COULOMB_PER_AH, SECONDS_PER_HOUR
from planner.explain.answer_text import HEADLINES, TITLES
from planner.explain.figures import finite
from planner.explain.layout import Page
from planner.explain.sentences import sentence
from planner.explain.warnings import warnings
from planner.explain.words import about_time, amp_hours, amps
from planner.verdict.boundary import GOOD_EVERYWHERE, GOOD_TO_THE_END
from planner.verdict.limits import Limit, Limits

NAMES = {
    "load_factor": "All loads together",
    "duration": "Length of the outing",
    "cell_temperature": "Coldest battery at the start",
    "gauge": "Thinnest conductor",
    "inverter_power": "Largest inverter load",
}
_UNITS = {"1": " times", "AWG": ""}


def limits_json(found: Limits) -> dict[str, Any]:
    """Everything `limits --json` prints."""
    spare = found.spare
    return {
        "verdict": found.present.verdict,
        "battery": found.present.record.name,
        "outing": found.present.outing.name,
        "seed": found.present.seed,
        "draws": found.present.draws,
        "limits": [_limit_json(limit) for limit in found.limits],
        "turn_back": {"charge_Ah": _part(spare.turn_back_c, COULOMB_PER_AH),
                      "time_h": _part(spare.turn_back_s, SECONDS_PER_HOUR)},
        "longest_pull": {"current_A": spare.pull_a, "demonstrated_s": spare.pull_s},
        "warnings": list(warnings(found.present)),
    }  # fmt: skip


def limits_text(found: Limits) -> str:
    """The limits for reading."""
    page = Page()
    present = found.present
    page.title(HEADLINES[present.verdict], (f"Battery: {present.record.name}", f"Outing:  {present.outing.name}"))
    page.part(
        "How far each thing can go, all else as planned", [f"{NAMES[x.id]}: {reason(x)}" for x in found.limits]
    )
    page.part("From the plan as it stands", _spare(found))
    return page.text()


def _limit_json(limit: Limit) -> dict[str, Any]:
    inside, outside = limit.inside, limit.outside
    searched = limit.searched
    return {
        "id": limit.id,
        "value": limit.value,
        "unit": limit.unit,
        "check": outside.check.id if outside and outside.check else None,
        "inside": inside.verdict if inside else None,
        "outside": outside.verdict if outside else None,
        "reason": reason(limit),
        "searched": list(searched) if searched else None,
        "monotone": limit.found.monotone if limit.found else None,
        "probes": limit.probes,
    }


def reason(limit: Limit) -> str:
    """Why the limit lies there, or why there is none."""
    if limit.found is None:
        return f"Not searched: the outing has no {limit.missing}; enter it to have this limit."
    if limit.outside is None or limit.inside is None:
        first, last = limit.searched or ("", "")
        span = f"from {_shown(first, limit.unit)} to {_shown(last, limit.unit)}"
        if limit.found.kind == GOOD_EVERYWHERE:
            return f"No limit found: it stays good everywhere that was searched, {span}."
        if limit.found.kind == GOOD_TO_THE_END:
            return (
                "No limit found: not good as planned, but good further on and to the end of what was "
                f"searched, {span}."
            )
        return f"No limit: it is good nowhere that was searched, {span}."
    check = limit.outside.check
    text = f"up to {_shown(limit.value, limit.unit)} it {limit.inside.verdict}"
    if check is not None:
        text += f"; one step further decides: {TITLES[check.id].lower()}, {check.verdict}. {sentence(check.reason)}"
    if not limit.found.monotone:
        text += " The verdict changes more than once over what was searched; this is the change met first."
    return text[0].upper() + text[1:]


def _shown(value: float | str | None, unit: str) -> str:
    if value is None or isinstance(value, str):
        return str(value)
    return f"{value:.4g}{_UNITS.get(unit, ' ' + unit)}"


def _spare(found: Limits) -> list[str]:
    spare, said = found.spare, []
    if spare.turn_back_c is not None:
        text = f"Turn back when {amp_hours(spare.turn_back_c, 'down')} are used, by a counter"
        if spare.turn_back_s is not None:
            text += f", or after {about_time(spare.turn_back_s, 'down')} by the clock"
        said.append(text + ". That keeps the reserve in nine outings of ten.")
    if spare.pull_a is not None:
        pull = f"The hardest pull, {amps(spare.pull_a, 'up')}"
        if spare.pull_s is None:
            said.append(f"{pull}: no test shows it held for any time.")
        else:
            said.append(f"{pull}: our tests show it held for {about_time(spare.pull_s, 'down')} at most.")
    return said


def _part(value: float | None, divisor: float) -> float | None:
    return None if value is None else finite(value / divisor)
