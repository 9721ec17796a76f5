"""Which bench test to run next: only those whose outcome changes the answer, the best first.

Every test is put into the record as if it had passed, and the whole answer worked out again with the same
draws; where no check becomes good it is listed as pointless with the reason. Nothing here proposes a short
circuit, an overcharge, crushing, or charging cold cells past the unit's protection.
"""

from __future__ import annotations

from dataclasses import dataclass

from planner.outing.schema import QUESTIONS, Outing
from planner.record.schema import Record
from planner.verdict.assess import DRAWS, SEED, Assessment, assess
from planner.verdict.check import DOES_NOT_FIT, Told
from planner.verdict.next_charge import capacity_tests
from planner.verdict.next_current import current_tests
from planner.verdict.next_need import (
    buyer_log,
    inrush,
    joint_survey,
    parallel_pair,
    second_unit,
    sleep_current,
    trip_recovery,
)
from planner.verdict.next_temperature import cold_charge_tests, terminal_test
from planner.verdict.proposal import RISKS, Found, Pointless, Proposal, counted
from planner.winter.schema import Climate

IDS = ("surge", "hold", "capacity", "cold_capacity", "terminal", "cold_charge", "cold_charge_warming", "buyer_log",
       "joint_survey", "parallel_pair", "trip_recovery", "second_unit", "sleep_current", "inrush")  # fmt: skip
CURABLE = (
    "wiring",
    "inverter",
)  # a cable is changed more easily than a battery: a test is still worth its time


@dataclass(frozen=True, slots=True)
class NextTests:
    """The present answer, the tests worth running (best first) and those that are not."""

    base: Assessment
    tests: tuple[Proposal, ...]
    pointless: tuple[Pointless, ...]


def next_tests(record: Record, outing: Outing, climate: Climate | None = None, draws: int = DRAWS,
               seed: int = SEED, units: tuple[Record, ...] = ()) -> NextTests:  # fmt: skip
    """The present answer, and which tests of this battery would change it.

    units : records of a bank's units where they differ, as `assess` takes them.
    """
    return next_tests_of(assess(record, outing, climate, draws, seed, units=units))


def next_tests_of(base: Assessment) -> NextTests:
    """Which tests would change an answer that is at hand."""
    if (
        counted(base).get("peak_current") == DOES_NOT_FIT
    ):  # a trip: no pass excuses it, so nothing needs to be run
        told = Told("other_check_stands", {"checks": ("peak_current",)})
        others = tuple(Pointless(name, told) for name in IDS if name not in ("surge", "hold"))
        condemned = tuple(one for one in current_tests(base) if isinstance(one, Pointless))
        return NextTests(base, (), (*condemned, *others))
    found: list[Found] = [
        *current_tests(base), *capacity_tests(base), terminal_test(base), *cold_charge_tests(base), buyer_log(base),
        joint_survey(base), parallel_pair(base), trip_recovery(base), inrush(base), sleep_current(base), second_unit(),
    ]  # fmt: skip
    found = [_unless_settled(base, one) for one in found]
    tests = sorted((one for one in found if isinstance(one, Proposal)), key=_rank)
    return NextTests(base, tuple(tests), tuple(one for one in found if isinstance(one, Pointless)))


def _rank(one: Proposal) -> tuple[int, int, int, str]:
    """Checks made good, then bench time, then risk to the unit."""
    checks = sum(name in QUESTIONS for name in one.changes)  # a caution that would go counts for none
    return -checks, one.minutes, RISKS.index(one.risk), one.id


def _unless_settled(base: Assessment, one: Found) -> Found:
    """Pointless where another check stands against the outing whatever this test finds."""
    if isinstance(one, Pointless) or base.verdict != DOES_NOT_FIT or one.passed != DOES_NOT_FIT:
        return one
    against = [
        name for name, verdict in counted(base).items() if verdict == DOES_NOT_FIT and name not in one.changes
    ]
    if all(name in CURABLE for name in against):
        return one
    return Pointless(one.id, Told("other_check_stands", {"checks": tuple(against)}))
