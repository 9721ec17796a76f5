"""The open-circuit table: exact integral, strictly rising, never read outside itself."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from planner.battery.curve import GRID, LEAST_SLOPE_V, SOC_GRID, CurveTable

rows = arrays(np.float64, (2, GRID + 1), elements=st.floats(8.0, 15.0))
socs = arrays(np.float64, 7, elements=st.floats(0.0, 1.0))
OFFSETS = np.array([0, GRID + 1])


@given(table=rows)
def test_whatever_is_entered_the_curve_rises_strictly(table):
    assert (np.diff(CurveTable(table).volts, axis=1) > 0.0).all()


@given(table=rows)
def test_a_rising_table_is_kept_but_for_a_millivolt(table):
    rising = np.sort(table, axis=1)
    assert np.abs(CurveTable(rising).volts - rising).max() <= LEAST_SLOPE_V


@given(table=rows, soc=socs)
def test_look_up_is_straight_between_points_and_its_slope_is_theirs(table, soc):
    curve = CurveTable(table)
    for row in (0, 1):
        volts, slope = curve.look_up(soc, np.full(7, OFFSETS[row]))
        assert volts == pytest.approx(np.interp(soc, SOC_GRID, curve.volts[row]), abs=1e-9)
        inside = np.minimum((soc * GRID).astype(int), GRID - 1)
        steep = np.diff(curve.volts[row])[inside] * GRID
        assert slope[soc < 1.0] == pytest.approx(steep[soc < 1.0])


@given(table=rows)
def test_area_is_exact_at_the_grid_points(table):
    """Against numpy's trapezoid, exact for straight pieces."""
    curve = CurveTable(table)
    area = curve.tables(np.arange(len(curve.volts)))[2]
    for point in (0, 1, 7, GRID // 2, GRID):
        exact = np.trapezoid(curve.volts[:, : point + 1], SOC_GRID[: point + 1], axis=1)
        assert area[:, point] == pytest.approx(exact, abs=1e-10)  # of some 13 V: sums of 400 terms


@given(soc=st.floats(-5.0, 6.0))
def test_no_voltage_is_read_outside_the_curve(soc):
    curve = CurveTable(np.linspace(10.0, 13.6, GRID + 1))
    volts, _ = curve.look_up(np.array([soc]), np.array([0]))
    assert curve.volts[0, 0] <= volts[0] <= curve.volts[0, -1]
