"""One invented unit whose curve and resistances are round figures: pairs, strings and an inverter by hand.

103.6 Ah; 3.0 mohm at once, 0.8 mohm more with 12 s and 1.4 mohm with 240 s: 5.2 mohm in the long run. No gap, no heat.
The figures beside the checks are Ohm's and Kirchhoff's laws with these, worked by hand.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from planner.battery.circuit import Circuit
from planner.install.conductor import awg_area_m2, resistance_ohm
from planner.install.inverter import needed_open_circuit_v
from planner.simulate.setup import Run
from tests.oracles.circuit_truth import CircuitParameters
from tests.oracles.pieces import LoadPiece, steady
from tests.simulate.invented_packs import circuit_of, joined, run, timeline_of

AH = 3600.0
CHARGE_C = 103.6 * AH
OPEN_V = {0.0: 10.00, 0.05: 12.30, 0.10: 12.76, 0.20: 12.92, 0.30: 13.02, 0.40: 13.08, 0.50: 13.12, 0.60: 13.16,
          0.70: 13.24, 0.80: 13.28, 0.90: 13.32, 0.95: 13.34, 1.0: 13.60}  # fmt: skip
FLAT_V = {0.0: 13.1, 1.0: 13.1}
STILL = 1e6  # times the charge: the voltages at rest stand still, as the hand calculation has them
FIRST_OHM, STEADY_OHM = 3.0e-3, 5.2e-3
LEADS_OHM = np.array([1.2e-3, 2.6e-3])


def units(count: int, curve: dict[float, float], charge_c: float = CHARGE_C) -> Circuit:
    """So many of these units, one scenario each."""
    pack = CircuitParameters(tuple(curve), tuple(curve.values()), charge_c, r_cell_ohm=FIRST_OHM)
    circuit = circuit_of([pack] * count)
    pair = np.array([0.8e-3, 1.4e-3]).reshape(2, 1, 1, 1) * np.ones((1, 1, 1, count))
    tau = np.array([12.0, 240.0]).reshape(2, 1, 1, 1) * np.ones((1, 1, 1, count))
    return dataclasses.replace(circuit, pair_ohm=pair, pair_tau_s=tau)


def pair_under(
    total_a: float, until_s: float, curve: dict[float, float], soc: float = 1.0, size: float = 1.0
):
    """Two on unequal leads under one current: times [s] and each one's current [A]. Short steps, to read seconds off."""
    found = run(joined(units(2, curve, size * CHARGE_C), 2), [LoadPiece(until_s, current_a=total_a)], lead_ohm=LEADS_OHM, columns=1,
                repeat=False, start_soc=soc, longest_step_s=0.5)  # fmt: skip
    trace = found.trace
    assert trace is not None
    return np.append(0.0, trace.end_s), np.vstack([trace.branch_start_a[:1], trace.branch_end_a])


def seconds_above(times: np.ndarray, amps: np.ndarray, level: float) -> float:
    """All time above a level, by straight lines between half seconds."""
    fine = np.linspace(0.0, times[-1], 20 * len(times))
    return float((np.interp(fine, times, amps) > level).mean() * times[-1])


# --- two side by side -----------------------------------------------------------------------------------


def test_a_pair_shares_by_its_first_and_in_the_long_run_by_all_its_resistance():
    times, amps = pair_under(150.0, 3000.0, FLAT_V, size=STILL)
    # at once 150 x 5.6/9.8 = 85.7 A; in the long run 150 x 7.8/14.2 = 82.39 A and 67.61 A, 21.9 % apart
    assert amps[0, 0] == pytest.approx(85.7, abs=0.05)
    assert amps[-1] == pytest.approx([82.39, 67.61], abs=0.005)
    assert amps[-1, 0] / amps[-1, 1] - 1.0 == pytest.approx(0.219, abs=0.0005)
    assert times[-1] == pytest.approx(3000.0, rel=1e-12)


def test_how_long_the_nearer_of_two_carries_more_than_it_was_shown_to():
    times, amps = pair_under(180.0, 1800.0, FLAT_V, size=STILL)
    # 180 x 5.6/9.8 = 102.9 A, falling to 180 x 7.8/14.2 = 98.9 A; two exponentials by hand in steps of 0.05 s
    assert amps[0, 0] == pytest.approx(102.9, abs=0.05)
    assert np.interp(60.0, times, amps[:, 0]) == pytest.approx(100.4, abs=0.05)
    assert amps[-1, 0] == pytest.approx(98.9, abs=0.05)
    assert seconds_above(times, amps[:, 0], 100.5) == pytest.approx(54.0, abs=2.0)
    assert seconds_above(times, amps[:, 0], 99.5) == pytest.approx(237.0, abs=2.0)


def test_the_curve_pulls_branches_together_sooner_than_a_flat_one():
    times, amps = pair_under(180.0, 600.0, OPEN_V, soc=0.9)
    assert amps[0, 0] == pytest.approx(102.9, abs=0.05)
    assert np.interp(60.0, times, amps[:, 0]) == pytest.approx(100.3, abs=0.05)
    assert amps[-1, 0] == pytest.approx(98.1, abs=0.05)
    assert seconds_above(times, amps[:, 0], 99.5) == pytest.approx(163.0, abs=2.0)
    # from full 42.5 s, and past the corner of the curve at 95 % once more for 11 s
    times, amps = pair_under(180.0, 600.0, OPEN_V)
    assert seconds_above(times, amps[:, 0], 99.5) == pytest.approx(53.5, abs=2.0)


def test_equal_leads_share_alike_and_one_of_three_lost_leaves_half_as_much_again():
    for left, each in ((2, 90.0), (3, 90.0)):
        found = run(joined(units(left, OPEN_V), left), [LoadPiece(60.0, current_a=90.0 * left)],
                    lead_ohm=np.full(left, 1.2e-3), columns=1, repeat=False)  # fmt: skip
        assert found.trace is not None
        assert found.trace.branch_end_a[-1] == pytest.approx([each] * left, rel=1e-9)
    found = run(joined(units(2, OPEN_V), 2), [LoadPiece(60.0, current_a=270.0)], lead_ohm=np.full(2, 1.2e-3),
                columns=1, repeat=False)  # fmt: skip
    assert found.trace is not None
    assert found.trace.branch_end_a[-1] == pytest.approx([135.0, 135.0], rel=1e-9)


def test_two_full_units_carry_270_a_for_no_longer_than_their_charge_lasts():
    found = run(
        joined(units(2, OPEN_V), 2), steady(current_a=270.0), lead_ohm=np.zeros(2), columns=1, cutoff_v=5.0
    )
    # by charge alone 2 x 103.6 Ah / 270 A = 46.04 min; 135 A through 5.2 mohm lose 0.7 V, far above the 5 V asked here
    assert float(found.end_s[0]) / 60.0 == pytest.approx(46.04, abs=0.05)


@pytest.mark.parametrize(
    ("charges", "first", "settled"), [((0.95, 0.40), 0.26 / 9.8e-3, 18.3), ((1.0, 0.1), 85.7, 59.2)]
)
def test_units_of_unlike_charge_drive_a_current_through_their_joint_leads(charges, first, settled):
    # 3.8 mohm of leads: 0.26 V over 14.2 mohm is 18.3 A, 0.84 V is 59.2 A, and 85.7 A over 9.8 mohm at the first moment
    found = run(joined(units(2, OPEN_V, STILL * CHARGE_C), 2), [LoadPiece(3000.0, current_a=1e-6)], lead_ohm=LEADS_OHM, columns=1, repeat=False,
                start_soc=np.array(charges).reshape(2, 1, 1))  # fmt: skip
    trace = found.trace
    assert trace is not None
    assert trace.branch_start_a[0] == pytest.approx([first, -first], abs=0.05)
    assert trace.branch_end_a[-1] == pytest.approx([settled, -settled], abs=0.05)


# --- in series ------------------------------------------------------------------------------------------


def test_a_string_gives_what_its_weakest_unit_holds_and_strands_the_rest():
    # 103.4 and 96.8 Ah: 6.6 Ah stay behind; 96.8 Ah at 13.00 and 12.98 V are 2515 Wh, not the 2601 Wh of both alone
    flat = [{0.0: 13.00, 1.0: 13.00}, {0.0: 12.98, 1.0: 12.98}]
    packs = [
        CircuitParameters(tuple(c), tuple(c.values()), q * AH)
        for c, q in zip(flat, (103.4, 96.8), strict=True)
    ]
    found = run(joined(circuit_of(packs), 1, 2), steady(current_a=2.0), series=2, cutoff_v=5.0, columns=1)
    assert str(found.end_kind[0]) == "empty"
    assert float(found.end_charge_c[0]) / AH == pytest.approx(96.8, abs=0.05)
    assert float(found.end_energy_j[0]) / AH == pytest.approx(2515.0, abs=0.5)
    alone = [run([pack], steady(current_a=2.0), cutoff_v=5.0) for pack in packs]
    assert sum(float(one.end_energy_j[0]) for one in alone) / AH == pytest.approx(2601.0, abs=0.5)
    left_c = float(alone[0].end_charge_c[0]) - float(found.end_charge_c[0])
    assert left_c / AH == pytest.approx(6.6, abs=0.05)


# --- an inverter behind a cable -------------------------------------------------------------------------


def loop_ohm(gauge: int, one_way_m: float, contacts_ohm: float = 1.0e-3) -> float:
    """Cable both ways and contacts [ohm]."""
    return resistance_ohm(awg_area_m2(gauge), 2.0 * one_way_m, 293.15, stranded=False) + contacts_ohm


def charge_at(open_v: float) -> float:
    """State of charge at a rest voltage."""
    return float(np.interp(open_v, list(OPEN_V.values()), list(OPEN_V)))


def cut_out(power_w: float, wiring_ohm: float, cutout_v: float) -> Run:
    """Run from full until the inverter cuts out."""
    line = timeline_of([LoadPiece(36_000.0, power_w=power_w)], cutout_v=cutout_v, cutout_delay_s=0.0)
    return run(units(1, OPEN_V), line, columns=1, wiring_ohm=wiring_ohm, cutoff_v=5.0, repeat=False)


def left_at(found: Run) -> float:
    """Charge left when the inverter cuts out, of the whole."""
    return 1.0 - float(found.inverter_charge_c[0, 0]) / CHARGE_C


@pytest.mark.parametrize(("gauge", "soc"), [(4, 0.082), (6, 0.245)])
def test_the_charge_at_which_an_inverter_gives_up(gauge, soc):
    # 1500 W at 88 %, cut-out 11.0 V, 2.5 m one way, 1.0 mohm: rest voltages 12.59 and 12.96 V, 8.2 % and 24.5 %
    power, wired = 1500.0 / 0.88, loop_ohm(gauge, 2.5)
    assert charge_at(needed_open_circuit_v(power, STEADY_OHM + wired, 11.0)) == pytest.approx(soc, abs=0.0005)
    # in time the pair of 240 s lags behind a current that grows: it holds a little longer, 0.2 % of the charge at most
    assert left_at(cut_out(power, wired, 11.0)) == pytest.approx(soc, abs=0.002)


def test_in_the_cold_it_gives_up_at_once_above_any_rest_voltage():
    # exp[25000/8.314 (1/263.15 - 1/298.15)] = 3.824: 19.9 mohm, 24.96 with the cable of AWG 4 and contacts
    cold = STEADY_OHM * 3.824 + loop_ohm(4, 2.5)
    assert cold == pytest.approx(24.96e-3, abs=5e-6)
    wanted_v = needed_open_circuit_v(1500.0 / 0.88, cold, 11.0)
    assert wanted_v == pytest.approx(14.87, abs=0.005)
    assert wanted_v > max(OPEN_V.values())


def test_an_inverter_behind_a_thin_cable_gives_up_with_two_thirds_left():
    # 900 W at 88 %: 1023 W; AWG 6, 5 m one way, 1.0 mohm: 19.16 mohm; 13.20 V, 66 %, 88.9 A, 12.74 V at the battery
    power, wired = 900.0 / 0.88, loop_ohm(6, 5.0)
    assert power == pytest.approx(1023.0, abs=0.5)
    assert STEADY_OHM + wired == pytest.approx(19.16e-3, abs=5e-6)
    rest_v = needed_open_circuit_v(power, STEADY_OHM + wired, 11.5)
    assert rest_v == pytest.approx(13.20, abs=0.005)
    assert charge_at(rest_v) == pytest.approx(0.66, abs=0.005)
    assert power / 11.5 == pytest.approx(88.9, abs=0.1)
    assert rest_v - power / 11.5 * STEADY_OHM == pytest.approx(12.74, abs=0.005)
    # with settled pairs 35.7 Ah and 24.4 min; the pair of 240 s, still settling, gives 0.1 Ah and 4 s more
    assert (1.0 - charge_at(rest_v)) * CHARGE_C / AH == pytest.approx(35.7, abs=0.05)
    found = cut_out(power, wired, 11.5)
    assert float(found.inverter_charge_c[0, 0]) / AH == pytest.approx(35.7, abs=0.15)
    assert float(found.inverter_s[0, 0]) / 60.0 == pytest.approx(24.4, abs=0.1)


def test_a_milliohm_more_in_a_contact_costs_a_sixth_of_the_charge_on_the_plateau():
    power, wired = 900.0 / 0.88, loop_ohm(6, 5.0, 2.0e-3)
    assert charge_at(needed_open_circuit_v(power, STEADY_OHM + wired, 11.5)) == pytest.approx(0.83, abs=0.005)


def test_behind_a_thick_cable_it_runs_the_battery_down():
    # AWG 1/0: 9.42 mohm, 5.4 %, 70.9 min
    power, wired = 900.0 / 0.88, loop_ohm(0, 5.0)
    assert STEADY_OHM + wired == pytest.approx(9.42e-3, abs=5e-6)
    found = cut_out(power, wired, 11.5)
    assert left_at(found) == pytest.approx(0.054, abs=0.0005)
    assert float(found.inverter_s[0, 0]) / 60.0 == pytest.approx(70.9, abs=0.05)
