"""One battery and many buyers: the count and the causes as text or an object, and a row for each buyer."""

from __future__ import annotations

from typing import Any

from planner.explain.answer import runtime_json
from planner.explain.check_words import CHECK_WORDS, TITLES
from planner.explain.layout import Page
from planner.explain.sentences import sentence
from planner.explain.words import counted
from planner.outing.schema import QUESTIONS
from planner.verdict.check import GOOD
from planner.verdict.fleet import Fleet, Served

COLUMNS = (
    "buyer",
    "outing",
    "verdict",
    *QUESTIONS,
    "needed_h",
    "nominal_h",
    "p10_h",
    "p90_h",
    "why",
    "refused",
)
NUMBERS = ("needed_h", "nominal_h", "p10_h", "p90_h")
SHOWN = 30  # buyers told one by one in the text; all are in the table


def fleet_row(one: Served) -> tuple[str | float | None, ...]:
    """The cells of one buyer, in the order of COLUMNS."""
    if one.answer is None:
        return (one.buyer, one.outing, *(None,) * (len(COLUMNS) - 3), one.refused)
    checks = {check.id: check.verdict for check in one.answer.checks}
    run = runtime_json(one.answer)
    numbers = [run[name] for name in NUMBERS]
    return (one.buyer, one.outing, one.answer.verdict, *(checks.get(name) for name in QUESTIONS), *numbers,
            _why(one), None)  # fmt: skip


def _why(one: Served) -> str:
    """The reasons of what decides; the limits where it fits with limits, nothing where it fits."""
    if one.answer is None:
        return one.refused or ""
    if one.answer.verdict in GOOD:
        return " ".join(sentence(check.limit) for check in one.answer.deciding if check.limit is not None)
    return " ".join(f"{TITLES[check.id]}: {sentence(check.reason)}" for check in one.answer.deciding)


def fleet_json(found: Fleet) -> dict[str, Any]:
    """Everything `fleet --json` prints."""
    return {
        "battery": found.record.name,
        "buyers": len(found.served),
        "fit": found.fitting,
        "verdicts": found.verdicts(),
        "refused": sum(one.answer is None for one in found.served),
        "causes": [
            {"verdict": verdict, "check": check, "buyers": count}
            for (verdict, check), count in found.causes().items()
        ],
        "rows": [dict(zip(COLUMNS, fleet_row(one), strict=True)) for one in found.served],
    }


def fleet_text(found: Fleet) -> str:
    """How many fit, what stands in the way of the others, and each of them with the reason."""
    page = Page()
    every = len(found.served)
    page.title(f"FITS {found.fitting} of {counted(every, 'buyers')}.", [f"Battery: {found.record.name}"])
    page.part("By verdict", [f"{verdict}: {count}" for verdict, count in found.verdicts().items()])
    causes = [
        f"{verdict}, for {CHECK_WORDS[check].name}: {count}" for (verdict, check), count in found.causes().items()
    ]
    page.part("What stands in the way (a buyer may have several)", causes)
    others = [one for one in found.served if one.answer is None or one.answer.verdict not in GOOD]
    told = [f"{one.buyer} ({one.outing}), {_verdict(one)}. {_why(one)}" for one in others[:SHOWN]]
    if len(others) > SHOWN:
        told.append(f"and {len(others) - SHOWN:,} more: -o FILE.csv has all of them.")
    page.part("Who is not served, and why", told)
    return page.text()


def _verdict(one: Served) -> str:
    return "outing refused" if one.answer is None else one.answer.verdict
