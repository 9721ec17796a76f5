"""Fuse window, ceiling, placement, interrupting rating, prospective current."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.install.conductor import awg_area_m2, resistance_ohm
from planner.install.overcurrent import (
    PLACEMENTS,
    STANDARD_FUSES_A,
    exceeds,
    fuse_low_a,
    judge_interrupt,
    legal_fuse_max_a,
    short_circuit_a,
    suggest_fuse_a,
)


def test_a_continuous_load_needs_a_fuse_a_quarter_above_it():
    assert fuse_low_a(100.0) == 125.0  # load at 80 % of the fuse, trade habit


@pytest.mark.parametrize(("table_a", "fuse_a"), [(60, 90), (80, 120), (120, 180), (160, 240)])
def test_legal_ceiling_is_half_above_the_table(table_a, fuse_a):
    # 33 CFR 183.455: 150 % of 10, 8, 6 and 4 AWG at 105 degC
    assert legal_fuse_max_a(table_a) == fuse_a


def test_cautious_ceiling_in_an_engine_space_is_lower():
    # 6 AWG, 120 A x 0.85 = 102 A; 150 % of it is 153 A
    assert legal_fuse_max_a(120 * 0.85) == pytest.approx(153.0, rel=1e-12)


def test_placement_distances_are_those_of_the_regulation_in_inches():
    # 33 CFR 183.455: 7 in, 40 in; 183.460: 72 in
    assert [p.within_m / 0.0254 for p in PLACEMENTS] == pytest.approx([7.0, 40.0, 72.0], rel=1e-12)
    assert [p.source.text[-3:] for p in PLACEMENTS] == ["455", "455", "460"]


def test_the_smallest_standard_fuse_in_the_window_is_suggested():
    assert suggest_fuse_a(125.0, 160.0) == 125.0
    assert suggest_fuse_a(126.0, 149.0) is None
    assert suggest_fuse_a(126.0, 160.0) == 150.0
    assert suggest_fuse_a(130.0, 95.2) is None


@given(st.floats(0.0, 500.0), st.floats(0.0, 500.0))
def test_a_suggested_fuse_lies_in_its_window(low, high):
    fuse = suggest_fuse_a(low, high)
    inside = [size for size in STANDARD_FUSES_A if low <= size <= high]
    if inside:
        assert fuse == inside[0]
    elif fuse is not None:
        assert not exceeds(low, fuse) and not exceeds(fuse, high)


def test_the_last_bit_of_a_float_is_no_exceedance():
    assert not exceeds(125.00000000000001, 125.0)
    assert exceeds(125.001, 125.0)


def test_short_circuit_current_falls_with_the_cable():
    # By hand: 13.3 V / 3.0 mohm = 4433 A; with 2 m of AWG 4 in the loop 2872 A; 8.076 mohm 1647 A. To 0.5 A.
    two_metres = resistance_ohm(awg_area_m2(4), 2.0, 293.15, stranded=False)
    assert short_circuit_a(13.3, 3.0e-3, 0.0) == pytest.approx(4433, abs=0.5)
    assert short_circuit_a(13.3, 3.0e-3, two_metres) == pytest.approx(2872, abs=0.5)
    assert short_circuit_a(13.3, 3.0e-3, 5.076e-3) == pytest.approx(1647, abs=0.5)


def test_four_units_in_parallel_add_their_currents():
    # By hand: 4 x 4433 A = 17.7 kA: a quarter of the resistance
    assert short_circuit_a(13.3, 3.0e-3 / 4, 0.0) == pytest.approx(17.7e3, abs=50)


def test_interrupting_rating_wants_to_be_well_above_the_estimate():
    assert judge_interrupt(None, 4433.0) == "unknown"
    assert judge_interrupt(4000.0, 4433.0) == "below"
    assert judge_interrupt(5000.0, 4433.0) == "close"
    assert judge_interrupt(10000.0, 4433.0) == "well above"
