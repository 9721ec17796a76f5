"""What a real outing says about its prediction, as text or an object."""

from __future__ import annotations

from typing import Any

from planner.constants import COULOMB_PER_AH, SECONDS_PER_HOUR, ZERO_CELSIUS_K
from planner.explain.figures import finite
from planner.explain.install_notes import ZONES
from planner.explain.layout import Page
from planner.explain.words import about_time, degrees
from planner.verdict.follow_up import ABOVE, BELOW, INSIDE, STOPPED, UNKNOWN, Band, FollowUp, Opened

ENDINGS = {
    "cutoff": "its voltage was down to the cut-off",
    "opened": "the battery switched itself off under load",
    "stopped": "it was ended with the battery still giving",
}
PLACES = {
    INSIDE: "inside what was predicted",
    ABOVE: "above what was predicted",
    BELOW: "below what was predicted",
    UNKNOWN: "the battery was not run empty",
}
WRONG = {
    "load": "The loads: what was really drawn is not what the outing says. Put the logged current into the outing.",
    "temperature": "The temperature: with the logged current and temperature the battery lasts as predicted. Put the "
    "real temperature into the outing.",
    "battery": "The battery: even with the logged {inputs} it did not last as long as its record says. Test "
    "its capacity again; until then trust the outing, not the record.",
}
LONGER = (
    "The battery: even with the logged {inputs} it lasted longer than its record says. Test its capacity "
    "again; until then plan by the record."
)
SERIOUS = (
    "SERIOUS FINDING: it opened at {a:.1f} A after {t:.0f} s, which the bench had demonstrated ({by}). One of the two "
    "is wrong, or this unit is not as the one tested. Do not rely on the demonstrated figure until the bench test was "
    "repeated on this unit."
)
OPENED = "It opened at {a:.1f} A after {t:.0f} s: {zone}."
BANK_OPENED = (
    "It opened at {a:.1f} A after {t:.0f} s. Which unit of the bank opened first, and at what current, a log of the "
    "whole does not tell: log each branch."
)
KEPT = "The record stays as it is: enter a field reading as a test of its own, in a copy of the record."


def follow_up_json(found: FollowUp) -> dict[str, Any]:
    """Everything `follow-up --json` prints."""
    opened = found.opened
    return {
        "battery": found.record.name,
        "outing": found.outing.name,
        "ended_by": found.ended,
        "length_h": found.length_s / SECONDS_PER_HOUR,
        "runtime_h": _band(found.runtime, SECONDS_PER_HOUR),
        "charge_Ah": _band(found.charge, COULOMB_PER_AH),
        "min_voltage_V": None if found.lowest_v is None else _band(found.lowest_v, 1.0),
        "runtime_with_h": {name: _band(band, SECONDS_PER_HOUR) for name, band in found.steps},
        "wrong_input": found.wrong,
        "temperature_degC": None if found.logged_k is None else found.logged_k - ZERO_CELSIUS_K,
        "trip": None if opened is None else {
            "current_A": opened.current_a,
            "held_s": opened.held_s,
            "last_voltage_V": opened.last_v,
            "zone": None if opened.zone is None else opened.zone.name,
            "serious": opened.contradicts,
        },
        "findings": findings(found),
        "warnings": list(found.warnings),
    }  # fmt: skip


def _band(band: Band, unit: float) -> dict[str, Any]:
    low, middle, high, seen = (
        finite(value / unit) for value in (band.low, band.middle, band.high, band.found)
    )
    return {"p10": low, "centre": middle, "p90": high, "found": seen, "place": band.place}


def findings(found: FollowUp) -> list[str]:
    """The sentences, the gravest first."""
    said = []
    opened = found.opened
    if opened is not None:
        said.append(_opened(opened))
    if found.wrong is not None:
        longer = found.wrong == "battery" and found.steps[-1][1].place == ABOVE
        inputs = "current" if found.logged_k is None else "current and temperature"
        said.append((LONGER if longer else WRONG[found.wrong]).format(inputs=inputs))
    elif opened is None:
        said.append("Nothing in the log contradicts the prediction.")
    if found.ended == STOPPED and found.runtime.place == UNKNOWN:
        said.append("The battery was not run empty, so how long it lasts was not tried.")
    return said


def _opened(opened: Opened) -> str:
    if opened.zone is None:
        return BANK_OPENED.format(a=opened.current_a, t=opened.held_s)
    by = "" if opened.zone.by is None else opened.zone.by.source
    text = SERIOUS if opened.contradicts else OPENED
    return text.format(a=opened.current_a, t=opened.held_s, by=by, zone=ZONES[opened.zone.name])


def follow_up_text(found: FollowUp) -> str:
    """The comparison for reading."""
    page = Page()
    ending = f"The outing took {about_time(found.length_s, 'near')}, and {ENDINGS[found.ended]}."
    page.title(ending, [f"Battery: {found.record.name}", f"Outing:  {found.outing.name}"])
    for text in findings(found):
        page.paragraph(text)
    lines = [
        _line("lasts, h", found.runtime, SECONDS_PER_HOUR),
        _line("used, Ah", found.charge, COULOMB_PER_AH),
    ]
    if found.lowest_v is not None:
        lines.append(_line("lowest, V", found.lowest_v, 1.0))
    lines += [_line(f"lasts, {name} put right", band, SECONDS_PER_HOUR) for name, band in found.steps]
    page.part(f"{'predicted (8 in 10)':<26}{'from':>8}{'to':>9}{'found':>9}", lines, wrap=False)
    page.part("Beside this answer", beside(found))
    return page.text()


def beside(found: FollowUp) -> list[str]:
    """What is told beside the comparison."""
    if found.logged_k is None:
        warm = "The log has no temperature, so a wrong one cannot be told from a wrong capacity."
    else:
        warm = f"Mean temperature of the log: {degrees(found.logged_k)}."
    return [KEPT, *found.warnings, warm]


def _line(name: str, band: Band, unit: float) -> str:
    low, high, seen = (_figure(value / unit) for value in (band.low, band.high, band.found))
    return f"{name:<24}{low:>8} {high:>8} {seen:>8}  {PLACES[band.place]}"


def _figure(value: float) -> str:
    shown = finite(value)
    return "long" if shown is None else f"{shown:.2f}"
