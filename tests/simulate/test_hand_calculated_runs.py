"""Whole discharges of the unit with round figures against a calculator: cut-off, power, steps, sag, warmth, speed.

The figures beside the checks are Ohm's law, exponentials and sums over the curve, worked by hand.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from planner.battery.circuit import gap_constants
from planner.battery.draws import normals
from planner.outing.motor import motor_current_a
from planner.outing.schema import Load
from tests.oracles.circuit_truth import CircuitParameters
from tests.oracles.pieces import LoadPiece, steady
from tests.simulate.invented_packs import PACK, WARM_K, circuit_of, run
from tests.simulate.test_hand_calculated_unit import AH, CHARGE_C, OPEN_V, STEADY_OHM, STILL, units

SETTLED = CircuitParameters(tuple(OPEN_V), tuple(OPEN_V.values()), CHARGE_C, r_cell_ohm=STEADY_OHM)
# one flat voltage: what a current does beside draining is all that is seen
FLAT = dataclasses.replace(SETTLED, ocv_z=(0.0, 1.0), ocv_v=(13.0, 13.0), q_c=STILL * CHARGE_C)
DAY_S = 86400.0


@pytest.mark.parametrize(
    ("cutoff_v", "soc", "charge_ah"),
    [(10.0, 0.0113, 102.4), (11.0, 0.0330, 100.2), (12.0, 0.0739, 95.9), (12.4, 0.2000, 82.9)],
)
def test_a_tenth_of_a_volt_on_the_plateau_costs_more_than_a_volt_at_the_knee(cutoff_v, soc, charge_ah):
    """100 A steady stops where the curve, less 0.52 V, is at the cut-off."""
    found = run([SETTLED], steady(100.0), cutoff_v=cutoff_v)
    assert float(found.end_soc[0]) == pytest.approx(soc, abs=1e-4)
    assert float(found.end_charge_c[0]) / AH == pytest.approx(charge_ah, abs=0.1)


@pytest.mark.parametrize(("soc", "amps"), [(0.5, 78.67), (0.05, 84.31)])
def test_the_current_of_a_power_rises_as_the_charge_falls(soc, amps):
    """1000 W: I = (E - sqrt(E^2 - 4 R P)) / 2 R at 13.12 and 12.30 V. A label's 12.8 V says 78.1 A for both."""
    trace = run([SETTLED], [LoadPiece(1.0, power_w=1000.0)], repeat=False, start_soc=soc).trace
    assert trace is not None
    assert float(trace.start_a[0, 0]) == pytest.approx(amps, abs=0.02)


def test_constant_power_lasts_a_little_less_than_the_current_at_the_label_s_voltage():
    """1000 W to 11.0 V: 1.271 h at 78.90 A on average, empty to 0.0320; at 78.125 A 1.286 h (sums over the curve)."""
    power = run([SETTLED], [LoadPiece(DAY_S, power_w=1000.0)], cutoff_v=11.0, longest_step_s=30.0)
    hours = float(power.end_s[0]) / 3600.0
    assert hours == pytest.approx(1.271, abs=0.002)
    assert float(power.end_soc[0]) == pytest.approx(0.0320, abs=1e-4)
    assert float(power.end_charge_c[0]) / AH / hours == pytest.approx(78.90, abs=0.02)
    current = run([SETTLED], steady(78.125), cutoff_v=11.0)
    assert float(current.end_s[0]) / 3600.0 == pytest.approx(1.286, abs=0.002)


@pytest.mark.parametrize(
    ("seconds", "milliohm"), [(0.1, 3.01), (10.0, 3.509), (60.0, 4.104), (20 * 240.0, 5.2)]
)
def test_a_resistance_is_a_matter_of_when_it_is_read(seconds, milliohm):
    """3.0 + 0.8 (1 - exp(-t/12)) + 1.4 (1 - exp(-t/240)) mohm."""
    flat = {0.0: 13.0, 1.0: 13.0}
    pieces = [LoadPiece(1.0), LoadPiece(seconds, current_a=80.0)]
    trace = run(units(1, flat, STILL * CHARGE_C), pieces, repeat=False).trace
    assert trace is not None
    assert 1e3 * float(trace.start_v[0, 0] - trace.end_v[-1, 0]) / 80.0 == pytest.approx(milliohm, abs=0.005)


def test_a_rested_reading_taken_early_is_too_low():
    """13.16 V at rest, 150 A for a minute: 12.71 V at once, 12.544 V after it, 13.123 V a minute after release."""
    flat = {0.0: 13.16, 1.0: 13.16}
    trace = run(
        units(1, flat, STILL * CHARGE_C), [LoadPiece(60.0, current_a=150.0), LoadPiece(60.0)], repeat=False
    ).trace
    assert trace is not None
    volts = trace.end_v[:, 0]
    assert float(trace.start_v[0, 0]) == pytest.approx(12.71, abs=0.002)
    assert float(volts[np.flatnonzero(np.isclose(trace.end_s, 60.0))[0]]) == pytest.approx(12.544, abs=0.002)
    assert float(volts[-1]) == pytest.approx(13.123, abs=0.002)


def test_the_pack_warms_by_what_its_resistance_takes():
    """100 A through 5.2 mohm: 52 W. 11.2 kg of 1000 J/(kg K), 1.2 W/K to the air: 43.3 K in the end, 13.9 K in an hour."""
    pack = dataclasses.replace(FLAT, heat_capacity_j_per_k=11.2e3, conductance_w_per_k=1.2)
    hour = run([pack], [LoadPiece(3600.0, current_a=100.0)], repeat=False)
    assert float(hour.mark_temp_k[0]) - WARM_K == pytest.approx(13.9, abs=0.1)
    settled = run([pack], [LoadPiece(20 * 2.59 * 3600.0, current_a=100.0)], repeat=False)
    assert float(settled.mark_temp_k[0]) - WARM_K == pytest.approx(43.3, abs=0.1)


def test_less_speed_buys_distance_and_a_headwind_takes_more_of_it_from_the_slow():
    """30 A at 5.0 km/h beside 2 A of other loads, 90 Ah: 2.81 h and 14.1 km; at 3.5 km/h by the pure cube 7.32 h, 25.6 km.

    The planner's own law keeps 3 % of the current at any speed: 30 (0.03 + 0.97 x 0.343) = 10.88 A, so 6.99 h, 24.5 km.
    """
    motor = Load("motor", "motor", (), "stated", 0.0, full_current_a=30.0)
    flat = dataclasses.replace(FLAT, q_c=90.0 * AH)
    hours = []
    for speed in (1.0, 0.7):
        found = run([flat], steady(2.0 + motor_current_a(motor, speed)))
        hours.append(float(found.end_s[0]) / 3600.0)
    assert hours == pytest.approx([2.81, 6.99], abs=0.01)
    assert [hours[0] * 5.0, hours[1] * 3.5] == pytest.approx([14.1, 24.5], abs=0.1)
    cube_a = 30.0 * 0.7**3
    assert cube_a == pytest.approx(10.29, abs=0.005)
    slow_h = float(run([flat], steady(2.0 + cube_a)).end_s[0]) / 3600.0
    assert slow_h == pytest.approx(7.32, abs=0.01)
    assert [slow_h * 3.5, hours[0] * 4.0, slow_h * 2.5] == pytest.approx([25.6, 11.25, 18.31], abs=0.1)


def test_drawn_runtimes_have_the_quantiles_of_a_lognormal():
    """103.4 Ah x 0.88 / 17.667 A, sigmas 0.03584, 0.03 and 0.12: 0.1288 together; P10 4.37, P50 5.15, P90 6.07 h.

    Of 2000 plain draws P10 has a standard error of 0.49 %; a hypercube's is no larger.
    """
    normal = normals(2000, 3, seed=5)
    hours = 103.4 * 0.88 / 17.667 * np.exp(normal @ np.array([0.03584, 0.03, -0.12]))
    assert np.percentile(hours, [10, 50, 90]) == pytest.approx([4.37, 5.15, 6.07], rel=0.01)
    assert np.log(hours).std() == pytest.approx(0.1288, rel=0.02)


@pytest.mark.parametrize("lag", [0.5, 1.0, 2.0])
def test_in_pulses_the_gap_comes_and_goes_by_its_lag(lag):
    """The two gap states and the pair by their own exponentials, half a second at a time."""
    pulses = [LoadPiece(300.0, current_a=100.0), LoadPiece(300.0)]
    circuit = dataclasses.replace(circuit_of([PACK]), gap_lag=np.full((1, 1, 1), lag))
    found = float(run(circuit, pulses).end_s[0])
    k_1, tau_1, k_2, tau_2 = (float(value) for value in gap_constants(PACK.tau_d_s))
    gains, fades = np.array([k_1, k_2]) / PACK.q_c, np.exp(-0.5 / (lag * np.array([tau_1, tau_2])))
    soc, gap, pair_v, time_s, volts = 1.0, np.zeros(2), 0.0, 0.0, 14.0
    ohm = PACK.lead_ohm(298.15) + PACK.r_cell_ohm
    while volts > 10.0:
        amps = 100.0 if time_s % 600.0 < 300.0 else 0.0
        gap = gains * amps + (gap - gains * amps) * fades
        settled = amps * PACK.r1_ohm
        pair_v = settled + (pair_v - settled) * math.exp(-0.5 / PACK.tau1_s)
        soc, time_s = soc - 0.5 * amps / PACK.q_c, time_s + 0.5
        volts = float(np.interp(soc - gap.sum(), PACK.ocv_z, PACK.ocv_v)) - amps * ohm - pair_v
    print(f"lag {lag}: {found:.1f} s, by hand {time_s:.1f} s")
    assert found == pytest.approx(time_s, abs=5.0)  # half a second of the hand's, and the engine's step
