"""One unit, two of it in parallel, or a larger unit: the same outing put to each.

A pair is simulated as a pair, branch by branch and with each unit lost in turn; nothing is doubled but mass and price.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from planner.battery.fit import fit_record
from planner.outing.schema import Bank, Outing
from planner.record.schema import Record
from planner.verdict.assess import DRAWS, SEED, Assessment, assess
from planner.verdict.check import WORST_FIRST
from planner.winter.schema import Climate

PAIR = 2


@dataclass(frozen=True, slots=True)
class Way:
    """One way to power the outing: `units` of a battery in parallel on equal leads."""

    units: int
    answer: Assessment

    @property
    def mass_kg(self) -> float | None:
        """Of all units."""
        mass = self.answer.record.mass_kg
        return None if mass is None else mass * self.units

    @property
    def price(self) -> float | None:
        """Of all units, in the record's currency."""
        price = self.answer.record.price
        return None if price is None else price * self.units


def bank_or_bigger(records: Sequence[Record], outing: Outing, climate: Climate | None = None, draws: int = DRAWS,
                   seed: int = SEED) -> tuple[Way, ...]:  # fmt: skip
    """Every battery alone and as a pair, best verdict first, then the lighter. Empty where the outing has a bank."""
    if outing.bank is not None:
        return ()
    ways = []
    for record in records:
        fitted = fit_record(record)
        for units in (1, PAIR):
            asked = outing if units == 1 else replace(outing, bank=Bank(parallel=units))
            ways.append(Way(units, assess(record, asked, climate, draws, seed, fitted)))
    return tuple(sorted(ways, key=_rank))


def _rank(way: Way) -> tuple[int, float, int, str]:
    mass = way.mass_kg
    best_first = -WORST_FIRST.index(way.answer.verdict)
    return best_first, float("inf") if mass is None else mass, way.units, way.answer.record.name
