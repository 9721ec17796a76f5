"""Which tests ran the unit empty."""

from __future__ import annotations

from planner.battery.current_evidence import ran_empty
from planner.record.schema import FULL_ENDINGS, CapacityTest, Record

GROUP_K = 2.5  # tests this close in temperature count as one temperature


def full_discharges(record: Record) -> tuple[CapacityTest, ...]:
    """Tests that ran the unit empty: ended by cut-off or undervoltage, or by an opening taken as such."""
    tests = record.capacity_tests
    return tuple(
        test
        for test in tests
        if test.ended_by in FULL_ENDINGS or (test.ended_by == "trip" and ran_empty(test, tests))
    )
