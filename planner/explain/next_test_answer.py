"""Which test to run next: `next_test_json` as an object, `next_test_text` in words."""

from __future__ import annotations

from typing import Any

from planner.constants import ZERO_CELSIUS_K
from planner.explain.answer_text import headline
from planner.explain.layout import Page
from planner.explain.next_test_sentences import REASONS, checks, firm_told
from planner.explain.warnings import warnings
from planner.explain.words import exact_time
from planner.verdict.bench_plan import toml_of
from planner.verdict.check import NOT_PROVEN, Told
from planner.verdict.next_test import NextTests
from planner.verdict.proposal import Proposal

_TEST_NAMES = {
    "surge": "Short high current",
    "hold": "High current held",
    "capacity": "Full discharge",
    "cold_capacity": "Full discharge in the cold",
    "terminal": "Terminal temperatures",
    "cold_charge": "Charging in the cold, both ways",
    "cold_charge_warming": "Charging while it warms up",
    "buyer_log": "Log of the outing",
    "joint_survey": "Survey of the joints",
    "parallel_pair": "Two side by side",
    "trip_recovery": "Coming back after it switched off",
    "second_unit": "A second unit of the kind",
    "sleep_current": "What it takes for itself",
    "inrush": "Connecting the inverter",
}


def next_test_json(found: NextTests) -> dict[str, Any]:
    """Everything `next-test --json` prints."""
    base = found.base
    return {
        "verdict": base.verdict,
        "battery": base.record.name,
        "outing": base.outing.name,
        "seed": base.seed,
        "draws": base.draws,
        "tests": [_test(one, base.verdict) for one in found.tests],
        "pointless": [{"id": one.id, "reason": said(one.reason)} for one in found.pointless],
        "warnings": list(warnings(base)),
    }


def said(told: Told) -> str:
    """A reason in words. Raises KeyError for a code without a sentence."""
    return REASONS[told.code](told.parts)


def _firm(one: Proposal, base: str) -> dict[str, Any]:
    """Probability of a firm verdict before the test and after it, and what it is expected to change."""
    now, (low, high) = float(base != NOT_PROVEN), one.outcomes.firm()
    return {
        "now": now,
        "after": {"low": _rounded(low), "high": _rounded(high)},
        "change": {"low": _rounded(low - now), "high": _rounded(high - now)},
        "told": firm_told(one.outcomes, base),
    }


def _rounded(share: float | None) -> float | None:
    return None if share is None else round(share, 3)


def _test(one: Proposal, base: str) -> dict[str, Any]:
    return {
        "id": one.id,
        "file": one.file,
        "current_A": one.current_a,
        "duration_s": one.duration_s,
        "temperature_degC": None if one.cell_k is None else round(one.cell_k - ZERO_CELSIUS_K, 6),
        "changes": list(one.changes),
        "bench_minutes": one.minutes,
        "risk": one.risk,
        "reason": said(one.reason),
        "record": toml_of(one.tests) or None,
        "verdict_if_passed": one.passed,
        "verdict_if_failed": one.failed,
        "outcomes": [
            {"probability": _rounded(way.share), "verdict": way.verdict} for way in one.outcomes.each
        ],
        "probability_from": one.outcomes.basis,
        "firm_verdict": _firm(one, base),
        "together_with": list(one.together_with),
        "settles_points": [{"current_A": current, "duration_s": seconds} for current, seconds in one.points],
    }


def test_name(name: str) -> str:
    """A test as a reader is told of it. Raises KeyError for one without a name."""
    return _TEST_NAMES[name]


def next_test_text(found: NextTests) -> str:
    """The same for reading, at most 80 columns; the tables to paste stand at the end."""
    page, base = Page(), found.base
    page.title(headline(base), (f"Battery: {base.record.name}", f"Outing:  {base.outing.name}"))
    page.part(
        "Worth testing, the best first",
        [_line(one, base.verdict) for one in found.tests] or ["no test would change the answer"],
    )
    page.part("Pointless here", [f"{test_name(one.id)}: {said(one.reason)}" for one in found.pointless])
    for names, one in _pasted(found):
        page.part("To paste into the battery's file, with the figures read",
                  [*(f"# {name}" for name in names), *toml_of(one.tests).splitlines()], wrap=False)  # fmt: skip
    return page.text()


def _pasted(found: NextTests) -> list[tuple[tuple[str, ...], Proposal]]:
    """Each record to paste once, with the names of the tests that stand in it."""
    shown: dict[frozenset[str], tuple[tuple[str, ...], Proposal]] = {}
    for one in found.tests:
        tables = frozenset(toml_of((test,)) for test in one.tests)
        if tables and tables not in shown:
            shown[tables] = (tuple(map(test_name, (one.id, *one.together_with))), one)
    return list(shown.values())


def _line(one: Proposal, base: str) -> str:
    where = "" if one.cell_k is None else f" at {one.cell_k - ZERO_CELSIUS_K:.3g} °C"
    size = "" if one.current_a is None else f", {one.current_a:.4g} A"
    length = "" if one.duration_s is None else f", {exact_time(one.duration_s)}"
    beside = f", together with {' and '.join(map(test_name, one.together_with))}" if one.together_with else ""
    told = (
        f"{test_name(one.id)}{size}{length}{where}{beside}: settles {checks(one.changes)}; about {one.minutes} minutes"
    )
    return f"{told} of bench time, risk to the unit {one.risk}. {said(one.reason)} {firm_told(one.outcomes, base)}"
