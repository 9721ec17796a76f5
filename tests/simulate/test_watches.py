"""What ends a run and when: cut-off and its delay, the unit's own opening, inverters, trips, emptiness."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from planner.outing.timeline import Timeline
from planner.simulate.fine_trips import first_trip_s
from planner.simulate.setup import longest_step_s
from tests.oracles.circuit_truth import lsoda_run
from tests.oracles.pieces import LoadPiece, steady
from tests.simulate.invented_packs import LIVELY, PACK, run, timeline_of

DAY_S = 86400.0
SURGE = LoadPiece(0.4, current_a=180.0)


def with_surge(at_s: float, surge: LoadPiece = SURGE, length_s: float = 3 * DAY_S) -> list[LoadPiece]:
    """Three quiet days with one surge in them."""
    return [LoadPiece(at_s, current_a=0.3), surge, LoadPiece(length_s - at_s - surge.length_s, current_a=0.3)]


def test_a_surge_of_four_tenths_of_a_second_in_three_days_is_seen_in_the_lowest_voltage():
    quiet = run([PACK], [LoadPiece(3 * DAY_S, current_a=0.3)], repeat=False)
    surged = run([PACK], with_surge(100_003.7), repeat=False)
    # at once by R0 alone, 180 A less the 0.3 A that flow anyway; the pair and the gap answer little in 0.4 s
    r0_v = 179.7 * (PACK.lead_ohm(298.15) + PACK.r_cell_ohm)
    drop = float(quiet.min_v[0] - surged.min_v[0])
    here = run([PACK], [LoadPiece(100_003.7, current_a=0.3)], repeat=False)
    sag = float(here.min_v[0] - surged.min_v[0])
    print(f"lowest {float(surged.min_v[0]):.3f} V, {drop:.3f} V under the quiet run")
    assert r0_v < sag < r0_v + 0.05


@pytest.mark.parametrize(("seconds", "trips"), [(0.4, True), (0.39, True), (0.41, False)])
def test_the_surge_meets_a_trip_of_its_length_and_not_a_longer_one(seconds, trips):
    found = run([PACK], with_surge(100_003.7), repeat=False, trips=((180.0, seconds),))
    when = float(found.trip_s[0])
    assert (when == pytest.approx(100_003.7 + seconds, abs=1e-6)) if trips else math.isinf(when)


def test_a_trip_is_timed_exactly_over_pieces_and_starts_anew_after_a_break():
    loads = [LoadPiece(7.0, current_a=120.0), LoadPiece(1.0, current_a=90.0), LoadPiece(4.0, current_a=100.0),
             LoadPiece(900.0, current_a=130.0)]  # fmt: skip
    found = run([PACK], loads, repeat=False, trips=((100.0, 10.0),))
    assert float(found.trip_s[0]) == pytest.approx(8.0 + 10.0, abs=1e-9)  # 4 s at its own reading count


def test_a_current_just_under_a_trip_never_meets_it():
    found = run([PACK], steady(current_a=99.999), trips=((100.0, 10.0),))
    assert math.isinf(float(found.trip_s[0]))
    assert str(found.end_kind[0]) == "cutoff"


def dip_loads(length_s: float) -> list[LoadPiece]:
    """At 15 % charge: a pull that drops the voltage by about 1.2 V for length_s, then quiet."""
    return [
        LoadPiece(600.0, current_a=5.0),
        LoadPiece(length_s, current_a=300.0),
        LoadPiece(600.0, current_a=5.0),
    ]


@pytest.mark.parametrize(("length_s", "ends"), [(0.8, False), (0.99, False), (1.01, True), (5.0, True)])
def test_only_a_dip_longer_than_the_delay_ends_the_run(length_s, ends):
    found = run([PACK], dip_loads(length_s), repeat=False, start_soc=0.15, cutoff_v=12.0, cutoff_delay_s=1.0)
    if ends:
        assert str(found.end_kind[0]) == "cutoff"
        assert float(found.end_s[0]) == pytest.approx(601.0, abs=1e-6)
    else:
        assert str(found.end_kind[0]) == "none"
        assert float(found.min_v[0]) < 12.0


def test_two_dips_with_a_break_between_do_not_add_up():
    loads = [LoadPiece(60.0, current_a=5.0), LoadPiece(0.7, current_a=300.0), LoadPiece(30.0, current_a=5.0),
             LoadPiece(0.7, current_a=300.0), LoadPiece(60.0, current_a=5.0)]  # fmt: skip
    found = run([PACK], loads, repeat=False, start_soc=0.15, cutoff_v=12.0, cutoff_delay_s=1.0)
    assert str(found.end_kind[0]) == "none"


def test_a_dip_over_two_pieces_counts_in_one():
    loads = [LoadPiece(60.0, current_a=5.0), LoadPiece(0.7, current_a=300.0), LoadPiece(0.7, current_a=290.0),
             LoadPiece(60.0, current_a=5.0)]  # fmt: skip
    found = run([PACK], loads, repeat=False, start_soc=0.15, cutoff_v=12.0, cutoff_delay_s=1.0)
    assert float(found.end_s[0]) == pytest.approx(61.0, abs=1e-6)


def test_the_units_own_opening_has_no_delay():
    found = run(
        [PACK],
        dip_loads(0.4),
        repeat=False,
        start_soc=0.15,
        cutoff_v=9.0,
        cutoff_delay_s=1.0,
        undervoltage_v=12.0,
    )
    assert str(found.end_kind[0]) == "undervoltage"
    assert float(found.end_s[0]) == pytest.approx(600.0, abs=1e-6)


def test_a_steady_run_ends_at_the_crossing_plus_the_delay():
    prompt = run([PACK], steady(current_a=60.0), cutoff_v=12.0)
    late = run([PACK], steady(current_a=60.0), cutoff_v=12.0, cutoff_delay_s=30.0)
    assert float(late.end_s[0] - prompt.end_s[0]) == pytest.approx(30.0, abs=0.05)  # a crossing good to ms


@pytest.mark.parametrize("delay_s", [0.0, 2.0, 20.0])
def test_an_inverter_behind_wiring_cuts_out_when_its_own_terminals_stay_low(delay_s):
    ohm, power = 10e-3, 900.0
    truth = lsoda_run(
        dataclasses.replace(PACK, cutoff_v=1.0),
        [LoadPiece(36000.0, power_w=power, wiring_ohm=ohm)],
        keep=True,
    )
    # the current through the wire from the voltage at the battery: I (V - I R) = P
    amps = (truth.voltage_v - np.sqrt(truth.voltage_v**2 - 4.0 * ohm * power)) / (2.0 * ohm)
    at_inverter = truth.voltage_v - ohm * amps
    crossing_s = float(np.interp(-11.5, -at_inverter[20:], truth.time_s[20:]))
    line = timeline_of([LoadPiece(36000.0, power_w=power)], cutout_v=11.5, cutout_delay_s=delay_s)
    found = run([PACK], line, wiring_ohm=ohm)
    print(f"delay {delay_s} s: {float(found.inverter_s[0, 0]):.2f} s, yardstick {crossing_s + delay_s:.2f} s")
    assert float(found.inverter_s[0, 0]) == pytest.approx(crossing_s + delay_s, rel=1e-3)
    assert float(found.end_s[0]) > float(found.inverter_s[0, 0])  # the battery itself goes on
    used = float(found.inverter_charge_c[0, 0]) / PACK.q_c
    assert float(found.inverter_soc[0, 0]) == pytest.approx(1.0 - used, abs=1e-9)  # of the moment, not of the step


def test_no_cut_out_while_the_inverter_is_not_in_use():
    loads = [
        LoadPiece(100.0, power_w=100.0),
        LoadPiece(10.0, current_a=300.0),
        LoadPiece(100.0, power_w=100.0),
    ]
    line = timeline_of(loads, cutout_v=12.0, cutout_delay_s=1.0)
    found = run([PACK], line, repeat=False, start_soc=0.15, cutoff_v=9.0)
    assert math.isinf(float(found.inverter_s[0, 0]))


def test_a_power_that_cannot_be_served_ends_the_run_at_once():
    found = run([PACK], steady(power_w=50_000.0))
    assert str(found.end_kind[0]) == "cutoff"
    assert float(found.end_s[0]) == 0.0
    assert np.isfinite(float(found.end_energy_j[0]))


def test_a_power_that_becomes_too_much_on_the_way_ends_as_the_one_by_one_solution_does():
    weak = dataclasses.replace(PACK, r_cell_ohm=22e-3, cutoff_v=7.0)
    truth = lsoda_run(weak, [LoadPiece(36000.0, power_w=1300.0)])
    found = run([weak], steady(power_w=1300.0), cutoff_v=7.0)
    assert float(found.end_s[0]) == pytest.approx(
        truth.runtime_s, rel=2e-3
    )  # the end is a cliff, a step wide


def test_without_any_load_the_battery_never_ends():
    found = run([PACK], [LoadPiece(3600.0)])
    assert math.isinf(float(found.end_s[0]))
    assert str(found.end_kind[0]) == "none"
    assert float(found.mark_charge_c[0]) == 0.0


def test_a_load_that_would_last_beyond_ten_thousand_hours_is_not_given_a_runtime():
    found = run([PACK], [LoadPiece(3600.0, current_a=0.005)])  # 100 Ah at 5 mA: 20,000 h
    assert math.isinf(float(found.end_s[0]))


def test_a_load_that_lasts_nine_thousand_hours_is():
    found = run([PACK], [LoadPiece(3600.0, current_a=100.0 / 9000.0)])
    assert float(found.end_s[0]) / 3600.0 == pytest.approx(9000.0, rel=1e-3)


def test_an_empty_battery_ends_at_the_start():
    found = run([PACK], steady(current_a=5.0), start_soc=0.0)
    assert float(found.end_s[0]) == 0.0


def test_full_stays_full_in_the_cold_and_warming_gives_the_charge_back():
    """g shrinks what can be taken, not what is there: cold and warmed again delivers what always-warm does."""
    heavy = dataclasses.replace(LIVELY, heat_capacity_j_per_k=1e3, conductance_w_per_k=5.0)
    cold = run([heavy], [LoadPiece(3600.0, current_a=5.0)], repeat=False, cell_k=263.15, ambient_k=263.15)
    assert float(cold.mark_soc[0]) == pytest.approx(0.95, abs=1e-9)
    isothermal = dataclasses.replace(LIVELY, heat_capacity_j_per_k=math.inf)
    kept_cold = run([isothermal], steady(current_a=5.0), cell_k=263.15, ambient_k=263.15)
    # the cells follow the air within minutes: a start at -10 degC in warm air
    warmed = run([heavy], steady(current_a=5.0), cell_k=263.15, ambient_k=298.15)
    warm = run([heavy], steady(current_a=5.0))
    assert float(warmed.end_charge_c[0]) == pytest.approx(float(warm.end_charge_c[0]), rel=1e-3)
    assert float(kept_cold.end_charge_c[0]) < 0.84 * float(warm.end_charge_c[0])


@pytest.mark.parametrize("cell_c", [20.0, 35.0])
def test_a_cut_off_that_a_cooling_battery_meets_at_rest_is_found_at_its_moment(cell_c):
    """A rest is one long step; in it the cells cool along an exponential, not a straight line."""
    cold = dataclasses.replace(LIVELY, g_values=(0.6, 1.0), conductance_w_per_k=4.0, cutoff_v=13.0)
    start = {"cell_k": cell_c + 273.15, "ambient_k": 248.15}
    found = run([cold], [LoadPiece(3600.0)], cutoff_v=13.0, start_soc=0.45, **start)
    exact = lsoda_run(
        cold, [LoadPiece(3600.0)], soc0=0.45, initial_k=start["cell_k"], ambient_k=start["ambient_k"]
    )
    assert exact.ended_by == str(found.end_kind[0]) == "cutoff"
    assert 300.0 < exact.runtime_s < 3300.0
    assert float(found.end_s[0]) == pytest.approx(exact.runtime_s, rel=1e-3)


def test_a_sag_that_warming_cells_come_back_from_ends_the_run_where_it_is():
    """Cells at -45 degC in air at 20 degC: the sag of the first minute is gone at the end of a long step."""
    frozen = dataclasses.replace(LIVELY, conductance_w_per_k=5.0)
    start = {"cell_k": 228.15, "ambient_k": 293.15}
    usual, fine = (
        run(
            [frozen],
            [LoadPiece(7200.0, current_a=4.0)],
            cutoff_v=12.735,
            start_soc=0.8,
            longest_step_s=longest,
            **start,
        )
        for longest in (longest_step_s(**start), 2.0)
    )
    assert float(fine.end_s[0]) < 600.0
    assert float(usual.end_s[0]) == pytest.approx(float(fine.end_s[0]), abs=5.0)


def test_a_trip_of_a_long_log_takes_a_resistive_load_at_the_high_voltage_and_a_power_at_the_low_one():
    # By hand: 8 S at 13.5 V draw 108 A and at 10 V only 80 A; 1 kW draws 100 A at 10 V and 74 A at 13.5 V
    none, off, nan = np.zeros((1, 2)), np.zeros((1, 2), dtype=bool), np.array([np.nan])
    edges_s = np.array([0.0, 60.0, 120.0])
    for power_w, siemens, level_a in ((0.0, 8.0, 107.0), (1000.0, 0.0, 99.0)):
        line = Timeline(edges_s, none, none, none + power_w, none + siemens, off, nan, nan, nan, np.zeros(1), ("one",),
                        ("measured",))  # fmt: skip
        assert first_trip_s(line, np.ones((1, 1)), ((level_a, 30.0),), (10.0, 13.5), 1) == pytest.approx([30.0])
        assert first_trip_s(line, np.ones((1, 1)), ((level_a + 2.0, 30.0),), (10.0, 13.5), 1) == [np.inf]
