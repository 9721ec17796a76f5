"""One unit, a pair, or a larger unit: rows for JSON, lines for reading, and what to mind when wiring a pair."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from planner.explain.answer import runtime_json
from planner.explain.cautions import cautions
from planner.explain.layout import Page
from planner.explain.next_test_sentences import CHECK_NAMES
from planner.explain.words import hours_at_least
from planner.verdict.bank_or_bigger import Way

if TYPE_CHECKING:
    import pandas as pd

WIDE = 29  # letters of a battery's name in the table
EQUAL_LEADS = (
    "A pair is worked out on two leads of equal length and size. Unequal leads make one unit carry more: state their "
    "resistances with the units of the outing to see it."
)
NOT_ADDED = (
    "What a pair may carry is not the sum of two labels: each unit's own share is set against its own tests, and the "
    "whole load against one unit for when the other switches off."
)


def ways_json(ways: Sequence[Way]) -> dict[str, Any]:
    """The rows, best first, and the cautions of wiring a pair."""
    return {"rows": [_row(way) for way in ways], "cautions": pair_cautions(ways)}


def _row(way: Way) -> dict[str, Any]:
    answer = way.answer
    run = runtime_json(answer)
    return {
        "battery": answer.record.name,
        "units": way.units,
        "verdict": answer.verdict,
        "decided_by": answer.deciding[0].id if answer.deciding else None,
        "nominal_h": run["nominal_h"],
        "p10_h": run["p10_h"],
        "p90_h": run["p90_h"],
        "one_lost": _one_lost(way),
        "mass_kg": way.mass_kg,
        "price": way.price,
        "currency": answer.record.currency,
    }


def _one_lost(way: Way) -> str | None:
    """The worst verdict with one unit of a pair lost."""
    losses = way.answer.bank.losses if way.answer.bank else ()
    worst = max(losses, key=lambda loss: loss.survivor_a, default=None)
    return None if worst is None else worst.verdict


def pair_cautions(ways: Sequence[Way]) -> list[str]:
    """What a pair needs beyond what one unit needs; empty without a pair."""
    alone = {text for way in ways if way.units == 1 for text in cautions(way.answer)}
    pairs = [text for way in ways if way.units > 1 for text in cautions(way.answer)]
    more = [text for text in dict.fromkeys(pairs) if text not in alone]
    return [*more, EQUAL_LEADS, NOT_ADDED] if pairs else []


def ways_text(ways: Sequence[Way], currency: str = "") -> str:
    """The same for reading; a sentence where the outing has a bank of its own.

    currency : of prices whose record states none; "" for unknown.
    """
    page = Page()
    if not ways:
        page.part(
            "One, two in parallel, or larger", ["the outing has a bank of its own: it is judged as it stands"]
        )
        return page.text()
    head = f"{'alone, as a pair, or larger':<{WIDE}}{'verdict':<18}{'P10 h':>8}{'kg':>7}{'price':>9}"
    page.part(head, [_line(way, currency) for way in ways], wrap=False)
    page.part("Before you connect two", pair_cautions(ways))
    return page.text()


def name_of(way: Way) -> str:
    """A way's name: the battery, twice where it is a pair."""
    return way.answer.record.name if way.units == 1 else f"{way.units} x {way.answer.record.name}"


def _line(way: Way, currency: str) -> str:
    row = _row(way)
    p10 = "-" if row["p10_h"] is None else f"{row['p10_h']:.2f}"
    mass = "-" if row["mass_kg"] is None else f"{row['mass_kg']:.1f}"
    price = "-" if row["price"] is None else f"{row['price']:.0f}"
    coin = "" if row["price"] is None else row["currency"] or currency
    name = name_of(way)
    short = name if len(name) < WIDE - 2 else name[: WIDE - 6] + "..."
    return f"{short:<{WIDE - 2}}{row['verdict']:<18}{p10:>8}{mass:>7}{price:>9} {coin}"


def ways_table(ways: Sequence[Way]) -> pd.DataFrame:
    """A row a way, best first, with the numbers of the command's JSON."""
    import pandas as pd

    rows: list[dict[str, Any]] = ways_json(ways)["rows"]
    return pd.DataFrame(
        {
            "Battery": [name_of(way) for way in ways],
            "Verdict": [row["verdict"] for row in rows],
            "Decided by": [CHECK_NAMES.get(row["decided_by"] or "", "") for row in rows],
            "At least, in nine of ten (h)": [hours_at_least(row["p10_h"]) for row in rows],
            "Middle (h)": [None if row["nominal_h"] is None else round(row["nominal_h"], 1) for row in rows],
            "If one switches off": [row["one_lost"] or "" for row in rows],
            "Weight (kg)": [None if row["mass_kg"] is None else round(row["mass_kg"], 1) for row in rows],
            "Price": [None if row["price"] is None else round(row["price"], 2) for row in rows],
            "Currency": [row["currency"] or "" for row in rows],
        }
    )
