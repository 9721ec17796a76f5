"""Limits of error and the uncertainty of a discharge's charge and energy."""

from __future__ import annotations

import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.record.instrument import (
    charge_uncertainty,
    combine,
    current_limit,
    energy_uncertainty,
    expanded_uncertainty,
    standard_uncertainty,
    temperature_limit,
    time_limit,
    voltage_limit,
)
from planner.record.schema import CapacityTest, Instrument, TestConditions

CLAMP = Instrument("clamp", current_gain=0.02, current_floor_a=0.5, time_s=0.5)
SHUNT = Instrument("load", current_gain=0.005, voltage_gain=0.001, time_s=2.0)


def discharge(instrument: Instrument | None) -> CapacityTest:
    """103.4 Ah in 18 600 s at 20 A, 1341 Wh: invented."""
    at = TestConditions("capacity_test.1", instrument)
    return CapacityTest(at, 20.0, None, 18600.0, 103.4 * 3600.0, 1341.0 * 3600.0, 10.0, "cutoff")


def test_a_clamp_of_two_per_cent_and_half_an_ampere_is_out_by_three_and_a_half_at_150_a():
    # By hand: 0.02 x 150 + 0.5 = 3.5 A
    assert current_limit(CLAMP, 150.0).half_width == pytest.approx(3.5, rel=1e-12)
    assert current_limit(CLAMP, 150.0).stated


def test_a_clamp_with_a_floor_is_out_by_four_and_a_half_per_cent_at_20_a():
    # By hand: (0.02 x 20 + 0.5) / 20 = 4.5 %
    assert current_limit(CLAMP, 20.0).half_width / 20.0 == pytest.approx(0.045, rel=1e-12)


@pytest.mark.parametrize("instrument", [None, Instrument("nameless")])
def test_an_unstated_meter_gets_the_handbook_limits_and_says_so(instrument):
    # Common practice, no source: 3 % + 1 A, 1 s, 1 K, 0.5 %
    found = [
        current_limit(instrument, 100.0),
        time_limit(instrument),
        temperature_limit(instrument),
        voltage_limit(instrument, 12.0),
    ]
    assert [limit.half_width for limit in found] == pytest.approx([4.0, 1.0, 1.0, 0.06], rel=1e-12)
    assert not any(limit.stated for limit in found)


def test_a_stated_floor_alone_never_makes_the_guessed_limit_smaller():
    assert current_limit(Instrument("x", current_floor_a=3.0), 100.0).half_width == pytest.approx(6.0)
    assert current_limit(Instrument("x", current_floor_a=0.1), 100.0).half_width == pytest.approx(4.0)


def test_the_sign_of_a_reading_does_not_change_its_limit():
    assert current_limit(CLAMP, -150.0) == current_limit(CLAMP, 150.0)


def test_charge_by_shunt_is_known_to_0_586_per_cent():
    # Hand calculation: 0.5 %/sqrt 3, 0.01 %/sqrt 3, 0.1 %, 0.5 % in quadrature; printed to three digits
    assert 100 * charge_uncertainty(discharge(SHUNT)) == pytest.approx(0.586, abs=0.0005)
    assert expanded_uncertainty(103.4 * charge_uncertainty(discharge(SHUNT))) == pytest.approx(1.2, abs=0.05)


def test_charge_by_a_two_per_cent_clamp_is_known_to_1_26_per_cent():
    # Hand calculation: 2 %/sqrt 3, timer 2 s in 18 600 s, 0.1 %, 0.5 % in quadrature
    clamp = Instrument("clamp", current_gain=0.02, time_s=2.0)
    assert 100 * charge_uncertainty(discharge(clamp)) == pytest.approx(1.26, abs=0.005)
    assert expanded_uncertainty(103.4 * charge_uncertainty(discharge(clamp))) == pytest.approx(2.6, abs=0.05)
    assert 100 * time_limit(clamp).half_width / 18600.0 == pytest.approx(0.0108, abs=5e-5)


def test_energy_adds_the_voltmeter_to_the_charge():
    # By hand: charge part and 0.1 %/sqrt 3 in quadrature
    both = combine([charge_uncertainty(discharge(SHUNT)), 0.001 / math.sqrt(3.0)])
    assert energy_uncertainty(discharge(SHUNT)) == pytest.approx(both, rel=1e-12)


def test_energy_without_a_figure_takes_the_voltmeter_at_the_cutoff():
    floor = dataclasses.replace(SHUNT, voltage_gain=0.0, voltage_floor_v=0.05)
    bare = dataclasses.replace(discharge(floor), energy_j=None)
    # By hand: 0.05 V of 10.0 V is 0.5 %
    assert energy_uncertainty(bare) == pytest.approx(
        combine([charge_uncertainty(bare), standard_uncertainty(0.005)]), rel=1e-12
    )


@given(st.floats(0.0, 0.2), st.floats(0.0, 0.2))
def test_a_worse_meter_never_makes_the_charge_surer(gain, more):
    near = Instrument("x", current_gain=gain, time_s=1.0)
    far = Instrument("x", current_gain=gain + more, time_s=1.0)
    assert charge_uncertainty(discharge(far)) >= charge_uncertainty(discharge(near))


def test_a_correlation_of_the_wrong_shape_is_refused():
    with pytest.raises(ValueError, match="3 contributions"):
        combine([1.0, 2.0, 3.0], [[1.0, 0.0], [0.0, 1.0]])


def test_a_full_negative_correlation_of_equal_parts_leaves_nothing():
    assert combine([0.1, 0.1], [[1.0, -1.0], [-1.0, 1.0]]) == pytest.approx(0.0, abs=1e-9)
