"""The kept physics truth is what the library gives today, and it behaves as a pack must."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.oracles import physics_truth as truth
from tests.oracles.pieces import LoadPiece

pytest.importorskip("pybamm")


@pytest.mark.parametrize("name", truth.PROFILES)
def test_kept_profile_is_what_the_library_gives_live(name: str) -> None:
    kept, live = truth.load_cached(name), truth.solve_profile(name)
    assert kept["parameter_set"] == "Prada2013"
    assert kept["library"].startswith("pybamm ")
    assert live.ended_by == kept["ended_by"]
    # 0.01 %: ten times the solver's tolerance of 1e-6, five times under the mesh's own error
    assert live.charge_c[-1] == pytest.approx(kept["end_charge_c"], rel=1e-4)
    assert live.energy_j == pytest.approx(kept["end_energy_j"], rel=1e-4)
    time_s, volts = np.array(kept["time_s"]), np.array(kept["voltage_v"])
    # Away from edges, where one time has two voltages, and from the last steep per cent.
    middle = (np.array([np.abs(np.delete(time_s, i) - t).min() for i, t in enumerate(time_s)]) > 0.01)
    middle &= time_s < 0.99 * time_s[-1]
    assert middle.sum() > 30
    again = np.interp(time_s[middle], live.time_s, live.voltage_v)
    assert np.abs(again - volts[middle]).max() < 2e-3  # four times the thinning, a bench meter's last digit


@pytest.mark.parametrize("name", truth.PROFILES)
def test_kept_profile_keeps_charge_and_every_load_edge(name: str) -> None:
    kept = truth.load_cached(name)
    time_s, amps = np.array(kept["time_s"]), np.array(kept["current_a"])
    assert (np.diff(time_s) >= 0.0).all()
    # thinned rows bend with the voltage; a constant power's current bends with it: 0.05 % is ample
    assert np.trapezoid(amps, time_s) == pytest.approx(kept["end_charge_c"], rel=5e-4)
    jumps = np.diff(time_s) < 1e-3
    pieces = kept["loads"] * (1000 if kept["repeated"] else 1)
    edges = np.cumsum([piece["length_s"] for piece in pieces])
    if len(kept["loads"]) > 1:
        assert jumps.sum() == (edges < time_s[-1] - 1e-3).sum()


def test_kept_files_are_small() -> None:
    assert sum(path.stat().st_size for path in truth.DATA.glob("*.json")) < 300_000


@pytest.mark.parametrize("current_a", [20.0, 100.0, 150.0])
def test_a_finer_mesh_changes_the_charge_by_less_than_two_parts_in_ten_thousand(current_a: float) -> None:
    coarse, fine = truth.discharge(current_a), truth.discharge(current_a, fine=True)
    print(f"{current_a:.0f} A: {coarse.charge_c[-1] / 3600:.4f} Ah, fine {fine.charge_c[-1] / 3600:.4f} Ah")
    assert coarse.charge_c[-1] == pytest.approx(fine.charge_c[-1], rel=2e-4)
    assert coarse.energy_j == pytest.approx(fine.energy_j, rel=2e-4)


def test_charge_falls_as_the_current_rises() -> None:
    charges = [truth.load_cached(f"steady_{a}A")["end_charge_c"] for a in (10, 20, 35, 50, 75, 100, 150)]
    assert charges == sorted(charges, reverse=True)
    assert charges[1] == pytest.approx(100.0 * 3600.0, rel=0.01)  # the pack is scaled to about 100 Ah


def test_leads_drop_the_voltage_by_ohms_law_alone() -> None:
    loads = [LoadPiece(600.0, current_a=50.0)]
    bare = truth.run(loads, pack=truth.RealPack(lead_ohm=0.0))
    wired = truth.run(loads, pack=truth.RealPack(lead_ohm=3e-3))
    drop = np.interp(300.0, bare.time_s, bare.voltage_v) - np.interp(300.0, wired.time_s, wired.voltage_v)
    assert drop == pytest.approx(50.0 * 3e-3, abs=1e-4)  # straight lines between the solver's steps


def test_power_behind_wiring_balances_at_the_load() -> None:
    found = truth.run([LoadPiece(600.0, power_w=500.0, wiring_ohm=5e-3)])
    at_load = found.voltage_v - 5e-3 * found.current_a
    assert at_load * found.current_a == pytest.approx(500.0, rel=1e-5)  # solver's tolerance 1e-6


def test_starting_half_empty_is_the_rested_state_after_half_was_taken_out() -> None:
    slow = truth.run([LoadPiece(9000.0, current_a=20.0), LoadPiece(40 * 3600.0)])
    rested = truth.run([LoadPiece(60.0)], soc0=0.5)
    # 40 h is seventeen times the slowest diffusion time, R^2/D = 8,333 s
    assert rested.voltage_v[0] == pytest.approx(slow.voltage_v[-1], abs=1e-3)


def test_step_readings_sag_with_time_from_the_reading_before() -> None:
    _, volts = truth.step_test()
    print({key: round(value, 5) for key, value in volts.items()})
    assert list(volts) == [0.0, 0.1, 1.0, 10.0, 60.0]
    assert list(volts.values()) == sorted(volts.values(), reverse=True)
    assert volts[0.0] - volts[0.1] > 80.0 * truth.NOMINAL.lead_ohm  # at least the leads


@pytest.mark.parametrize("change", [
    {"negative_thickness": 0.95}, {"negative_radius": 1.1}, {"lead_ohm": 3e-3}])
def test_thinner_coat_larger_grains_or_worse_contact_end_sooner(change: dict[str, float]) -> None:
    other = truth.discharge(100.0, pack=truth.RealPack(**change))
    assert other.charge_c[-1] < 0.999 * truth.discharge(100.0).charge_c[-1]
    assert math.isclose(float(other.voltage_v[-1]), truth.CUTOFF_V, abs_tol=1e-4)
