"""Leaping over whole outings changes what it costs, not what it says."""

from __future__ import annotations

import dataclasses
import math

import pytest

from planner.simulate import packing
from tests.oracles.pieces import LoadPiece, pulsed
from tests.simulate.invented_packs import LIVELY, PACK, run

RUNTIME = 1e-3  # what is promised of any runtime
ENERGY = 1e-4
CASES = {
    "light current": (PACK, [LoadPiece(1800.0, current_a=2.0), LoadPiece(1800.0)], {}),
    "light power": (PACK, [LoadPiece(3600.0, power_w=15.0), LoadPiece(7200.0, power_w=3.0)], {}),
    "power behind wiring": (PACK, [LoadPiece(600.0, power_w=300.0), LoadPiece(600.0, power_w=20.0)], {"wiring_ohm": 5e-3}),
    "resistance": (PACK, [LoadPiece(3600.0, conductance_s=0.3), LoadPiece(3600.0)], {}),
    "hard pulses, few outings": (PACK, list(pulsed(100.0, 5.0)), {}),
    "days with a surge": (LIVELY, [LoadPiece(7200.0, current_a=1.0), LoadPiece(0.4, current_a=150.0),
                                   LoadPiece(7200.0, power_w=9.0)], {}),
    "cool and warming itself": (LIVELY, [LoadPiece(1800.0, current_a=2.0), LoadPiece(5400.0, power_w=20.0)],
                                {"cell_k": 283.15, "ambient_k": 283.15}),
    "cold, a quarter out of reach": (LIVELY, [LoadPiece(1800.0, current_a=0.2), LoadPiece(5400.0)],
                                     {"cell_k": 253.15, "ambient_k": 253.15}),
}  # fmt: skip


def walk_every_outing(monkeypatch):
    """No voltage may be leapt over."""
    monkeypatch.setattr(packing, "most_leap_v", lambda *_: -1.0)


@pytest.mark.parametrize("name", CASES)
def test_runtime_charge_and_energy_are_those_of_walking_every_outing(name, monkeypatch):
    pack, loads, changes = CASES[name]
    leapt = run([pack], loads, **changes)
    walk_every_outing(monkeypatch)
    walked = run([pack], loads, **changes)
    time, charge, energy = (
        float(getattr(leapt, key)[0] / getattr(walked, key)[0] - 1.0)
        for key in ("end_s", "end_charge_c", "end_energy_j")
    )
    print(
        f"{name}: runtime {time:+.1e}, charge {charge:+.1e}, energy {energy:+.1e}; {leapt.steps} of {walked.steps} steps"
    )
    assert str(leapt.end_kind[0]) == str(walked.end_kind[0]) == "cutoff"
    assert abs(time) < RUNTIME
    assert abs(charge) < RUNTIME
    assert abs(energy) < ENERGY


def test_a_month_of_a_light_load_is_leapt_and_not_walked(monkeypatch):
    loads = [LoadPiece(1800.0, current_a=0.2), LoadPiece(1800.0)]
    leapt = run([PACK], loads)
    walk_every_outing(monkeypatch)
    walked = run([PACK], loads)
    assert float(leapt.end_s[0]) == pytest.approx(float(walked.end_s[0]), rel=RUNTIME)
    assert leapt.steps < walked.steps / 4


def test_a_trip_in_the_first_outing_is_not_moved_by_leaps_after_it():
    loads = [LoadPiece(3600.0, current_a=0.5), LoadPiece(5.0, current_a=150.0), LoadPiece(3600.0)]
    found = run([PACK], loads, trips=((150.0, 5.0),))
    assert float(found.trip_s[0]) == pytest.approx(3605.0, abs=1e-6)


def test_a_power_load_near_a_trip_is_walked_so_that_the_trip_is_met():
    """As the voltage falls the same power draws more: the trip comes near the end, not in the first outing."""
    loads = [LoadPiece(600.0, power_w=600.0), LoadPiece(600.0)]
    found = run([PACK], loads, trips=((50.0, 100.0),))
    assert float(found.trip_s[0]) > 3600.0
    assert math.isfinite(float(found.trip_s[0]))


def test_a_dip_that_only_a_nearly_empty_battery_makes_ends_the_run_there(monkeypatch):
    loads = [LoadPiece(3600.0, current_a=1.0), LoadPiece(10.0, current_a=200.0)]
    leapt = run([PACK], loads, cutoff_v=11.5)
    walk_every_outing(monkeypatch)
    walked = run([PACK], loads, cutoff_v=11.5)
    assert float(leapt.end_s[0]) == pytest.approx(float(walked.end_s[0]), rel=RUNTIME)


def ends_walked_and_leapt(monkeypatch, pack, loads, **changes):
    """End and its kind, leaping and walking every outing."""
    leapt = run([pack], loads, **changes)
    walk_every_outing(monkeypatch)
    walked = run([pack], loads, **changes)
    return [(float(found.end_s[0]), str(found.end_kind[0])) for found in (leapt, walked)]


def test_a_pulse_that_empties_the_surface_is_not_leapt_over_where_no_voltage_tells_of_it(monkeypatch):
    """The cut-off lies below the curve: only the place on the curve says how near the end is."""
    slow = dataclasses.replace(PACK, tau_d_s=3600.0)
    loads = [LoadPiece(115.0, current_a=123.0), LoadPiece(10_600.0)]
    leapt, walked = ends_walked_and_leapt(monkeypatch, slow, loads, cutoff_v=0.5)
    assert leapt[1] == walked[1] == "empty"
    assert leapt[0] == pytest.approx(walked[0], rel=RUNTIME)


def test_nothing_is_leapt_over_while_the_gap_still_grows_from_outing_to_outing(monkeypatch):
    slow = dataclasses.replace(PACK, tau_d_s=3600.0)
    loads = [LoadPiece(40.0, current_a=150.0), LoadPiece(15.0)]
    leapt, walked = ends_walked_and_leapt(monkeypatch, slow, loads, cutoff_v=0.5)
    assert leapt[1] == walked[1] == "empty"
    assert leapt[0] == pytest.approx(walked[0], rel=RUNTIME)


def test_the_units_own_opening_above_the_cut_off_is_not_leapt_over(monkeypatch):
    loads = [LoadPiece(3600.0, current_a=1.0), LoadPiece(10.0, current_a=200.0)]
    leapt, walked = ends_walked_and_leapt(monkeypatch, PACK, loads, cutoff_v=9.0, undervoltage_v=12.2)
    assert leapt[1] == walked[1] == "undervoltage"
    assert leapt[0] == pytest.approx(walked[0], rel=RUNTIME)


def test_a_pulse_at_the_beginning_is_met_where_the_curve_falls_within_the_outing_and_is_flat_after_it(monkeypatch):
    """What was above the cut-off at the first beginning is below it at the second."""
    volts = (10.0, 10.3, 10.32, 10.41, 10.51, 10.53, 10.535, 11.17, 11.6, 11.63)
    kinked = dataclasses.replace(PACK, ocv_v=volts, tau_d_s=4.0)
    loads = [LoadPiece(5.0, current_a=15.0), LoadPiece(3600.0, power_w=40.0), LoadPiece(60.0)]
    leapt, walked = ends_walked_and_leapt(monkeypatch, kinked, loads, cutoff_v=10.5, start_soc=0.746)
    assert 2.0 * 3665.0 <= walked[0] < 2.0 * 3665.0 + 5.0  # in the pulse of the third outing
    assert leapt == (pytest.approx(walked[0], rel=RUNTIME), walked[1])
