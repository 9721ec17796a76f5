"""What a settling test is: the test as if it had passed, what it would change, or why it would change nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from planner.outing.schema import Outing
from planner.record.schema import Record
from planner.verdict.assess import Assessment, assess, judge
from planner.verdict.bench_plan import PlannedTest, with_tests
from planner.verdict.check import GOOD, Told
from planner.verdict.outcomes import Outcomes

RISKS = ("low", "medium", "high")


@dataclass(frozen=True, slots=True)
class Proposal:
    """A test worth running.

    tests : what goes into the record; empty where nothing does. file : battery | outing.
    current_a, duration_s, cell_k : of the test itself, None where it has none.
    changes : checks that become good. passed, failed : the overall verdict either way, failed None where the
    test has no other outcome. outcomes : how likely each answer is, as far as anything tells.
    together_with : ids whose tests stand in the same record. points : (A, s) it covers.
    """

    id: str
    file: str
    tests: tuple[PlannedTest, ...]
    current_a: float | None
    duration_s: float | None
    cell_k: float | None
    changes: tuple[str, ...]
    passed: str
    failed: str | None
    minutes: int
    risk: str
    reason: Told
    outcomes: Outcomes
    together_with: tuple[str, ...] = ()
    points: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Pointless:
    """A test that changes nothing for this buyer, and why."""

    id: str
    reason: Told


Found = Proposal | Pointless


def pointless(name: str, code: str) -> Pointless:
    """The test of that id changes nothing, by the code of why."""
    return Pointless(name, Told(code))


def counted(found: Assessment) -> dict[str, str]:
    """Verdicts of the checks that matter to the buyer, by id."""
    asked = found.outing.questions
    return {check.id: check.verdict for check in found.checks if asked is None or check.id in asked}


def made_good(before: Assessment, after: Assessment) -> tuple[str, ...]:
    """Checks that matter, were not good, and are."""
    now = counted(after)
    return tuple(
        name for name, verdict in counted(before).items() if verdict not in GOOD and now.get(name) in GOOD
    )


def open_checks(base: Assessment, *names: str) -> tuple[str, ...]:
    """Which of these checks matter and are not good."""
    verdicts = counted(base)
    return tuple(name for name in names if verdicts.get(name, GOOD[0]) not in GOOD)


def judged_with(base: Assessment, tests: Sequence[PlannedTest]) -> Assessment:
    """The answer with these tests in the record.

    Tests that leave the model as it is need no new run of the engine: the run at hand is judged again.
    """
    record = with_tests(base.record, tests)
    if record.capacity_tests == base.record.capacity_tests:
        batch = replace(base.batch, record=record, units=_units(base, record))
        return judge(batch, base.climate, base.draws, base.seed)
    return judged(base, record, base.outing)


def judged(base: Assessment, record: Record, outing: Outing) -> Assessment:
    """The whole answer for another record or outing, with the same draws."""
    same = record.capacity_tests == base.record.capacity_tests
    fitted = base.fitted if same else None
    return assess(record, outing, base.climate, base.draws, base.seed, fitted, _units(base, record))


def _units(base: Assessment, record: Record) -> tuple[Record, ...]:
    """The bank's own records, this battery's among them with its further tests."""
    return tuple(record if unit == base.record else unit for unit in base.batch.units)
