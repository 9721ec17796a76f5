"""What a record lacks, and that each gap closes when its test is there."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.record.gaps import missing_tests
from planner.record.schema import (
    CapacityTest,
    ColdChargeTest,
    CurrentTest,
    Record,
    StepTest,
    TerminalTest,
)
from planner.record.schema import TestConditions as Conditions

WARM, COLD = Conditions("t.1"), Conditions("t.2", cell_k=263.15)
CURVE = ((0.0, 13.3), (360_000.0, 10.0))


def _discharge(at: Conditions, current_a: float) -> CapacityTest:
    return CapacityTest(at, current_a, None, 360_000.0 / current_a, 360_000.0, 4.6e6, 10.0, "cutoff", CURVE)


def _hold(ended_by: str, recovery: str = "itself") -> CurrentTest:
    return CurrentTest(WARM, "hold", 100.0, 1800.0, None, ended_by, recovery=recovery)


BARE = Record(name="bare")
WHOLE = Record(
    name="whole",
    series_allowed=False,
    capacity_tests=(_discharge(WARM, 20.0), _discharge(WARM, 80.0), _discharge(COLD, 20.0)),
    current_tests=(_hold("clock"), _hold("trip")),
    step_tests=(StepTest(WARM, 10.0, 50.0, 13.0, 12.8, 10.0), StepTest(COLD, 10.0, 50.0, 13.0, 12.6, 10.0)),
    cold_charge_tests=tuple(
        ColdChargeTest(COLD, direction, charging)
        for direction in ("cooling", "warming")
        for charging in ("blocked", "accepted")
    ),
    terminal_tests=(TerminalTest(WARM, 100.0, 298.15, ((300.0, 310.0), (600.0, 318.0), (900.0, 322.0))),),
    sleep_current_a=0.011,
    repeats=(Record(name="second"),),
)


def test_a_whole_record_lacks_nothing() -> None:
    assert missing_tests(WHOLE) == ()


def test_a_bare_record_leaves_every_question_open() -> None:
    told = " ".join(missing_tests(BARE))
    for question in ("energy", "highest current held", "heat at the terminals", "inverter", "charging in the cold", "bank"):
        assert question in told


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"capacity_tests": ()}, "energy and reserve stay open"),
        (
            {"capacity_tests": (_discharge(WARM, 20.0), _discharge(WARM, 80.0))},
            "No full discharge below 25 degC",
        ),
        ({"capacity_tests": (_discharge(WARM, 20.0), _discharge(COLD, 20.0))}, "at about 20 A only"),
        ({"capacity_tests": tuple(replace(test, curve=()) for test in WHOLE.capacity_tests)}, "with a curve"),
        (
            {"capacity_tests": tuple(replace(test, ended_by="clock") for test in WHOLE.capacity_tests)},
            "ran to its end",
        ),
        ({"current_tests": ()}, "No hold and no ramp"),
        ({"current_tests": (_hold("clock"),)}, "above 100 A is not known"),
        ({"current_tests": (_hold("trip"),)}, "No hold of 15 min"),
        ({"current_tests": (_hold("clock"), _hold("trip", "unknown"))}, "comes back after a trip"),
        ({"step_tests": ()}, "No current step (step_test)"),
        ({"step_tests": WHOLE.step_tests[:1]}, "No current step on cold cells"),
        ({"cold_charge_tests": ()}, "charging in the cold stays open"),
        ({"cold_charge_tests": WHOLE.cold_charge_tests[1:]}, "blocked on cooling"),
        ({"cold_charge_tests": WHOLE.cold_charge_tests[:3]}, "accepted on warming"),
        ({"terminal_tests": ()}, "heat at the terminals stays open"),
        (
            {"terminal_tests": (replace(WHOLE.terminal_tests[0], readings=((300.0, 310.0),)),)},
            "three terminal",
        ),
        ({"sleep_current_a": None}, "No sleep current"),
        ({"series_allowed": None}, "series_allowed"),
        ({"repeats": ()}, "One unit tested"),
    ],
)
def test_each_test_taken_away_is_the_one_gap_told(change: dict[str, object], told: str) -> None:
    gaps = missing_tests(replace(WHOLE, **change))
    assert len(gaps) == 1
    assert told in gaps[0]


def test_currents_alone_with_terminal_readings_still_miss_the_time_constant() -> None:
    hold = replace(_hold("clock"), terminal_start_k=298.15, terminal_end_k=320.0)
    gaps = missing_tests(replace(WHOLE, terminal_tests=(), current_tests=(hold, _hold("trip"))))
    assert len(gaps) == 1
    assert "three terminal readings" in gaps[0]
