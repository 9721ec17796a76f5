"""The answer to a year of charging, as a JSON object and as text."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from planner import __version__
from planner.battery.fit import fit_record
from planner.explain.cautions import winter_cautions
from planner.explain.digest import input_digest
from planner.explain.figures import check_json
from planner.explain.layout import Page
from planner.explain.mitigation_table import mitigation_json, mitigation_lines
from planner.explain.sentences import sentence
from planner.explain.warnings import one_unit, winter_warnings
from planner.explain.winter_care_text import care_json, care_sentences
from planner.explain.words import MONTHS, span_of
from planner.record.schema import Record
from planner.verdict.check import Check
from planner.verdict.winter_check import Winter, gate_ends, winter_check, winter_unit, work_out_winter
from planner.winter.mitigation import VariantResult, compare_variants, usual_variants
from planner.winter.schema import Climate
from planner.winter.weather_source import load_weather
from planner.winter.winter_json import as_json

MITIGATION_YEARS = 40  # medians over them move by less than the year-to-year spread


@dataclass(frozen=True, slots=True)
class WinterAnswer:
    """One record, one climate, the year worked out and its check."""

    record: Record
    climate: Climate
    draws: int
    seed: int
    winter: Winter
    check: Check
    changes: tuple[VariantResult, ...]


def answer_winter(record: Record, climate: Climate, draws: int, seed: int) -> WinterAnswer:
    """Work out the year as given, and `draws` other years with it; the usual changes over as many, 40 at most."""
    fitted = fit_record(record)
    winter = work_out_winter(record, climate, fitted, draws, seed)
    changes: tuple[VariantResult, ...] = ()
    if draws:
        gates = gate_ends(winter.gate)
        variants = usual_variants(winter.climate, winter_unit(record, fitted), gates)
        changes = compare_variants(
            variants, load_weather(winter.climate), gates, min(draws, MITIGATION_YEARS), seed
        )
    check = winter_check(winter, asked=True)
    assert check is not None  # there is a winter, so there is a check
    return WinterAnswer(record, climate, draws, seed, winter, check, changes)


def winter_section(winter: Winter, check: Check) -> dict[str, Any]:
    """The section `winter`: verdict, its check, and the year's numbers."""
    return {
        "verdict": check.verdict,
        "checks": [check_json(check)],
        **as_json(winter.outlook),
        **care_json(winter.care),
    }


def winter_json(answer: WinterAnswer) -> dict[str, Any]:
    """Everything `winter --json` prints."""
    return {
        **winter_section(answer.winter, answer.check),
        "mitigation": mitigation_json(answer.changes) if answer.changes else None,
        "battery": answer.record.name,
        "climate": answer.climate.name,
        "digest": input_digest(answer.record, None, answer.climate),
        "version": __version__,
        "seed": answer.seed,
        "draws": answer.draws,
        "cautions": list(winter_cautions(answer.record, answer.climate)),
        "warnings": [one_unit(answer.record), *winter_warnings(answer.winter)],
    }


def winter_text(answer: WinterAnswer) -> str:
    """The year in words, 80 columns."""
    check, page = answer.check, Page()
    page.title(
        f"{check.verdict.upper()}: charging through the year", (answer.record.name, answer.climate.name)
    )
    page.paragraph(sentence(check.reason))
    if check.limit is not None:
        page.part("What to keep to", [sentence(check.limit)])
    if check.settled_by is not None:
        page.part("What was not tested", [sentence(check.settled_by)])
    page.part("Month by month, hours without charge", _months(answer.winter), wrap=False)
    page.part("Other years", _other_years(answer.winter))
    page.part("What would help", _changes(answer), wrap=False)
    page.part("Left alone, charged, brought in", care_sentences(answer.winter.care))
    page.part("Cautions", winter_cautions(answer.record, answer.climate))
    page.part("Beside this answer", [one_unit(answer.record), *winter_warnings(answer.winter)])
    page.footnote(
        answer.seed, answer.draws, input_digest(answer.record, None, answer.climate), check.evidence
    )
    return page.text()


def _other_years(winter: Winter) -> list[str]:
    """Hours blocked and days dark of drawn years at P10, P50 and P90, both ends of the gate."""
    drawn = winter.outlook.drawn
    if drawn is None:
        return []
    lines = []
    for share, name in (
        (10, "One drawn year in ten is milder than"),
        (50, "The middle of them"),
        (90, "One in ten is harder than"),
    ):
        at = drawn.percentile(share)
        blocked = span_of(float(at.hours_blocked[0, 0]), float(at.hours_blocked[1, 0]), "hours")
        dark = span_of(float(at.days_dark[0, 0]), float(at.days_dark[1, 0]), "days")
        lines.append(f"{name}: {blocked} without charge, {dark} dark")
    return lines


def _changes(answer: WinterAnswer) -> list[str]:
    """A line a change, gains against the place as it is; then the finding."""
    return [] if not answer.changes else mitigation_lines(answer.changes)


def _months(winter: Winter) -> list[str]:
    """A line a month with hours offered: hours blocked at both ends."""
    given = winter.outlook.given
    lines = []
    for month, name in enumerate(MONTHS):
        offered = float(given.offered_m[month, 0])
        if offered <= 0.0:
            lines.append(f"{name:<10} no charger")
            continue
        blocked = span_of(float(given.blocked_m[0, month, 0]), float(given.blocked_m[1, month, 0]), "hours")
        lines.append(f"{name:<10} {blocked} of {offered:,.0f}")
    return lines
