"""Curves through recorded points, against numpy's own interpolation."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from planner.battery.curve import GRID, LEAST_SLOPE_V, SOC_GRID
from planner.battery.curve_points import curves_through

ROUNDING_V = 1e-9

shares = st.lists(st.floats(0.0, 1.3), min_size=1, max_size=12)


def by_numpy(base, place, volts):
    """The same by `numpy.interp`, an independent reader of a table."""
    shape = base + LEAST_SLOPE_V * SOC_GRID
    there = np.interp(place, SOC_GRID, shape)
    return np.interp(shape, there, volts) + np.maximum(shape - there[-1], 0.0)


@given(shares, st.lists(st.floats(0.0, 0.8), min_size=12, max_size=12), st.floats(-0.3, 0.3), st.integers(1, 3))
def test_every_curve_is_what_two_interpolations_give(steps, rises, shift, rows):
    base = np.tile(10.0 + shift + 3.5 * SOC_GRID**0.3, (rows, 1))
    place = np.tile(np.append(0.0, np.sort(steps)), (rows, 1))
    volts = np.tile(10.0 + np.cumsum(np.append(0.0, rises[: len(steps)])), (rows, 1))
    found = curves_through(base, place, volts)
    for row in range(rows):
        assert np.abs(found[row] - by_numpy(base[row], place[row], volts[row])).max() < ROUNDING_V


def test_a_curve_passes_through_its_points_and_keeps_the_priors_rise_above_them():
    base = np.linspace(10.0, 13.6, GRID + 1)[np.newaxis]
    found = curves_through(base, np.array([[0.0, 0.25, 0.5]]), np.array([[10.5, 12.9, 13.2]]))[0]
    assert np.allclose(found[[0, GRID // 4, GRID // 2]], [10.5, 12.9, 13.2], atol=1e-12)
    rise = base[0, -1] - base[0, GRID // 2] + 0.5 * LEAST_SLOPE_V
    assert abs(found[-1] - 13.2 - rise) < 1e-12
