"""Several batteries on several outings: the comparison of each outing, and what holds over all of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from planner.battery.fit import Fitted, fit_record
from planner.outing.schema import Outing
from planner.record.schema import Record
from planner.verdict.assess import DRAWS, SEED
from planner.verdict.check import GOOD, WORST_FIRST
from planner.verdict.compare import Choice, Comparison, compare, standing
from planner.winter.schema import Climate


@dataclass(frozen=True, slots=True)
class Across:
    """One battery over all outings. choices : one an outing, in their order.

    dominated_by : names of the batteries that are nowhere worse on any outing, and somewhere better.
    """

    choices: tuple[Choice, ...]
    dominated_by: tuple[str, ...]

    @property
    def name(self) -> str:
        """The battery's name."""
        return self.choices[0].name

    @property
    def worst(self) -> str:
        """The worst verdict of all outings."""
        return min((choice.answer.verdict for choice in self.choices), key=WORST_FIRST.index)

    @property
    def good(self) -> int:
        """How many outings it fits, with or without limits."""
        return sum(choice.answer.verdict in GOOD for choice in self.choices)


@dataclass(frozen=True, slots=True)
class Matrix:
    """All batteries over all outings, the best first: most outings fitted, then the worst verdict, then the price."""

    comparisons: tuple[Comparison, ...]
    batteries: tuple[Across, ...]

    @property
    def best(self) -> Across | None:
        """The first battery, where it fits every outing."""
        first = self.batteries[0] if self.batteries else None
        return first if first is not None and first.worst in GOOD else None


def compare_across(records: Sequence[Record], outings: Sequence[Outing], climate: Climate | None = None,
                   draws: int = DRAWS, seed: int = SEED,
                   units: Sequence[tuple[Record, ...]] = (), fits: Sequence[Fitted] = ()) -> Matrix:  # fmt: skip
    """Each battery on each outing with one seed, every record fitted once. units : of each outing's bank.

    fits : the records' models, where they are at hand.
    """
    fits = fits or [fit_record(record) for record in records]
    each = units or ((),) * len(outings)
    return matrix_of(
        [
            compare(records, outing, climate, draws, seed, own, fits)
            for outing, own in zip(outings, each, strict=True)
        ],
        records,
    )


def matrix_of(comparisons: Sequence[Comparison], records: Sequence[Record]) -> Matrix:
    """Comparisons of the same batteries, one an outing, laid beside each other."""
    rows = [
        tuple(
            next(choice for choice in found.choices if choice.answer.record is record)
            for found in comparisons
        )
        for record in records
    ]
    batteries = [
        Across(mine, tuple(other[0].name for other in rows if other is not mine and _dominates(other, mine)))
        for mine in rows
    ]
    return Matrix(tuple(comparisons), tuple(sorted(batteries, key=_rank)))


def _rank(one: Across) -> tuple[int, int, bool, float, str]:
    price = one.choices[0].price_per_wh
    return -one.good, -WORST_FIRST.index(one.worst), price is None, price or 0.0, one.name


def _dominates(one: Sequence[Choice], other: Sequence[Choice]) -> bool:
    """Nowhere worse on any outing, and better somewhere on one."""
    found = [standing(mine, theirs) for mine, theirs in zip(one, other, strict=True)]
    return all(place is not None for place in found) and any(place for place in found)
