"""Answers at the steps of one input: rough ones many at a time, exact ones one by one, each worked out once."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from planner.battery.fit import Fitted, fit_record
from planner.outing.schema import Outing
from planner.record.schema import Record
from planner.verdict.assess import Assessment, assess, judge
from planner.verdict.boundary import settle
from planner.verdict.centre import centre_batch
from planner.verdict.check import GOOD, Check
from planner.verdict.limit_inputs import Case, Steps
from planner.winter.schema import Climate

MOST_SECANTS = 10
FIRST_STRIDE = 8  # steps, where nothing tells how far


@dataclass(frozen=True, slots=True)
class Probe:
    """One assessment of a changed case: the verdict, and the first check that decides it.

    completes : share of the draws that last to the outing's end. spread : standard deviation of the runtime's
    logarithm over the draws, 0 where it is not known.
    """

    verdict: str
    check: Check | None
    completes: float
    spread: float

    @property
    def good(self) -> bool:
        """Fits, with or without limits."""
        return self.verdict in GOOD

    def sure(self, confidence: float) -> bool:
        """Good, and it lasts to the end in that share of the draws."""
        return self.good and self.completes >= confidence


@dataclass(frozen=True, slots=True)
class Asking:
    """What stays the same of all probes. fitted : the record's model. confidence : the chosen share of draws."""

    record: Record
    outing: Outing
    climate: Climate | None
    draws: int
    seed: int
    fitted: Fitted
    units: tuple[Record, ...]
    confidence: float

    def exact(self, case: Case) -> Assessment:
        """The whole answer to a case, as `fit` gives it."""
        fitted = self.fitted if case.record is self.record else fit_record(case.record)
        units = self.units if case.record is self.record else ()
        return assess(case.record, case.outing, self.climate, self.draws, self.seed, fitted, units)

    def probe(self, answer: Assessment) -> Probe:
        """What a search needs of an answer."""
        times = answer.batch.runtime_s()[answer.batch.draws]
        spread = (
            float(np.log(times).std())
            if len(times) and np.isfinite(times).all() and (times > 0.0).all()
            else 0.0
        )
        first = answer.deciding[0] if answer.deciding else None
        return Probe(answer.verdict, first, answer.runtime.completes, spread)


class Table:
    """Probes of one input by step."""

    def __init__(self, asking: Asking, steps: Steps, present: Probe) -> None:
        self.asking, self.steps = asking, steps
        self.exact: dict[int, Probe] = {} if steps.off_grid else {0: present}
        self._rough: dict[int, bool] = {}
        self._slack: dict[int, float] = {}

    def at(self, step: int) -> Probe:
        """The exact answer at a step."""
        if step not in self.exact:
            self.exact[step] = self.asking.probe(self.asking.exact(self.steps.case(step)))
        return self.exact[step]

    def good(self, step: int) -> bool:
        """Whether the exact answer is good."""
        return self.at(step).good

    def sure(self, step: int) -> bool:
        """Whether the exact answer is good in the chosen share of the draws."""
        return self.at(step).sure(self.asking.confidence)

    def rough(self, step: int) -> bool:
        """Whether the answer at the centre of all inputs is good; it hardly ever differs from the exact one."""
        if step not in self._rough:
            asking, case = self.asking, self.steps.case(step)
            fitted = asking.fitted if case.record is asking.record else fit_record(case.record)
            batch = centre_batch(case.record, case.outing, fitted, asking.units)
            answer = judge(batch, asking.climate, 0, asking.seed)
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
    """As far back as the runtime's spread makes the missing deviations, where steps are even."""
    spread, ratio = table.at(inside).spread, table.steps.ratio
    if ratio is None or spread <= 0.0:
        return inside - FIRST_STRIDE
    return inside + math.floor(_deviations(table, inside) * spread / math.log(ratio))


def _secant(table: Table, one: int, other: int) -> int:
    """Where the deviations would be nothing."""
    first, second = _deviations(table, one), _deviations(table, other)
    if first == second:
        return (one + other) // 2
    return math.floor(one - first * (other - one) / (second - first))
