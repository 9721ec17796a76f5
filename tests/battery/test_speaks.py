"""For which temperature and charge a pass speaks. Sizes: common practice, no source."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.battery.current_evidence import Pass
from planner.battery.speaks import printed_constants, speaks_at, speaks_at_charge

WARM = Pass(150.0, 3.5, 60.0, 298.15, "current_test.1", "hold")
EMPTYING = Pass(100.0, 0.5, 3632.0, 298.15, "capacity_test.1", "full discharge", full_discharge=True)
EARLY = Pass(100.0, 0.5, 600.0, 298.15, "capacity_test.2", "early-ended discharge", charge_c=6e4)
NO_HEADROOM, NO_RATIO = -math.inf, math.inf


@pytest.mark.parametrize(
    ("cell_c", "speaks"), [(10.0, True), (9.9, False), (25.0, True), (40.0, True), (40.1, False)]
)
def test_a_pass_speaks_from_15_k_below_its_temperature_to_40_degc(cell_c, speaks):
    assert speaks_at(WARM, 273.15 + cell_c, [298.15], NO_HEADROOM, NO_RATIO) is speaks


@pytest.mark.parametrize(
    ("cell_c", "headroom_v", "speaks"),
    [(5.0, 0.5, True), (0.0, 0.5, True), (-0.1, 5.0, False), (5.0, 0.49, False), (5.0, math.nan, False)],
)
def test_colder_it_speaks_down_to_freezing_while_the_voltage_keeps_clear(cell_c, headroom_v, speaks):
    assert speaks_at(WARM, 273.15 + cell_c, [], headroom_v, NO_RATIO) is speaks


@pytest.mark.parametrize(("ratio", "speaks"), [(1.0, True), (1.01, False), (math.nan, False)])
def test_colder_still_it_speaks_for_currents_that_sag_no_more(ratio, speaks):
    assert speaks_at(WARM, 258.15, [], NO_HEADROOM, ratio) is speaks


@pytest.mark.parametrize(("cell_c", "speaks"), [(-20.0, True), (-20.1, False)])
def test_of_deep_cold_a_warm_pass_says_nothing_however_little_sags(cell_c, speaks):
    assert speaks_at(WARM, 273.15 + cell_c, [298.15], 5.0, 0.01) is speaks
    cold = Pass(150.0, 3.5, 60.0, 253.15, "current_test.2", "hold")
    assert speaks_at(cold, 273.15 + cell_c, [], NO_HEADROOM, NO_RATIO)


def test_between_two_covering_tests_both_speak():
    assert speaks_at(WARM, 318.15, [298.15, 323.15], NO_HEADROOM, NO_RATIO)
    assert not speaks_at(WARM, 318.15, [298.15, 313.15], NO_HEADROOM, NO_RATIO)


def test_above_40_degc_neither_voltage_nor_current_helps():
    assert not speaks_at(WARM, 315.15, [], 5.0, 0.1)


def test_a_hot_test_speaks_for_its_own_temperature():
    hot = Pass(150.0, 3.5, 60.0, 323.15, "current_test.1", "hold")
    assert speaks_at(hot, 323.15, [], NO_HEADROOM, NO_RATIO)


@given(st.floats(250, 313), st.floats(0, 20), st.floats(-1, 3), st.floats(0.2, 4))
def test_warmer_cells_never_silence_a_pass(cell_k, warmer_k, headroom_v, ratio):
    if speaks_at(WARM, cell_k, [], headroom_v, ratio):
        assert speaks_at(WARM, min(cell_k + warmer_k, 313.15), [], headroom_v, ratio)


@pytest.mark.parametrize(
    ("soc", "headroom_v", "speaks"),
    [(0.2, 0.5, True), (0.19, 5.0, False), (0.9, 0.4, False), (1.0, 1.0, True)],
)
def test_a_hold_speaks_from_a_fifth_of_the_charge_while_the_voltage_keeps_clear(soc, headroom_v, speaks):
    assert speaks_at_charge(WARM, soc, headroom_v) is speaks


def test_only_a_discharge_to_empty_speaks_near_empty():
    assert speaks_at_charge(EMPTYING, 0.02, NO_HEADROOM)
    assert not speaks_at_charge(EARLY, 0.02, 5.0)
    assert speaks_at_charge(EARLY, 0.5, 5.0)


def test_the_sizes_are_printed_as_the_rule_uses_them():
    assert [(value, unit) for _, value, unit in printed_constants()] == [
        (15.0, "K"),
        (40.0, "degC"),
        (0.0, "degC"),
        (-20.0, "degC"),
        (0.5, "V"),
        (20.0, "%"),
    ]
