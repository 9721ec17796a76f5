"""Several batteries on one outing, with the same draws of the loads for all."""

from __future__ import annotations

import math
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.battery.fit import Fitted, fit_record
from planner.battery.full_discharge import GROUP_K, full_discharges
from planner.constants import JOULE_PER_WH
from planner.outing.schema import Outing
from planner.record.schema import CapacityTest, Record
from planner.simulate.setup import LONGEST_RUN_S
from planner.verdict.assess import DRAWS, SEED, Assessment, assess
from planner.verdict.batch import run_batch
from planner.verdict.check import GOOD, WORST_FIRST
from planner.winter.schema import Climate

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Choice:
    """One battery of a comparison.

    charge_c, energy_j : of the record's largest full discharge among its warmest; None when not measured.
    price_per_wh : price of one over that energy. dominated_by : names of the choices that are nowhere worse.
    """

    answer: Assessment
    charge_c: float | None
    energy_j: float | None
    price_per_wh: float | None
    dominated_by: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """The battery's name."""
        return self.answer.record.name

    @property
    def delivered_j(self) -> float | None:
        """Energy the centre run gives this outing's loads until the battery ends [J]; None beyond 10,000 h."""
        run = self.answer.batch.run
        energy_j = float(run.end_energy_j[0])
        return energy_j if run.end_s[0] <= LONGEST_RUN_S and energy_j > 0.0 else None

    @property
    def mass_kg(self) -> float | None:
        """Of all units of the bank together; None where one's is not known."""
        masses = [record.mass_kg for record in self.answer.batch.every_unit]
        return None if None in masses else sum(mass for mass in masses if mass is not None)

    @property
    def price(self) -> float | None:
        """Of all units of the bank together; None where one's is not known or the currencies differ."""
        records = self.answer.batch.every_unit
        prices = [record.price for record in records]
        if None in prices or len({record.currency for record in records}) > 1:
            return None
        return sum(price for price in prices if price is not None)

    @property
    def price_per_delivered_wh(self) -> float | None:
        """Price of the whole bank over the energy of this outing, one charge."""
        price, energy_j = self.price, self.delivered_j
        return None if price is None or energy_j is None else price / (energy_j / JOULE_PER_WH)

    @property
    def lost_hours(self) -> float | None:
        """Hours of charging lost in the cold of the year as given, at the pessimistic end; None without a climate."""
        winter = self.answer.winter
        return None if winter is None else float(winter.outlook.given.hours_blocked[1, 0])


@dataclass(frozen=True, slots=True)
class Comparison:
    """The choices, best first. outlasts : (choices, choices) chance that the row's lasts longer than the column's.

    The chance is taken over the same loads for all and a unit of its own for each; ties count half.
    """

    outing: Outing
    choices: tuple[Choice, ...]
    outlasts: Floats

    @property
    def best(self) -> Choice | None:
        """The first choice, when its verdict is good."""
        first = self.choices[0] if self.choices else None
        return first if first is not None and first.answer.verdict in GOOD else None


def compare(records: Sequence[Record], outing: Outing, climate: Climate | None = None, draws: int = DRAWS,
            seed: int = SEED, units: tuple[Record, ...] = (), fits: Sequence[Fitted] = ()) -> Comparison:  # fmt: skip
    """Assess every battery on the outing. Each answer equals the single `assess` with the same draws and seed.

    units : records of a bank's units, where the outing names them; they carry the loads whichever record is
    asked about. fits : the records' models, where they are at hand.
    """
    fits = fits or [fit_record(record) for record in records]
    answers = [
        assess(record, outing, climate, draws, seed, fitted, units)
        for record, fitted in zip(records, fits, strict=True)
    ]
    choices = [_choice(answer) for answer in answers]
    by_price = ordered_by_price(choices)
    order = sorted(range(len(choices)), key=lambda place: _rank(choices[place], by_price))
    times = (
        [_times(records[place], outing, draws, seed, fits[place], units) for place in order]
        if len(order) > 1
        else []
    )
    ranked = [choices[place] for place in order]
    ranked = [replace(choice, dominated_by=_dominating(choice, ranked)) for choice in ranked]
    return Comparison(outing, tuple(ranked), _outlasts(times, len(order)))


def best_discharge(record: Record) -> CapacityTest | None:
    """The largest full discharge among those at the warmest temperature tested; None when there is none."""
    full = full_discharges(record)
    if not full:
        return None
    warmest = max(test.at.cell_k for test in full)
    return max((test for test in full if warmest - test.at.cell_k <= GROUP_K), key=lambda test: test.charge_c)


def _choice(answer: Assessment) -> Choice:
    test, price = best_discharge(answer.record), answer.record.price
    if test is None:
        return Choice(answer, None, None, None)
    per_wh = None if price is None or not test.energy_j else price / (test.energy_j / JOULE_PER_WH)
    return Choice(answer, test.charge_c, test.energy_j, per_wh)


def ordered_by_price(choices: Sequence[Choice]) -> bool:
    """Whether the energy of one verdict is ordered by its price: there is one, and no two state two currencies."""
    coins = {choice.answer.record.currency for choice in choices if choice.price_per_wh is not None}
    return bool(coins) and len(coins - {None}) <= 1


def _rank(choice: Choice, by_price: bool) -> tuple[int, bool, float, str]:
    """Best verdict first, then the cheaper energy, a missing price last; without prices the one that lasts longer."""
    price = choice.price_per_wh
    verdict = -WORST_FIRST.index(choice.answer.verdict)
    if not by_price:
        return verdict, False, -choice.answer.runtime.p10_s, choice.name
    return verdict, price is None, price or 0.0, choice.name


def _times(record: Record, outing: Outing, draws: int, seed: int, fitted: Fitted,
           units: tuple[Record, ...]) -> Floats:  # fmt: skip
    """Runtimes with the loads of `seed` and units of the battery's own: two batteries are two samples of units.

    The answers themselves draw every battery's unit with one seed, so that they can be repeated alone; there
    good units would meet good units only. Units that the outing names are the same ones for every battery.
    """
    own = zlib.crc32(f"{record.name}\n{record.tag}".encode())
    batch = run_batch(record, outing, draws, seed, fitted, units, seed + own)
    return batch.runtime_s()[batch.draws]


def _outlasts(times: Sequence[Floats], count: int) -> Floats:
    """(count, count) chances by counting draws; 0.5 against itself."""
    chances = np.full((count, count), 0.5)
    for row, mine in enumerate(times):
        for column, other in enumerate(times):
            if row != column and len(mine):
                chances[row, column] = float((mine > other).mean() + 0.5 * (mine == other).mean())
    return chances


def _dominating(choice: Choice, others: Sequence[Choice]) -> tuple[str, ...]:
    return tuple(other.name for other in others if other is not choice and dominates(other, choice))


def dominates(one: Choice, other: Choice) -> bool:
    """Whether the first is nowhere worse than the second and somewhere better."""
    return bool(standing(one, other))


def standing(one: Choice, other: Choice) -> bool | None:
    """Where the first is nowhere worse than the second: whether it is somewhere better. None where it is worse.

    Looked at: verdict, pessimistic runtime, price, mass, and hours of charging lost in the cold. What is not
    known of both is left out; what is known of one only cannot be compared, which counts as worse.
    """
    first, second = one.answer.record, other.answer.record
    if first.price is not None and second.price is not None and first.currency != second.currency:
        return None
    better = False
    for mine, theirs in zip(_virtues(one), _virtues(other), strict=True):
        if mine is None and theirs is None:
            continue
        if mine is None or theirs is None or mine < theirs:
            return None
        better = better or mine > theirs
    return better


def _virtues(choice: Choice) -> tuple[float | None, ...]:
    """What is better when larger."""
    answer = choice.answer
    lost = None if choice.lost_hours is None else -choice.lost_hours
    price = None if choice.price is None else -choice.price
    mass = None if choice.mass_kg is None else -choice.mass_kg
    p10 = answer.runtime.p10_s
    return float(WORST_FIRST.index(answer.verdict)), None if math.isnan(p10) else p10, price, mass, lost
