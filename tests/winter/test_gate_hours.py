import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

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


@given(cells_c, st.floats(-10.0, 10.0), st.floats(0.0, 10.0))
def test_all_at_once_is_the_same_as_hour_by_hour(cells, block, span):
    history = np.array(cells)
    state, stepped = np.zeros(1, dtype=bool), []
    for value in history:
        state = gate_step(state, np.array([value]), np.array([block]), np.array([block + span]))
        stepped.append(bool(state[0]))
    assert gate_open(history, block, block + span).tolist() == stepped


@given(cells_c, st.floats(-10.0, 10.0), st.floats(0.0, 10.0), st.floats(0.0, 5.0), st.floats(0.0, 5.0))
def test_higher_thresholds_never_open_an_hour_more(cells, block, span, up, more):
    history = np.array(cells) + ZERO_K
    low = gate_open(history, block + ZERO_K, block + span + ZERO_K)
    high = gate_open(history, block + up + ZERO_K, block + span + up + more + ZERO_K)
    assert not np.any(high & ~low)
