"""The circuit and its diffusion element against two open circuit libraries and the closed forms.

Published case: a cell of 100 Ah whose open-circuit voltage is 3.2 V + 0.2 V x charge, R0 = 2 mohm,
R1 = 1 mohm with a time constant of 30 s, at 80 % charge, discharged at 50 A from rest.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from tests.oracles.circuit_truth import (
    CircuitParameters,
    PiecewiseLine,
    diffusion_run,
    forever,
    gap_states,
    library_run,
    lsoda_run,
    runtime_s,
)
from tests.oracles.pieces import LoadPiece, pulsed

Q_C, R0_OHM, R1_OHM, TAU1_S, SOC0, CURRENT_A = 3.6e5, 2e-3, 1e-3, 30.0, 0.8, 50.0
STEP_CELL = CircuitParameters(ocv_z=(0.0, 1.0), ocv_v=(3.2, 3.4), q_c=Q_C, r_cell_ohm=R0_OHM, r1_ohm=R1_OHM,
                              tau1_s=TAU1_S, cutoff_v=2.0)
# Closed form at 0, 10, ... 60 s, worked by hand calculation: 3.2 + 0.2 z - I (R0 + R1 (1 - exp(-t/30 s)))
STEP_V = (3.260000000, 3.245548788, 3.235115300, 3.227560639, 3.222068746, 3.218054891, 3.215100097)
STEP_TOLERANCE_V = 10e-6  # the solvers' own tolerance of 1e-9 leaves under 3 uV; a meter reads 1 mV

# Mean minus surface charge of the diffusion element, time constant 100 s, same cell and current,
# summed from the exact series (hand calculation) at 10, 50, 100 and 300 s.
GAP_TAU_S, GAP_TIMES_S = 100.0, (10.0, 50.0, 100.0, 300.0)
GAP_SERIES = (0.00356703, 0.00460939, 0.00462948, 0.00462963)
GAP_LIBRARY_20 = (0.00354386, 0.00459744, 0.00461791, 0.00461806)  # the library's default grid, 0.25 % low
GAP_LIBRARY_200 = (0.00356680, 0.00460927, 0.00462937, 0.00462951)

# A pack with a curve like LFP's (invented), for runtimes.
PACK = CircuitParameters(
    ocv_z=(0.0, 0.03, 0.08, 0.15, 0.3, 0.5, 0.7, 0.9, 0.97, 1.0),
    ocv_v=(10.4, 11.8, 12.5, 12.85, 13.05, 13.15, 13.22, 13.3, 13.4, 13.9),
    q_c=Q_C, r_lead_ohm=1e-3, r_cell_ohm=6e-3, r1_ohm=4e-3, tau1_s=25.0, tau_d_s=900.0)
RUNTIME_CASES = {
    "constant current": [LoadPiece(4e4, current_a=60.0)],
    "constant power": [LoadPiece(4e4, power_w=700.0)],
    "constant power behind wiring": [LoadPiece(4e4, power_w=700.0, wiring_ohm=5e-3)],
    "resistance": [LoadPiece(4e4, conductance_s=5.0)],
    "pulsed": list(pulsed(100.0, 5.0)) * 60,
}


def closed_form_v(t_s: float) -> float:
    z = SOC0 - CURRENT_A * t_s / Q_C
    return 3.2 + 0.2 * z - CURRENT_A * (R0_OHM + R1_OHM * (1.0 - math.exp(-t_s / TAU1_S)))


def series_gap(t_s: float, tau_s: float) -> float:
    """Unit gap (per q = I tau/Q) of the exact series; 4000 terms leave under 1e-7 at t = 0."""
    k = np.arange(1, 4001)
    return float(1.0 / 3.0 - 2.0 / math.pi**2 * np.sum(np.exp(-((k * math.pi) ** 2) * t_s / tau_s) / k**2))


def two_state_gap(t_s: float, tau_s: float, states: tuple[float, float, float, float]) -> float:
    k1, tau1, k2, tau2 = states
    return (k1 * -math.expm1(-t_s / tau1) + k2 * -math.expm1(-t_s / tau2)) / tau_s


@pytest.mark.parametrize(("step", "published_v"), list(enumerate(STEP_V)))
def test_closed_form_of_the_step_gives_the_worked_voltages(step: int, published_v: float) -> None:
    assert closed_form_v(10.0 * step) == pytest.approx(published_v, abs=1e-9)  # printed to nine digits


def test_library_circuit_follows_the_step_within_ten_microvolts() -> None:
    pytest.importorskip("pybamm")
    found = library_run(STEP_CELL, [LoadPiece(10.0, current_a=CURRENT_A)] * 6, soc0=SOC0, tolerance=1e-9)
    for t_s, volts in zip(found.time_s, found.voltage_v, strict=True):
        assert abs(volts - closed_form_v(float(t_s))) < STEP_TOLERANCE_V
    assert found.time_s[-1] == pytest.approx(60.0, abs=1e-6)  # the library nudges each edge by 1e-9 s


def test_second_circuit_library_follows_the_step_within_ten_microvolts() -> None:
    thevenin = pytest.importorskip("thevenin")
    simulation = thevenin.Simulation({
        "num_RC_pairs": 1, "soc0": SOC0, "capacity": Q_C / 3600.0, "ce": 1.0, "gamma": 0.0, "mass": 1.9,
        "isothermal": True, "Cp": 745.0, "T_inf": 298.15, "h_therm": 12.0, "A_therm": 1.0,
        "ocv": lambda soc: 3.2 + 0.2 * soc, "M_hyst": lambda soc: 0.0 * soc,
        "R0": lambda soc, cell_k: R0_OHM + 0.0 * soc, "R1": lambda soc, cell_k: R1_OHM + 0.0 * soc,
        "C1": lambda soc, cell_k: TAU1_S / R1_OHM + 0.0 * soc})
    experiment = thevenin.Experiment()
    experiment.add_step("current_A", CURRENT_A, (60.0, 10.0))
    found = simulation.run(experiment)
    times, volts = found.vars["time_s"], found.vars["voltage_V"]
    assert len(times) == len(STEP_V)
    for t_s, v in zip(times, volts, strict=True):
        assert abs(v - closed_form_v(float(t_s))) < STEP_TOLERANCE_V


def test_one_by_one_solution_follows_the_step_within_a_microvolt() -> None:
    found = lsoda_run(STEP_CELL, [LoadPiece(60.0, current_a=CURRENT_A)], soc0=SOC0, keep=True)
    worst = max(abs(v - closed_form_v(float(t))) for t, v in zip(found.time_s, found.voltage_v, strict=True))
    assert worst < 1e-6  # rtol 1e-8 of states below 1 V


@pytest.mark.parametrize(("t_s", "published"), list(zip(GAP_TIMES_S, GAP_SERIES, strict=True)))
def test_series_of_the_gap_gives_the_worked_values(t_s: float, published: float) -> None:
    q = CURRENT_A * GAP_TAU_S / Q_C
    assert q * series_gap(t_s, GAP_TAU_S) == pytest.approx(published, abs=6e-9)  # eight printed decimals


@pytest.mark.parametrize(("points", "published"), [(20, GAP_LIBRARY_20), (200, GAP_LIBRARY_200)])
def test_library_diffusion_element_gives_the_known_gap_on_both_grids(
        points: int, published: tuple[float, ...]) -> None:
    pytest.importorskip("pybamm")
    cell = dataclasses.replace(STEP_CELL, tau_d_s=GAP_TAU_S)
    lengths = np.diff((0.0, *GAP_TIMES_S))
    found = library_run(cell, [LoadPiece(float(s), current_a=CURRENT_A) for s in lengths], soc0=SOC0,
                        points=points, tolerance=1e-10)
    extra_v = [v - closed_form_v(float(t)) for t, v in zip(found.time_s, found.voltage_v, strict=True)]
    at = np.interp(GAP_TIMES_S, found.time_s, extra_v)
    assert -at / 0.2 == pytest.approx(published, abs=2e-8)  # slope 0.2 V; the library's tolerance 1e-9


def test_own_diffusion_equation_agrees_with_the_series_to_four_digits() -> None:
    cell = dataclasses.replace(STEP_CELL, tau_d_s=GAP_TAU_S)
    with_gap = diffusion_run(cell, [LoadPiece(300.0, current_a=CURRENT_A)], soc0=SOC0)
    without = lsoda_run(STEP_CELL, [LoadPiece(300.0, current_a=CURRENT_A)], soc0=SOC0)
    # integral of the series over time: q (t/3 - tau/45) once the modes have died (hand calculation)
    gap_s = CURRENT_A * GAP_TAU_S / Q_C * (300.0 / 3.0 - GAP_TAU_S / 45.0)
    lost_j = CURRENT_A * 0.2 * gap_s
    # 201 nodes leave 1/(2 x 200^2) of the gap, 1.3e-5; rtol 1e-8 of 48 kJ is 5e-5 of this loss
    assert without.energy_j - with_gap.energy_j == pytest.approx(lost_j, rel=1e-4)


@pytest.mark.parametrize("tau_s", [100.0, 200.0, 1700.0])
def test_two_states_carry_the_steady_gap_exactly_and_its_first_moment(tau_s: float) -> None:
    k1, tau1, k2, tau2 = gap_states(tau_s)
    assert k1 + k2 == pytest.approx(tau_s / 3.0, rel=1e-14)  # sum of 2/(k pi)^2 is 1/3: rounding only
    assert k1 * tau1 + k2 * tau2 == pytest.approx(tau_s**2 / 45.0, rel=1e-14)  # sum of 2/(k pi)^4 is 1/45
    assert two_state_gap(20.0 * tau_s, tau_s, (k1, tau1, k2, tau2)) == pytest.approx(1.0 / 3.0, rel=1e-14)


def test_transient_error_of_two_states_is_printed_and_bounded_and_far_below_one_state() -> None:
    times = np.geomspace(1e-6, 3.0, 2000)
    exact = np.array([series_gap(float(t), 1.0) for t in times])
    two = np.array([two_state_gap(float(t), 1.0, gap_states(1.0)) for t in times])
    one = -np.expm1(-times * 15.0) / 3.0  # one state of the same steady gap and first moment: tau_D/15
    errors = {name: np.abs(model - exact) * 3.0 for name, model in (("two", two), ("one", one))}
    print({name: (round(float(e.max()), 4), float(times[e.argmax()])) for name, e in errors.items()})
    # of the steady gap: 0.078 at 0.0025 tau, where the exact gap starts as a square root of time
    assert errors["two"].max() < 0.08
    assert errors["two"][times > 0.1].max() < 0.005  # after a tenth of the time constant
    # one state: 0.17, so the second state is worth having
    assert errors["one"].max() > 2.0 * errors["two"].max()


@pytest.mark.parametrize("tau_s", [100.0, 900.0])
def test_planner_gap_constants_are_the_derived_ones(tau_s: float) -> None:
    circuit = pytest.importorskip("planner.battery.circuit")
    assert tuple(circuit.gap_constants(tau_s)) == pytest.approx(gap_states(tau_s), rel=1e-12)  # rounding only


@pytest.mark.parametrize("case", RUNTIME_CASES)
def test_three_solutions_of_one_circuit_agree_on_runtime(case: str) -> None:
    pytest.importorskip("pybamm")
    loads = RUNTIME_CASES[case]
    fine, library, two_states = diffusion_run(PACK, loads), library_run(PACK, loads), lsoda_run(PACK, loads)
    print(f"{case}: equation {fine.runtime_s:.3f} s, library {library.runtime_s:.3f} s, "
          f"two states {two_states.runtime_s:.3f} s")
    assert {fine.ended_by, library.ended_by, two_states.ended_by} == {"cutoff"}
    assert library.runtime_s == pytest.approx(fine.runtime_s, rel=1e-5)  # grids of 200: gap right to 3e-5
    assert two_states.runtime_s == pytest.approx(fine.runtime_s, rel=2e-4)  # two states: 0.02 % of runtime
    assert library.energy_j == pytest.approx(fine.energy_j, rel=2e-5)  # trapezoid over the library's steps


def test_a_pack_without_a_gap_runs_longer_than_one_with_it() -> None:
    pytest.importorskip("pybamm")
    loads = RUNTIME_CASES["constant current"]
    assert runtime_s(dataclasses.replace(PACK, tau_d_s=0.0), loads) > 1.005 * runtime_s(PACK, loads)


def test_one_by_one_heat_closes_the_energy_of_the_curve() -> None:
    """Insulated: delivered + stored as heat = Q x area under the curve, by the curve's exact integral."""
    warm = dataclasses.replace(PACK, heat_capacity_j_per_k=8000.0, activation_j_per_mol=30e3,
                               tau_d_activation_j_per_mol=30e3)
    found = lsoda_run(warm, forever(pulsed(80.0, 5.0)))
    left = 1.0 - found.charge_c / warm.q_c
    curve = PiecewiseLine(warm.ocv_z, warm.ocv_v)
    corners = sorted({left, *(z for z in warm.ocv_z if z > left)})
    area = np.trapezoid([curve(z) for z in corners], corners)
    heat_j = 8000.0 * (found.final_k - 298.15)
    assert heat_j > 1000.0
    assert found.energy_j + heat_j == pytest.approx(warm.q_c * area, rel=1e-7)  # rtol 1e-8 over 60 restarts


def test_one_by_one_run_says_when_a_power_cannot_be_served() -> None:
    weak = dataclasses.replace(PACK, cutoff_v=1.0)
    # largest power of 13.15 V behind 7 mohm is 13.15^2/(4 x 7 mohm) = 6176 W (hand calculation)
    assert lsoda_run(weak, [LoadPiece(1.0, power_w=6200.0)], soc0=0.5).ended_by == "power"
    assert lsoda_run(weak, [LoadPiece(0.01, power_w=6100.0)], soc0=0.5).ended_by == "end"


def test_one_by_one_constant_power_gives_the_worked_current() -> None:
    # E = 13.2 V, R = 20 mohm, P = 500 W: I = (E - sqrt(E^2 - 4 R P))/(2 R) = 40.34503 A, V = 12.39310 V
    flat = CircuitParameters(ocv_z=(0.0, 1.0), ocv_v=(13.2, 13.2 + 1e-9), q_c=Q_C, r_cell_ohm=20e-3)
    found = lsoda_run(flat, [LoadPiece(100.0, power_w=500.0)], keep=True)
    assert found.charge_c / 100.0 == pytest.approx(40.34503, abs=5e-6)  # five printed decimals
    assert found.voltage_v[0] == pytest.approx(12.39310, abs=5e-6)


@pytest.mark.parametrize(("celsius", "factor"), [(-20, 18.7810), (-10, 8.9748), (0, 4.5270), (10, 2.3966),
                                                 (25, 1.0), (40, 0.4537)])
def test_one_by_one_cell_resistance_follows_the_arrhenius_table(celsius: int, factor: float) -> None:
    """40.9 kJ/mol, discharge of LFP: Electrochimica Acta 60 (2012) 269-273; leads do not follow it."""
    pack = CircuitParameters(ocv_z=(0.0, 1.0), ocv_v=(13.2, 13.2 + 1e-9), q_c=Q_C, r_cell_ohm=1e-3,
                             r_lead_ohm=1e-3, activation_j_per_mol=40.9e3)
    found = lsoda_run(pack, [LoadPiece(1.0, current_a=10.0)], initial_k=273.15 + celsius, keep=True)
    assert (13.2 - found.voltage_v[0]) / 10.0 / 1e-3 - 1.0 == pytest.approx(factor, abs=6e-5)  # 4 decimals
