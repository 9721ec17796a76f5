"""What each bench test of current shows: passes and trips. Discharge current is positive, SI inside."""

from __future__ import annotations

import math
from dataclasses import dataclass

from planner.record.instrument import current_limit, time_limit
from planner.record.schema import CapacityTest, CurrentTest

ENDED_BY_CHOICE = frozenset({"clock", "operator", "meter"})  # the unit was still delivering
EMPTIED_BY = frozenset({"cutoff", "undervoltage"})  # the unit was empty

# Rules of this project: common practice, no source.
LASTING_HOLD_S = 900.0  # a hold this long says something about holding for good
LASTING_FRACTION = 0.5  # half the current, so a quarter of the heat
EMPTY_HEADROOM_V = 0.5  # a trip this near the cut-off was the unit running empty
EMPTY_FRACTION = 0.9  # so was one after this share of another test's charge

ROUNDING = 1e-9  # relative: decimal inputs such as 200 - (2 % + 0.5) A may miss their edge by this much


def at_most(value: float, edge: float) -> bool:
    """value <= edge, forgiving the rounding of decimal inputs. NaN is never at most anything."""
    return value <= edge + ROUNDING * abs(edge)


@dataclass(frozen=True, slots=True)
class Pass:
    """A current that was held.

    current_a, limit_a : reading and its limit of error [A]. duration_s : how long it was held.
    cell_k : temperature of the cells. source : the test's place in the record.
    kind : hold | tripped hold | ramp | full discharge | early-ended discharge | lasting half.
    state_of_charge : at the start; 1.0 (full) when the test does not say.
    full_discharge : the test went on to empty.
    charge_c : not None: lasts as long as this charge at the need's own current.
    rate_a_per_s, time_limit_s : not None: every current a below current_a was passed for
        (current_a - a) / rate - time limit.
    """

    current_a: float
    limit_a: float
    duration_s: float
    cell_k: float
    source: str
    kind: str
    state_of_charge: float = 1.0
    full_discharge: bool = False
    charge_c: float | None = None
    rate_a_per_s: float | None = None
    time_limit_s: float = 0.0

    def covers(self, current_a: float, duration_s: float) -> bool:
        """Whether this pass demonstrates `current_a` [A] for `duration_s` [s]."""
        if not at_most(current_a, self.current_a - self.limit_a):
            return False
        return at_most(duration_s, self._lasts_s(current_a, self.limit_a))

    def nearly_covers(self, current_a: float, duration_s: float) -> bool:
        """Whether the need lies within meter error of this pass (or is covered by it)."""
        if not at_most(current_a, self.current_a + self.limit_a):
            return False
        return at_most(duration_s, self._lasts_s(current_a, -self.limit_a))

    def largest_a(self, duration_s: float, sign: float = -1.0) -> float:
        """Largest current [A] of this pass for `duration_s`, -inf when none.

        sign : -1 the demonstrated edge (reading less error), +1 the outer edge of the meter's error.
        """
        edge_a = self.current_a + sign * self.limit_a
        if self.rate_a_per_s is not None:
            edge_a -= self.rate_a_per_s * (duration_s + self.time_limit_s)
        elif self.charge_c is not None:
            edge_a = min(edge_a, self.charge_c / duration_s) if duration_s > 0.0 else edge_a
        elif not at_most(duration_s, self.duration_s):
            return -math.inf
        return edge_a if edge_a > 0.0 else -math.inf

    def _lasts_s(self, need_a: float, shift_a: float) -> float:
        """How long it holds at the ramp point need + shift, or at the need's own current."""
        if self.rate_a_per_s is not None:
            point_a = max(need_a + shift_a, 0.0)
            return (self.current_a - point_a) / self.rate_a_per_s - self.time_limit_s
        if self.charge_c is not None:
            return self.charge_c / need_a if need_a > 0.0 else math.inf
        return self.duration_s


@dataclass(frozen=True, slots=True)
class Trip:
    """A current at which the unit opened after duration_s. The reading itself condemns."""

    current_a: float
    limit_a: float
    duration_s: float
    source: str

    def condemns(self, current_a: float, duration_s: float) -> bool:
        """Whether the need is at or above this trip, in current and in time."""
        return at_most(self.current_a, current_a) and at_most(self.duration_s, duration_s)

    def nearly_condemns(self, current_a: float, duration_s: float) -> bool:
        """Whether the need is long enough and no further below this trip than the meter's error."""
        edge_a = self.current_a - self.limit_a
        return at_most(edge_a, current_a) and at_most(self.duration_s, duration_s)


def from_current_test(test: CurrentTest) -> tuple[list[Pass], list[Trip]]:
    """Passes and trips of a hold or a ramp.

    A hold or ramp ended by an empty battery shows neither: the current was not why it ended.
    Raises ValueError for a hold without duration or a ramp without a rising rate (a reader's error).
    """
    limit_a = current_limit(test.at.instrument, test.current_a).half_width
    error_s = time_limit(test.at.instrument).half_width
    tripped = test.ended_by == "trip"
    if not tripped and test.ended_by not in ENDED_BY_CHOICE:
        return [], []
    passed_s, trip_s, kind, rate = _held(test, error_s, tripped)
    soc = 1.0 if test.at.state_of_charge is None else test.at.state_of_charge
    passes = []
    if passed_s > 0.0:
        passes.append(
            Pass(
                test.current_a, limit_a, passed_s, test.at.cell_k, test.at.place, kind, soc,
                rate_a_per_s=rate, time_limit_s=error_s,
            )
        )  # fmt: skip
    trips = [Trip(test.current_a, limit_a, trip_s, test.at.place)] if tripped else []
    return passes, trips


def _held(test: CurrentTest, error_s: float, tripped: bool) -> tuple[float, float, str, float | None]:
    """Duration passed, duration to the trip, kind and rate of one test."""
    if test.kind == "ramp":
        rate = test.rate_a_per_s
        if rate is None or not rate > 0.0:
            raise ValueError(f"{test.at.place}: a ramp needs a rising rate")
        return test.current_a / rate - error_s, test.current_a / rate, "ramp", rate
    if test.duration_s is None:
        raise ValueError(f"{test.at.place}: a hold needs its duration")
    if tripped:
        return test.duration_s - error_s, test.duration_s, "tripped hold", None
    return test.duration_s, test.duration_s, "hold", None


def discharge_current_a(test: CapacityTest) -> float:
    """Current a full discharge stands for [A]: its mean, and no more than the current it was set to."""
    if test.current_a is None:
        return test.mean_current_a
    return min(test.current_a, test.mean_current_a)


def from_capacity_test(test: CapacityTest, condemns: bool) -> tuple[list[Pass], list[Trip]]:
    """Passes and trips of a full discharge. condemns : its trip was one of current or heat."""
    current_a = discharge_current_a(test)
    limit_a = current_limit(test.at.instrument, current_a).half_width
    cell_k, place = test.at.cell_k, test.at.place
    if condemns:
        held_s = test.duration_s - time_limit(test.at.instrument).half_width
        held = [Pass(current_a, limit_a, held_s, cell_k, place, "tripped hold")] if held_s > 0.0 else []
        return held, [Trip(current_a, limit_a, test.duration_s, place)]
    emptied = test.ended_by not in ENDED_BY_CHOICE
    kind = "full discharge" if emptied else "early-ended discharge"
    return [
        Pass(
            current_a, limit_a, test.duration_s, cell_k, place, kind,
            full_discharge=emptied, charge_c=test.charge_c,
        )
    ], []  # fmt: skip


def lasting_half(hold: Pass, discharge: Pass) -> Pass:
    """Half the current of a long hold, for as long as the charge of a full discharge lasts.

    A quarter of the heat: common practice, no source. It speaks from the warmer of the two tests, as
    the colder cells of either were not shown for the other; no meter-error band of its own.
    """
    return Pass(
        LASTING_FRACTION * (hold.current_a - hold.limit_a), 0.0, discharge.duration_s,
        max(hold.cell_k, discharge.cell_k), f"{hold.source}, {discharge.source}", "lasting half",
        hold.state_of_charge, charge_c=discharge.charge_c,
    )  # fmt: skip


def ran_empty(test: CapacityTest, others: tuple[CapacityTest, ...]) -> bool:
    """Whether a discharge ended by "trip" was in truth a unit that ran empty.

    True at or below its cut-off + 0.5 V, or after 90 % of the charge of another test that emptied the
    unit and was no colder (a colder test's charge is smaller, and would excuse a trip by heat).
    Common practice, no source.
    """
    end_v = test.at.end_v if test.at.end_v is not None else (test.curve[-1][1] if test.curve else None)
    if end_v is not None and at_most(end_v, test.cutoff_v + EMPTY_HEADROOM_V):
        return True
    return any(
        at_most(EMPTY_FRACTION * other.charge_c, test.charge_c)
        for other in others
        if other.ended_by in EMPTIED_BY and other.at.cell_k >= test.at.cell_k
    )
