"""A record as a unit of another size would have given it: all that goes with size, and nothing else."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planner.battery.terminals import fit_terminals
from planner.record.log_nodes import thin
from planner.record.reader import read_record
from planner.record.scaled import scaled_unit
from tests.record.records import FULL

FACTOR = 2.5


@pytest.fixture
def record(write):
    write(FULL.replace('tag = "U1"', 'tag = "U2"'), "second.toml")
    found = read_record(write(FULL.replace('tag = "U1"', 'tag = "U1"\nrepeats = ["second.toml"]')))
    time_s = np.array([0.0, 1.0, 1000.0, 2000.0])
    log = thin(time_s, np.array([13.3, 13.2, 13.0, 12.0]), np.array([0.0, 20.0, 40.0, 40.0]))
    return replace(found, capacity_tests=(replace(found.capacity_tests[0], moving=log), *found.capacity_tests[1:]))


def test_a_log_of_moving_loads_is_scaled_with_the_figures_beside_it(record) -> None:
    (own, *_), (other, *_) = record.capacity_tests, scaled_unit(record, FACTOR).capacity_tests
    assert other.charge_c == pytest.approx(FACTOR * own.charge_c)
    for name, times in (("current_a", FACTOR), ("mean_a", FACTOR), ("charge_c", FACTOR), ("voltage_v", 1.0), ("time_s", 1.0)):
        assert getattr(other.moving, name) == pytest.approx(times * getattr(own.moving, name)), name


def test_further_units_of_the_kind_are_of_the_new_size_too(record) -> None:
    larger = scaled_unit(record, FACTOR)
    assert [unit.tag for unit in larger.repeats] == ["U2"]
    # the second unit is like the first in all but its tag, before and after
    assert larger.repeats[0].current_tests == larger.current_tests
    assert larger.repeats[0].capacity_tests[0].charge_c == larger.capacity_tests[0].charge_c


def test_the_terminals_stay_those_of_the_unit_tested(record) -> None:
    without = replace(record, terminal_tests=())
    assert any(test.terminal_end_k is not None for test in without.current_tests)
    one, other = (fit_terminals(each) for each in (without, scaled_unit(without, FACTOR)))
    assert one == other


def test_a_charge_is_scaled_as_a_discharge_is(record) -> None:
    (own,), (other,) = record.charge_tests, scaled_unit(record, FACTOR).charge_tests
    assert own.charge_c is not None and other.charge_c == pytest.approx(FACTOR * own.charge_c)
    assert other.charger_v == own.charger_v
