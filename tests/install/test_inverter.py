"""Inverter: input current, cut-out, inrush."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.install.conductor import awg_area_m2, resistance_ohm
from planner.install.inverter import (
    input_current_a,
    inrush,
    needed_open_circuit_v,
    power_at_cutout_w,
)

DC_W = 1500.0 / 0.88
BATTERY_OHM = 5.2e-3


def loop_ohm(number):
    return BATTERY_OHM + resistance_ohm(awg_area_m2(number), 5.0, 293.15, stranded=False) + 1.0e-3


def test_dc_current_of_an_ac_load_grows_as_the_voltage_falls():
    # By hand: 1500 W / 0.88 = 1704.5 W; 137.5 A at 12.4 V, 155.0 A at 11.0 V; no resistance in between
    assert pytest.approx(1704.5, abs=0.05) == DC_W
    assert input_current_a(DC_W, 12.4, 0.0) == pytest.approx(137.5, abs=0.05)
    assert input_current_a(DC_W, 11.0, 0.0) == pytest.approx(155.0, abs=0.05)


def test_voltage_at_the_inverter_behind_battery_and_cable():
    # By hand: 13.02 V behind 5.2 + 4.08 + 1.0 = 10.28 mohm: 148.3 A, 11.50 V there, 12.25 V at the battery
    loop = loop_ohm(4)
    current = input_current_a(DC_W, 13.02, loop)
    assert loop * 1e3 == pytest.approx(10.28, abs=0.005)
    assert current == pytest.approx(148.3, abs=0.1)
    assert 13.02 - current * loop == pytest.approx(11.50, abs=0.01)
    assert 13.02 - current * BATTERY_OHM == pytest.approx(12.25, abs=0.01)


@pytest.mark.parametrize(("number", "milliohm", "volt"), [(4, 10.28, 12.59), (6, 12.68, 12.96)])
def test_open_circuit_voltage_at_which_the_inverter_gives_up(number, milliohm, volt):
    # By hand: 11.0 V + R P / 11.0 V; half of the last digit
    assert loop_ohm(number) * 1e3 == pytest.approx(milliohm, abs=0.005)
    assert needed_open_circuit_v(DC_W, loop_ohm(number), 11.0) == pytest.approx(volt, abs=0.005)


def test_a_cold_battery_cuts_out_above_any_rest_voltage():
    # By hand: 24.96 mohm with cells at -10 degC: 14.87 V
    assert needed_open_circuit_v(DC_W, 24.96e-3, 11.0) == pytest.approx(14.87, abs=0.005)


def test_constant_power_behind_a_resistance():
    # By hand: 13.2 V behind 20 mohm, 500 W: 40.34503 A; the most it can give is 2178 W
    current = input_current_a(500.0, 13.2, 0.020)
    assert current == pytest.approx(40.34503, abs=5e-6)
    assert (13.2 - 0.020 * current) * current == pytest.approx(500.0, rel=1e-12)
    assert input_current_a(2177.9, 13.2, 0.020) is not None
    assert input_current_a(2178.1, 13.2, 0.020) is None


def test_power_that_reaches_the_cut_out():
    # By hand: 13.0 V behind 11.2 mohm, cut-out 10.5 V: 2344 W
    assert power_at_cutout_w(13.0, 11.2e-3, 10.5) == pytest.approx(2344, abs=0.5)


@given(st.floats(50.0, 2000.0), st.floats(1e-3, 20e-3), st.floats(10.0, 12.0))
def test_at_the_needed_voltage_the_inverter_sits_at_its_cut_out(power, loop, cutout):
    open_v = needed_open_circuit_v(power, loop, cutout)
    current = input_current_a(power, open_v, loop)
    if open_v <= 2.0 * cutout:  # beyond it the cut-out lies on the other root
        assert open_v - current * loop == pytest.approx(
            cutout, rel=1e-6
        )  # near the double root digits are lost
        assert power_at_cutout_w(open_v, loop, cutout) == pytest.approx(power, rel=1e-9)


def test_inrush_into_empty_capacitors():
    # By hand: 13.3 V, 8.076 mohm, 10 mF: 1647 A, 80.8 us, 109.5 A2s; half of the last digit
    bare = inrush(13.3, 3.0e-3 + 4.076e-3 + 1.0e-3, 10e-3)
    assert bare.peak_a == pytest.approx(1647, abs=0.5)
    assert bare.tau_s * 1e6 == pytest.approx(80.8, abs=0.05)
    assert bare.i2t_a2s == pytest.approx(109.5, abs=0.05)
    assert bare.energy_j == pytest.approx(0.884, abs=0.0005)


def test_a_precharge_resistor_tames_the_inrush():
    # By hand: 13.3 V / 25 ohm = 0.532 A; 5 x 25 ohm x 10 mF = 1.25 s
    tamed = inrush(13.3, 25.0, 10e-3)
    assert tamed.peak_a == pytest.approx(0.532, abs=0.0005)
    assert tamed.settled_s == pytest.approx(1.25, rel=1e-12)
