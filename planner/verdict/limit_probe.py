"""Answers at the steps of one input: rough ones many at a time, exact ones one by one, each worked out once."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from planner.battery.draws import Scenarios
from planner.battery.fit import Fitted, fit_record
from planner.outing.schema import Outing
from planner.record.schema import Record
from planner.verdict.assess import Assessment, judge
from planner.verdict.batch import draw, run_scenarios
from planner.verdict.bench import Bench, bench_of
from planner.verdict.boundary import settle
from planner.verdict.centre import centre_scenarios
from planner.verdict.check import GOOD, Check
from planner.verdict.limit_inputs import Case, Steps
from planner.winter.schema import Climate

Floats = NDArray[np.float64]

MOST_SECANTS = 10
FIRST_STRIDE = 8  # steps, where nothing tells how far


@dataclass(frozen=True, slots=True)
class Probe:
    """One assessment of a changed case: the verdict, and the first check that decides it.

    completes : share of the draws that last to the outing's end. charge_spare, time_spare : logarithm of usable
    charge over the outing's, and of runtime over its length, that the chosen share of draws has at least; NaN where
    neither is known.
    """

    verdict: str
    check: Check | None
    completes: float
    charge_spare: float
    time_spare: float

    @property
    def good(self) -> bool:
        """Fits, with or without limits."""
        return self.verdict in GOOD

    def sure(self, confidence: float) -> bool:
        """Good, and it lasts to the end in that share of the draws."""
        return self.good and self.completes >= confidence


class Tested:
    """A battery of the probes: what follows from its record, and its scenarios, drawn once for all its outings.

    Scenarios hang on the number of loads and the layout of the bank alone; no limit moves either.
    """

    def __init__(self, record: Record, fitted: Fitted, units: tuple[Record, ...] = ()) -> None:
        self.bench: Bench = bench_of(record, fitted)
        self.units = units
        self._drawn: dict[int, Scenarios] = {}
        self._centre: Scenarios | None = None

    def answer(self, outing: Outing, climate: Climate | None, draws: int, seed: int) -> Assessment:
        """The whole answer, as `fit` gives it; with no draws that of the centre alone."""
        batch = run_scenarios(
            self.bench.record, outing, self.bench.fitted, self._scenarios(outing, draws, seed), self.units
        )
        return judge(batch, climate, draws, seed, self.bench)

    def _scenarios(self, outing: Outing, draws: int, seed: int) -> Scenarios:
        fitted = self.bench.fitted
        if not draws:
            self._centre = self._centre or centre_scenarios(outing, fitted, self.units)
            return self._centre
        if draws not in self._drawn:
            self._drawn[draws] = draw(outing, fitted, draws, seed, self.units)
        return self._drawn[draws]


class Asking:
    """What stays the same of all probes. fitted : the record's model. confidence : the chosen share of draws."""

    def __init__(self, record: Record, outing: Outing, climate: Climate | None, draws: int, seed: int,
                 fitted: Fitted, units: tuple[Record, ...], confidence: float) -> None:  # fmt: skip
        self.record, self.outing, self.climate = record, outing, climate
        self.draws, self.seed, self.confidence = draws, seed, confidence
        self.own = Tested(record, fitted, units)

    def tested(self, record: Record) -> Tested:
        """What is known of a case's battery: the one asked about, or one changed from it."""
        return self.own if record is self.record else Tested(record, fit_record(record))

    def exact(self, case: Case) -> Assessment:
        """The whole answer to a case, as `fit` gives it."""
        return self.tested(case.record).answer(case.outing, self.climate, self.draws, self.seed)

    def probe(self, answer: Assessment) -> Probe:
        """What a search needs of an answer."""
        covered = answer.covered
        times = answer.batch.runtime_s()[answer.batch.draws]
        charge = self._spare(covered.draw_usable_c, covered.draw_need_c)
        time = self._spare(times, np.full(len(times), answer.outing.duration_s))
        first = answer.deciding[0] if answer.deciding else None
        return Probe(answer.verdict, first, answer.runtime.completes, charge, time)

    def _spare(self, able: Floats, need: Floats) -> float:
        """Logarithm of the ratio that the chosen share of draws has at least."""
        if not len(need) or not (need > 0.0).all():
            return math.nan
        lasting = math.ceil(self.confidence * len(need) - 1e-9)  # so many are to last
        least = float(np.sort(able / need)[-lasting])
        return math.log(least) if 0.0 < least < math.inf else math.nan


class Table:
    """Probes of one input by step."""

    def __init__(self, asking: Asking, steps: Steps, present: Probe) -> None:
        self.asking, self.steps = asking, steps
        self.exact: dict[int, Probe] = {} if steps.off_grid else {0: present}
        self._rough: dict[int, bool] = {}
        self._slack: dict[int, float] = {}
        self._cases: dict[int, tuple[Tested, Outing]] = {}

    def at(self, step: int) -> Probe:
        """The exact answer at a step."""
        if step not in self.exact:
            self.exact[step] = self.asking.probe(self._answer(step, self.asking.draws))
        return self.exact[step]

    def _answer(self, step: int, draws: int) -> Assessment:
        if step not in self._cases:
            case = self.steps.case(step)
            self._cases[step] = self.asking.tested(case.record), case.outing
        tested, outing = self._cases[step]
        return tested.answer(outing, self.asking.climate, draws, self.asking.seed)

    def good(self, step: int) -> bool:
        """Whether the exact answer is good."""
        return self.at(step).good

    def sure(self, step: int) -> bool:
        """Whether the exact answer is good in the chosen share of the draws."""
        return self.at(step).sure(self.asking.confidence)

    def rough(self, step: int) -> bool:
        """Whether the answer at the centre of all inputs is good; it hardly ever differs from the exact one."""
        if step not in self._rough:
            answer = self._answer(step, 0)
            self._rough[step], self._slack[step] = answer.verdict in GOOD, _slack(answer)
        return self._rough[step]

    def guess(self, step: int) -> int | None:
        """From a step that was tried roughly: the one at which the nearest of its abilities is used up."""
        slack = self._slack.get(step, math.inf)
        if self.steps.ratio is None or not 0.0 < slack < math.inf:
            return None
        return step + math.floor(math.log(slack) / math.log(self.steps.ratio))


def _slack(answer: Assessment) -> float:
    """Smallest ratio of what the battery was shown to give to what is needed, of charge and of current."""
    found = math.inf
    for check in answer.checks:
        able, need = check.capability_centre or check.capability, check.need
        if (
            check.id in ("energy", "peak_current")
            and able is not None
            and need is not None
            and need.value_si > 0.0
        ):
            found = min(found, able.value_si / need.value_si)
    return found


def settle_sure(table: Table, inside: int, lowest: int) -> tuple[int, int] | None:
    """Two neighbouring steps, the first good in the chosen share of draws and the second not, at or before `inside`.

    inside : the last good step. How many standard deviations the share is tells where to look, by secants; both steps
    are tried like any others. None when no step down to `lowest` is sure enough.
    """
    if table.sure(inside):
        return inside, inside + 1
    low, high, before = None, inside, inside
    here = _first_guess(table, inside)
    for turn in range(MOST_SECANTS):
        here = min(max(here, lowest if low is None else low + 1), high - 1)
        if here < lowest:
            return None
        if table.sure(here):
            low = here
        else:
            high = here
        if low is not None and high - low == 1:
            return low, high
        likely = _secant(table, before, here)
        halve = low is not None and turn % 3 == 2  # a share that goes by leaps leads secants astray
        here, before = (low + high) // 2 if halve and low is not None else likely, here
    return settle(table.sure, here, lowest, inside)


def _deviations(table: Table, step: int) -> float:
    """Standard normal of the share that lasts, less that of the share wanted; half a draw from none and from all."""
    half = 0.5 / max(table.asking.draws, 1)
    return float(ndtri(np.clip(table.at(step).completes, half, 1.0 - half)) - ndtri(table.asking.confidence))


def _first_guess(table: Table, inside: int) -> int:
    """As far as the chosen share can spare: time at `inside`, or charge at a step where most are known to last."""
    ratio, known, spare = table.steps.ratio, inside, table.at(inside).time_spare
    if not table.steps.stretches:
        known = max(table.exact, key=lambda step: table.exact[step].completes)
        spare = table.exact[known].charge_spare
    if ratio is None or not math.isfinite(spare):
        return inside - FIRST_STRIDE
    return min(known + math.floor(spare / math.log(ratio)), inside - 1)


def _secant(table: Table, one: int, other: int) -> int:
    """Where the deviations would be nothing."""
    first, second = _deviations(table, one), _deviations(table, other)
    if first == second:
        return (one + other) // 2
    return math.floor(one - first * (other - one) / (second - first))
