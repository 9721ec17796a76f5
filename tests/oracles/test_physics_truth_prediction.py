"""From two discharges and one step of an electrochemical truth, everything else is predicted.

The truth is the Doyle-Fuller-Newman model of the library PyBaMM with its parameter set Prada2013 (M. Doyle et
al., J. Electrochem. Soc. 140 (1993) 1526; E. Prada et al., J. Electrochem. Soc. 160 (2013) A616), kept in
data/ and checked live beside this. The planner sees what a bench would have read: the discharges at a fifth of
an hour's rate and at an hour's rate, and a step from 20 A to 100 A read after 10 s. The truth is isothermal,
so the unit's mass is given as that of a body that does not warm.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from planner.battery.circuit import Circuit
from planner.battery.fit import fit_record
from planner.outing.timeline import Timeline
from planner.record.schema import CapacityTest, Instrument, Record, StepTest, TestConditions
from planner.simulate.engine import simulate
from planner.simulate.setup import Run, Setup
from tests.oracles.physics_truth import CUTOFF_V, PROFILES, load_cached

BENCH = Instrument("load", current_gain=0.001, voltage_gain=0.0005, time_s=1.0)
ISOTHERMAL_MASS_KG = 1e5  # so heavy that its own heat does not warm it: the truth does not warm either
STEADY_A = (10, 20, 35, 50, 75, 100)
BEYOND_A = 150  # above every test: reported, not promised
POWERS_W = (300, 640, 1000)
PULSED = ("pulsed_60A_10A", "pulsed_100A_0A", "mixed_trolling")
STEADY_TOLERANCE, POWER_TOLERANCE, PULSED_TOLERANCE = 0.02, 0.03, 0.05  # what a buyer is promised


def full_discharge(name: str, place: str, every_v: float = 2e-3) -> CapacityTest:
    """What a bench writes of one kept discharge: totals and a curve of about a hundred points."""
    kept = load_cached(name)
    time_s, volts, amps = (np.array(kept[key]) for key in ("time_s", "voltage_v", "current_a"))
    charge = np.concatenate([[0.0], np.cumsum(np.diff(time_s) * 0.5 * (amps[1:] + amps[:-1]))])
    keep = [0]
    for k in range(1, len(volts)):
        if abs(volts[k] - volts[keep[-1]]) >= every_v or k == len(volts) - 1:
            keep.append(k)
    curve = tuple((float(charge[k]), float(volts[k])) for k in keep)
    at = TestConditions(place, BENCH, 298.15, True)
    return CapacityTest(at, float(amps[0]), None, kept["end_time_s"], kept["end_charge_c"], kept["end_energy_j"],
                        CUTOFF_V, "cutoff", curve)  # fmt: skip


def step_reading(after_s: float = 10.0) -> StepTest:
    """The step from 20 A to 100 A at half charge, read after_s seconds later."""
    kept = load_cached("step_20A_100A")
    time_s, volts = np.array(kept["time_s"]), np.array(kept["voltage_v"])
    at_s = kept["loads"][0]["length_s"]
    first = int(np.flatnonzero(np.diff(time_s) < 1e-3)[0])  # the two rows of the edge
    later = float(np.interp(at_s + after_s, time_s[first + 1 :], volts[first + 1 :]))
    at = TestConditions("step_test.1", BENCH, 298.15, True, state_of_charge=0.5)
    return StepTest(at, 20.0, 100.0, float(volts[first]), later, after_s)


def bench_record() -> Record:
    return Record(
        name="Electrochemical truth on the bench (invented)", mass_kg=ISOTHERMAL_MASS_KG,
        capacity_tests=(full_discharge("steady_20A", "capacity_test.1"), full_discharge("steady_100A", "capacity_test.2")),
        step_tests=(step_reading(),),
    )  # fmt: skip


def timeline_of(name: str) -> Timeline:
    """The kept profile's loads as the engine takes them."""
    loads = PROFILES[name]
    edges = np.concatenate([[0.0], np.cumsum([load.length_s for load in loads])])
    amps = np.array([[load.current_a for load in loads]])
    none = np.array([np.nan])
    return Timeline(edges, amps, amps.copy(), np.array([[load.power_w for load in loads]]), np.zeros_like(amps),
                    np.zeros(amps.shape, dtype=bool), none, none, none, np.zeros(1), ("truth",), ("measured",))  # fmt: skip


def run_of(circuit: Circuit, name: str) -> Run:
    setup = Setup(np.ones((1, 1)), 298.15, 298.15, CUTOFF_V, cutoff_delay_s=0.0, keep_trace=False)
    return simulate(circuit, timeline_of(name), setup)


@pytest.fixture(scope="module")
def fitted() -> Circuit:
    found = fit_record(bench_record())
    return found.circuit(found.centre[np.newaxis])


@pytest.fixture(scope="module")
def without_gap(fitted: Circuit) -> Circuit:
    """The plain circuit: no diffusion, its resistances and charge those of a fit that may not use one."""
    found = fit_record(bench_record())
    gapless = found.centre.copy()
    gapless[found.plan.names.index("diffusion_tau_s")] = np.log(1e-3)
    return found.circuit(gapless[np.newaxis])


def error_of(circuit: Circuit, name: str) -> float:
    """Runtime of the circuit over that of the truth, less one."""
    return float(run_of(circuit, name).end_s[0]) / load_cached(name)["end_time_s"] - 1.0


def test_table_of_predictions_with_and_without_the_gap(fitted: Circuit, without_gap: Circuit) -> None:
    print(f"\nQ {fitted.charge_c.item() / 3600:.2f} Ah, tau_D {fitted.diffusion_tau_s.item():.0f} s, "
          f"R0 {1e3 * (fitted.metal_ohm + fitted.cell_ohm).item():.2f} mohm, pair {1e3 * fitted.pair_ohm.sum():.2f} mohm")
    print("profile            truth h   model   no gap")
    plain = []
    for name in PROFILES:
        if name == "step_20A_100A":
            continue
        truth_h = load_cached(name)["end_time_s"] / 3600.0
        with_gap, none = error_of(fitted, name), error_of(without_gap, name)
        plain.append(abs(none))
        print(f"{name:17s} {truth_h:8.3f} {with_gap:+8.2%} {none:+8.2%}")
    # the discharge at an hour's rate is fitted with the gap; the plain circuit misses it by far more than 2 %
    assert max(plain) > STEADY_TOLERANCE


@pytest.mark.parametrize("current_a", STEADY_A)
def test_steady_currents_within_two_per_cent(fitted: Circuit, current_a: int) -> None:
    assert abs(error_of(fitted, f"steady_{current_a}A")) < STEADY_TOLERANCE


def test_a_current_beyond_every_test_is_reported_and_stays_within_reason(fitted: Circuit) -> None:
    error = error_of(fitted, f"steady_{BEYOND_A}A")
    print(f"{BEYOND_A} A, half as much again as the hardest test: {error:+.2%}")
    assert abs(error) < 0.10  # extrapolated: the verdict calls it handbook, this only keeps it sane


@pytest.mark.parametrize("power_w", POWERS_W)
def test_constant_power_within_three_per_cent(fitted: Circuit, power_w: int) -> None:
    assert abs(error_of(fitted, f"power_{power_w}W")) < POWER_TOLERANCE


@pytest.mark.parametrize("name", PULSED)
def test_pulsed_duty_within_five_per_cent_or_one_pulse(fitted: Circuit, name: str) -> None:
    error = error_of(fitted, name)
    cycle_s = sum(load.length_s for load in PROFILES[name])
    one_pulse = cycle_s / load_cached(name)["end_time_s"] if name != "mixed_trolling" else 0.0
    print(f"{name}: {error:+.2%}, one pulse is {one_pulse:.2%}")
    assert abs(error) < max(PULSED_TOLERANCE, one_pulse)


def test_figures_alone_without_curves_still_predict_steady_currents_within_two_per_cent() -> None:
    """The same bench without its curves: the curve is then the prior's, handbook class."""
    whole = bench_record()
    bare = dataclasses.replace(whole, capacity_tests=tuple(dataclasses.replace(t, curve=()) for t in whole.capacity_tests))
    found = fit_record(bare)
    circuit = found.circuit(found.centre[np.newaxis])
    errors = {a: error_of(circuit, f"steady_{a}A") for a in STEADY_A}
    print({a: f"{e:+.2%}" for a, e in errors.items()})
    assert max(abs(e) for e in errors.values()) < STEADY_TOLERANCE
