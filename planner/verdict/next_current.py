"""Would a hold or a surge settle it: tests that cover every demand no test covers yet."""

from __future__ import annotations

import math
from collections.abc import Sequence

from planner.battery.envelope import CONFLICT, DEMONSTRATED, TRIPS
from planner.battery.speaks import BELOW_TEST_K, WARMEST_CELL_K
from planner.constants import ZERO_CELSIUS_K
from planner.record.schema import CurrentTest
from planner.verdict.assess import Assessment
from planner.verdict.bench_plan import (
    BENCH_K,
    current_to_show,
    held,
    meter_for_current,
    time_to_show,
    tripped,
)
from planner.verdict.check import Told
from planner.verdict.energy import load_evidence
from planner.verdict.outcomes import either, holds
from planner.verdict.proposal import RISKS, Found, Proposal, judged_with, made_good, pointless

SURGE_S = 30.0  # demands up to here are surges: starts, winches (common practice, no source)
ONE_TEST = 1.3  # demands whose currents lie within this ratio are covered by one hold (common practice)
STEPS_A = (5.0, 1.0, 0.1)  # currents are set on the coarsest grid that no trip forbids
SMALL_A = 20.0  # below it the finer grids alone
NEAR_TRIP = 1.1  # a hold this near below a trip may end in one
RELATED = 10.0  # a trip after so many times the hold's length says little of the hold
HALF_WAY = 0.5  # of the need: the trip nobody hopes for
SET_UP_MIN = 30  # to connect, rest and read
RECOVERY_PER_MIN = 2.0  # minutes of recharge and rest for each minute held (common practice)
COLD_SOAK_MIN = 24 * 60

Demand = tuple[float, float]  # current A, seconds


def current_tests(base: Assessment) -> list[Found]:
    """Hold and surge: proposed, together where only both settle it, or pointless."""
    zones = {zone.name for zone in base.peak.zones}
    open_points = _open(base)
    if base.peak.worst is None or not open_points:
        return [pointless(name, "need_demonstrated") for name in ("surge", "hold")]
    if TRIPS in zones:
        return [pointless(name, "need_condemned") for name in ("surge", "hold")]
    if CONFLICT in zones:
        return [pointless(name, "record_contradicts") for name in ("surge", "hold")]
    planned = plan_holds(base, open_points)
    if planned is None:
        return [pointless(name, "trip_in_the_way") for name in ("surge", "hold")]
    surges = [row for row in planned if row[1] <= SURGE_S]
    holds = [row for row in planned if row[1] > SURGE_S]
    return [_judged(base, "surge", surges, holds), _judged(base, "hold", holds, surges)]


def open_demands(base: Assessment) -> list[Demand]:
    """Demands that no test covers, the hardest first."""
    return _open(base)


def _open(base: Assessment) -> list[Demand]:
    peaks = base.bank.peaks if base.bank else (base.peak,)
    found = {
        (point.current_a, point.duration_s)
        for peak in peaks
        for point, zone in zip(peak.points, peak.zones, strict=True)
        if zone.name != DEMONSTRATED
    }
    hardest: list[Demand] = []
    longest = 0.0
    for current_a, duration_s in sorted(found, reverse=True):
        if duration_s > longest:  # shorter at less current is covered by what was taken before
            hardest.append((current_a, duration_s))
            longest = duration_s
    return hardest


Row = tuple[CurrentTest, float, tuple[Demand, ...]]  # the test, its longest demand [s], the demands it covers


def plan_holds(base: Assessment, demands: Sequence[Demand]) -> list[Row] | None:
    """Holds that together cover all demands (hardest first); None where each would run into a known trip."""
    rows: list[Row] = []
    place = 0
    while place < len(demands):
        top, end = demands[place][0], place + 1
        while end < len(demands) and top <= ONE_TEST * demands[end][0]:
            end += 1
        test = _hold(base, top, demands[end - 1][1])
        while test is None and end > place + 1:
            end -= 1
            test = _hold(base, top, demands[end - 1][1])
        if test is None:
            return None
        rows.append((test, demands[end - 1][1], tuple(demands[place:end])))
        place = end
    return rows


def _hold(base: Assessment, need_a: float, need_s: float) -> CurrentTest | None:
    """A hold that shows the need, on the coarsest grid no trip forbids; None where every one is forbidden."""
    meter = meter_for_current(base.record, need_a, "hold")
    for duration in (
        time_to_show(need_s, meter),
        need_s,
    ):  # no longer than needed where a trip came soon after
        for step in STEPS_A if need_a >= SMALL_A else STEPS_A[1:]:
            current = current_to_show(need_a, meter, step)
            if not any(trip.condemns(current, duration) for trip in base.envelope.trips):
                return held(current, duration, _cells(base), meter)
    return None


def _cells(base: Assessment) -> float:
    """Bench temperature where a pass there speaks for the outing's cells, else the outing's coldest."""
    outing = base.outing
    coldest, warmest = min(outing.cell_k, outing.ambient_k), max(outing.cell_k, outing.ambient_k)
    if coldest < BENCH_K - BELOW_TEST_K:
        return ZERO_CELSIUS_K + math.floor(coldest - ZERO_CELSIUS_K + 1e-6)
    return (
        BENCH_K if warmest <= WARMEST_CELL_K else ZERO_CELSIUS_K + math.ceil(warmest - ZERO_CELSIUS_K - 1e-6)
    )


def _judged(base: Assessment, name: str, own: list[Row], other: list[Row]) -> Found:
    """One of the two kinds: alone where it is enough, with the other where only both are."""
    if not own:
        return pointless(name, f"no_open_{name}")
    tests = tuple(row[0] for row in own)
    beside: tuple[str, ...] = ()
    together = (*tests, *(row[0] for row in other))
    alone, both = judged_with(base, tests), judged_with(base, together) if other else None
    changes = made_good(base, alone)
    used, after = tests, alone
    if both is not None and len(made_good(base, both)) > len(changes):
        changes, used, after = made_good(base, both), together, both
        beside = ("hold",) if name == "surge" else ("surge",)
    if not changes:
        claimed = load_evidence(base.batch) == "claimed"
        return pointless(name, "load_is_claimed" if claimed else "hold_does_not_speak")
    failed = judged_with(base, (tripped(tests[0], HALF_WAY * own[0][1]), *used[1:]))
    demand = own[0][2][0]
    parts = {"current_a": tests[0].current_a, "duration_s": tests[0].duration_s, "need_a": demand[0],
             "need_s": own[0][1], "changes": changes, "failed": failed.verdict, "passed": after.verdict,
             "together": bool(beside)}  # fmt: skip
    return Proposal(
        name, "battery", used, tests[0].current_a, tests[0].duration_s, tests[0].at.cell_k, changes, after.verdict,
        failed.verdict, sum(_minutes(test) for test in used), _risk(base, used), Told("show_current", parts),
        either(after.verdict, failed.verdict, holds(base.envelope, used)), beside,
        tuple(point for row in own for point in row[2]),
    )  # fmt: skip


def _minutes(test: CurrentTest) -> int:
    held_min = (test.duration_s or 0.0) / 60.0
    soak = COLD_SOAK_MIN if test.at.cell_k < ZERO_CELSIUS_K + 10.0 else 0
    return round((SET_UP_MIN + held_min * (1.0 + RECOVERY_PER_MIN)) / 5.0) * 5 + soak


def _risk(base: Assessment, tests: Sequence[CurrentTest]) -> str:
    """Low where the unit carried as much, medium above that or near a trip, high at a current that tripped."""
    carried = max((held.current_a for held in base.envelope.passes), default=0.0)
    worst = 0
    for test in tests:
        longest = RELATED * (test.duration_s or 0.0)
        opened = [trip.current_a for trip in base.envelope.trips if trip.duration_s <= longest]
        near = any(current <= NEAR_TRIP * test.current_a for current in opened)
        if any(current <= test.current_a for current in opened):
            worst = 2
        elif near or test.current_a > carried:
            worst = max(worst, 1)
    return RISKS[worst]
