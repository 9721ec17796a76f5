"""Voltage measured less modelled, along each discharge that has its voltages."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from planner.battery.fit import fit_record
from planner.explain.residual_chart import residual_figure
from planner.verdict.residuals import Residual, residuals_of
from tests.battery.test_log_fit import STEADY_ALONE, beside
from tests.oracles.test_physics_truth_prediction import bench_record


def test_the_reference_discharge_is_followed_to_what_its_own_curve_fixes() -> None:
    record = bench_record()
    slow, fast = residuals_of(record, fit_record(record))
    # the slow discharge fixes the curve: what is left is the curve's grid, and a knee that a millivolt moves by more
    assert np.median(np.abs(slow.off_v)) < 0.005
    # the fast one was fitted to its charge and energy alone; its shape is the model's, off by a tenth of a volt or so
    assert np.median(np.abs(slow.off_v)) < np.median(np.abs(fast.off_v)) < 0.1
    assert (slow.place, fast.place) == ("capacity_test.1", "capacity_test.2")


def test_a_voltage_that_was_read_a_tenth_of_a_volt_high_shows_as_such() -> None:
    record = bench_record()
    fitted, fast = fit_record(record), record.capacity_tests[1]
    higher = dataclasses.replace(fast, curve=tuple((charge, volts + 0.1) for charge, volts in fast.curve))
    before, after = (
        residuals_of(dataclasses.replace(record, capacity_tests=(test,)), fitted)[0] for test in (fast, higher)
    )
    # the heat that a log's cells make is taken from its own voltage, which moves the model by less than a millivolt
    assert after.off_v - before.off_v == pytest.approx(np.full(len(after.off_v), 0.1), abs=1e-3)


def test_a_log_of_moving_loads_is_compared_reading_by_reading() -> None:
    record = beside("mixed_trolling", STEADY_ALONE)
    found = residuals_of(record, fit_record(record))[1]
    assert len(found.off_v) == len(record.capacity_tests[1].moving.time_s)
    assert found.rms_v < 0.1


def test_a_discharge_without_voltages_has_none() -> None:
    record = bench_record()
    bare = tuple(dataclasses.replace(test, curve=()) for test in record.capacity_tests)
    assert residuals_of(dataclasses.replace(record, capacity_tests=bare), fit_record(record)) == ()


def test_the_chart_says_how_far_the_model_follows() -> None:
    figure = residual_figure(Residual("capacity_test.2", np.array([3600.0, 7200.0]), np.array([0.003, -0.004])))
    # hand: root mean square of 3 and 4 mV is 3.54 mV
    assert "full discharge 2" in figure.title and "4 mV (root mean square)" in figure.title
    assert list(figure.table["Measured less model (mV)"]) == [3.0, -4.0]
    assert list(figure.table["Charge taken out (Ah)"]) == [1.0, 2.0]
