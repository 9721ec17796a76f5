"""Several batteries on one outing: `compare_json` as an object, `compare_text` as a table."""

from __future__ import annotations

from typing import Any

from planner.battery.kind import kind_of
from planner.battery.prior import UNIT_SPREAD_CHARGE
from planner.constants import COULOMB_PER_AH
from planner.explain.answer import runtime_json
from planner.explain.figures import watt_hours
from planner.explain.layout import Page
from planner.explain.warnings import warnings
from planner.explain.words import chance
from planner.verdict.compare import Choice, Comparison, ordered_by_price

WIDE = 30  # letters of a battery's name in the table


def compare_json(found: Comparison) -> dict[str, Any]:
    """Everything `compare --json` prints."""
    best = found.best
    return {
        "outing": found.outing.name,
        "best": best.name if best else None,
        "rows": [_row(found, place) for place in range(len(found.choices))],
        "warnings": comparison_warnings(found),
    }


def _row(found: Comparison, place: int) -> dict[str, Any]:
    choice = found.choices[place]
    answer, record = choice.answer, choice.answer.record
    run = runtime_json(answer)
    others = [other for other in range(len(found.choices)) if other != place]
    return {
        "battery": record.name,
        "tag": record.tag,
        "verdict": answer.verdict,
        "checks": {check.id: check.verdict for check in answer.checks},
        "decided_by": answer.deciding[0].id if answer.deciding else None,
        "nominal_h": run["nominal_h"],
        "p10_h": run["p10_h"],
        "p90_h": run["p90_h"],
        "charge_Ah": None if choice.charge_c is None else choice.charge_c / COULOMB_PER_AH,
        "energy_Wh": None if choice.energy_j is None else watt_hours(choice.energy_j),
        "mass_kg": choice.mass_kg,
        "price": choice.price,
        "currency": record.currency,
        "price_per_Wh": choice.price_per_wh,
        "delivered_Wh": None if choice.delivered_j is None else watt_hours(choice.delivered_j),
        "price_per_delivered_Wh": choice.price_per_delivered_wh,
        "peak_zone": answer.peak.zone,
        "lost_winter_hours": choice.lost_hours,
        "dominated_by": list(choice.dominated_by),
        "outlasts": [
            {"battery": found.choices[other].name, "probability": float(found.outlasts[place, other])}
            for other in others
        ],
    }


def compare_text(found: Comparison, currency: str = "") -> str:
    """The table for reading, best first, and what is beaten by what.

    currency : of prices whose record states none; "" for unknown.
    """
    page = Page()
    best = found.best
    page.title(
        "BEST: " + best.name if best else "NONE of these is shown to fit.",
        [f"Outing: {found.outing.name}", order_told(found)],
    )
    head = f"{'battery':<{WIDE}}{'verdict':<18}{'P10 h':>8}{'kg':>7}{'per Wh':>8}"
    page.part(head, [_line(choice, currency) for choice in found.choices], wrap=False)
    beaten = [
        f"{choice.name}: nowhere better, and somewhere worse, than {', '.join(choice.dominated_by)}."
        for choice in found.choices
        if choice.dominated_by
    ]
    page.part("Beaten", beaten)
    page.part("Which one lasts longer", outlasting(found))
    page.part("Beside this answer", comparison_warnings(found))
    return page.text()


def order_told(found: Comparison) -> str:
    """What the first row is first in."""
    by_price = ordered_by_price(found.choices)
    return f"Order: the better verdict, then {'the lower price of a measured watt-hour' if by_price else 'the longer'}."


def outlasting(found: Comparison) -> list[str]:
    """How likely the first battery outlasts each other one, with the spreads that it rests on."""
    if len(found.choices) < 2:
        return []
    first = found.choices[0].name
    told = [
        f"{first} outlasts {other.name} in {chance(float(found.outlasts[0, place]))} outings."
        for place, other in enumerate(found.choices)
        if place
    ]
    return [*told, *_spreads(found)]


def _spreads(found: Comparison) -> list[str]:
    """How far units of each kind are taken to differ in charge: as several of it showed, else as is usual."""
    kinds = {choice.name: kind_of(choice.answer.record).charge for choice in found.choices}
    shown = [
        f"Units of {name} are taken to differ by {100.0 * among.spread:.2g} % in charge, as those tested did."
        for name, among in kinds.items()
        if among.measured
    ]
    if len(shown) == len(kinds):
        return shown
    of = "of one kind" if not shown else "of the others"
    return [
        *shown,
        f"This takes units {of} to differ by {100.0 * UNIT_SPREAD_CHARGE:.3g} % in charge (common practice).",
    ]


def _line(choice: Choice, currency: str) -> str:
    run = runtime_json(choice.answer)
    p10 = "-" if run["p10_h"] is None else f"{run['p10_h']:.2f}"
    mass = "-" if choice.mass_kg is None else f"{choice.mass_kg:.1f}"
    price = "-" if choice.price_per_wh is None else f"{choice.price_per_wh:.3f}"
    coin = "" if choice.price_per_wh is None else choice.answer.record.currency or currency
    name = choice.name if len(choice.name) < WIDE else choice.name[: WIDE - 4] + "..."
    return f"{name:<{WIDE - 2}}{choice.answer.verdict:<18}{p10:>8}{mass:>7}{price:>8} {coin}"


def comparison_warnings(found: Comparison) -> list[str]:
    """Warnings of all answers, each once with the battery it is of where it is not of all."""
    said: dict[str, list[str]] = {}
    for choice in found.choices:
        for text in warnings(choice.answer):
            said.setdefault(text, []).append(choice.name)
    every = len(found.choices)
    texts = [text if len(names) == every else f"{', '.join(names)}: {text}" for text, names in said.items()]
    coins = {
        choice.answer.record.currency for choice in found.choices if choice.answer.record.price is not None
    }
    units = len(found.choices[0].answer.batch.every_unit) if found.choices else 1
    if units > 1:
        texts.append(f"Weight and price are of the bank's {units} units together; price per Wh is of one unit.")
    known = sorted(coin for coin in coins if coin)
    if len(known) > 1:
        texts.append("The prices are in more than one currency, so nothing is ordered by price.")
    elif known and len(coins) > 1:
        texts.append(
            f"A record that states no currency stands beside one in {known[0]}: their order by price holds only if "
            "both prices are in the same one."
        )
    return texts
