import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numba import njit

from planner.winter.gate_hours import gate_open, gate_step
from tests.winter.invented_year import ZERO_K

# Hourly cells, degC, worked by hand with hysteresis: 10 hours allowed at (-3, 2), 4 at (2, 6).
CELLS = np.array([6.0, 4.0, 2.0, 0.0, -3.0, -4.0, -1.0, 2.0, 3.0, 4.0, 5.0, 6.0])
cells_c = st.lists(st.floats(-20.0, 20.0), min_size=1, max_size=60)


def test_a_hand_worked_day_opens_ten_hours_at_the_low_pair_and_four_at_the_high_one():
    low = gate_open(CELLS, -3.0, 2.0)
    high = gate_open(CELLS, 2.0, 6.0)
    assert low.tolist() == [True] * 5 + [False] * 2 + [True] * 5
    assert high.tolist() == [True] * 3 + [False] * 8 + [True]


def test_it_blocks_strictly_below_and_opens_at_the_resume_threshold():
    assert gate_open(np.array([2.0, -3.0]), -3.0, 2.0).tolist() == [True, True]
    assert gate_open(np.array([2.0, -3.0 - 1e-9]), -3.0, 2.0).tolist() == [True, False]


def test_it_starts_shut_between_the_thresholds():
    assert not gate_open(np.array([0.0, 1.9]), -3.0, 2.0).any()


def test_a_gate_that_never_blocks_is_open_always():
    assert gate_open(CELLS, -np.inf, -np.inf).all()


def test_a_resume_threshold_below_the_block_threshold_is_an_error():
    with pytest.raises(ValueError, match="resume"):
        gate_open(CELLS, 2.0, 1.0)


@njit
def _step(was_open, cell_k, block_k, resume_k):
    return gate_step(was_open, cell_k, block_k, resume_k)


@given(cells_c, st.floats(-10.0, 10.0), st.floats(0.0, 10.0))
def test_all_at_once_is_the_same_as_hour_by_hour(cells, block, span):
    history = np.array(cells)
    state, stepped = False, []
    for value in history:
        state = _step(state, value, block, block + span)
        stepped.append(state)
    assert gate_open(history, block, block + span).tolist() == stepped


@given(cells_c, st.floats(-10.0, 10.0), st.floats(0.0, 10.0), st.floats(0.0, 5.0), st.floats(0.0, 5.0))
def test_higher_thresholds_never_open_an_hour_more(cells, block, span, up, more):
    history = np.array(cells) + ZERO_K
    low = gate_open(history, block + ZERO_K, block + span + ZERO_K)
    high = gate_open(history, block + up + ZERO_K, block + span + up + more + ZERO_K)
    assert not np.any(high & ~low)


def test_on_a_winter_day_the_air_promises_three_times_the_charge_the_cells_allow():
    # Hand-sized sum: air -2 + 7 cos(w (h - 14)) at half past each hour, cells behind it by the open battery's
    # swing and lag, sun 12 sin(pi (h - 8)/8) A from 8 to 16 h, thresholds 0 and 4 degC, third day alike.
    hour = np.arange(24) + 0.5
    w, tau_h = 2.0 * np.pi / 24.0, 11200.0 / 2.24 / 3600.0
    air = -2.0 + 7.0 * np.cos(w * (hour - 14.0))
    ratio, lag = 1.0 / np.sqrt(1.0 + (w * tau_h) ** 2), np.arctan(w * tau_h) / w
    cells = -2.0 + 7.0 * ratio * np.cos(w * (hour - 14.0 - lag))
    sun = np.where((hour > 8) & (hour < 16), 12.0 * np.sin(np.pi * (hour - 8.0) / 8.0), 0.0)
    by_air, by_cells = (gate_open(np.tile(each, 3), 0.0, 4.0)[-24:] for each in (air, cells))
    assert sun.sum() == pytest.approx(61.5, abs=0.05)
    assert ((by_air & (sun > 0)).sum(), (by_cells & (sun > 0)).sum()) == (4, 2)
    assert (sun * by_air).sum() == pytest.approx(30.8, abs=0.05)
    assert (sun * by_cells).sum() == pytest.approx(9.0, abs=0.05)
    assert cells.max() == pytest.approx(4.57, abs=0.005)
