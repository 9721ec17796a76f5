"""The batched engine against the same equations solved one by one, and against an open library's circuit.

LSODA: A. C. Hindmarsh, ODEPACK (1983); L. R. Petzold, SIAM J. Sci. Stat. Comput. 4 (1983) 136. Library: PyBaMM's
Thevenin circuit with diffusion element (Fan et al., Applied Energy 321 (2022) 119336) on 200 volumes.
"""

from __future__ import annotations

import dataclasses

import pytest

from tests.oracles.circuit_truth import CircuitParameters, forever, library_run, lsoda_run
from tests.oracles.pieces import MIXED_TROLLING, LoadPiece, pulsed, steady
from tests.simulate.invented_packs import LIVELY, PACK, run

RUNTIME_TOLERANCE = 1e-3  # a tenth of a per cent: a minute in sixteen hours, below every printed digit
ENERGY_TOLERANCE = 1e-3
WIRED_OHM = 6e-3
STIFF_LEADS = dataclasses.replace(LIVELY, r_lead_ohm=3e-3, r_cell_ohm=6e-3)
NOT_WARMING = dataclasses.replace(LIVELY, heat_capacity_j_per_k=float("inf"))

MINUTES = tuple(LoadPiece(60.0, current_a=a) for a in (12.0, 45.0, 3.0, 28.0, 90.0, 0.0, 16.0))
# name -> pack, loads repeated to the end, cell and air temperature [K], wiring [ohm]
CASES: dict[str, tuple[CircuitParameters, tuple[LoadPiece, ...], float, float, float]] = {
    "constant current": (PACK, steady(current_a=60.0), 298.15, 298.15, 0.0),
    "hard constant current": (LIVELY, steady(current_a=150.0), 298.15, 298.15, 0.0),
    "constant power": (PACK, steady(power_w=700.0), 298.15, 298.15, 0.0),
    "constant power behind wiring": (LIVELY, steady(power_w=900.0), 298.15, 298.15, WIRED_OHM),
    "resistance": (PACK, (LoadPiece(3600.0, conductance_s=5.0),), 298.15, 298.15, 0.0),
    "pulsed": (PACK, pulsed(100.0, 5.0), 298.15, 298.15, 0.0),
    "pulsed in minutes": (LIVELY, MINUTES, 298.15, 298.15, 0.0),
    "current and power together": (LIVELY, MIXED_TROLLING, 291.15, 288.15, 0.0),
    "cold start, warming itself": (LIVELY, steady(current_a=50.0), 268.15, 268.15, 0.0),
    "cold start, hard": (STIFF_LEADS, steady(current_a=45.0), 263.15, 263.15, 0.0),
    "cold cells in warm air": (LIVELY, steady(power_w=250.0), 265.15, 293.15, 0.0),
    "cold and held cold": (NOT_WARMING, steady(current_a=30.0), 263.15, 263.15, 0.0),
    "light load for two days": (LIVELY, (LoadPiece(1800.0, current_a=2.0), LoadPiece(5400.0, power_w=20.0)),
                                283.15, 283.15, 0.0),
}  # fmt: skip


def wired(loads: tuple[LoadPiece, ...], ohm: float) -> list[LoadPiece]:
    return [dataclasses.replace(load, wiring_ohm=ohm) for load in loads]


@pytest.mark.parametrize("case", CASES)
def test_runtime_is_that_of_the_one_by_one_solution_within_a_tenth_of_a_per_cent(case: str) -> None:
    pack, loads, cell_k, air_k, ohm = CASES[case]
    truth = lsoda_run(pack, forever(wired(loads, ohm)), initial_k=cell_k, ambient_k=air_k)
    found = run([pack], loads, cell_k=cell_k, ambient_k=air_k, wiring_ohm=ohm)
    error = float(found.end_s[0]) / truth.runtime_s - 1.0
    spent = float(found.end_energy_j[0]) / truth.energy_j - 1.0
    print(f"{case}: {truth.runtime_s / 3600:.4f} h, {truth.ended_by}; runtime {error:+.1e}, energy {spent:+.1e}, "
          f"final {truth.final_k - 273.15:.2f} degC, {found.steps} steps")
    assert str(found.end_kind[0]) == truth.ended_by
    assert abs(error) < RUNTIME_TOLERANCE
    assert abs(spent) < ENERGY_TOLERANCE


@pytest.mark.parametrize("case", ["constant current", "constant power", "pulsed"])
def test_runtime_is_that_of_the_library_circuit_with_its_diffusion_element(case: str) -> None:
    pytest.importorskip("pybamm")
    pack, loads, _, _, _ = CASES[case]
    fixed = dataclasses.replace(pack, r_lead_ohm=pack.lead_ohm(298.15), lead_alpha_per_k=0.0)
    truth = library_run(fixed, list(loads) * 60)
    found = run([pack], loads)
    error = float(found.end_s[0]) / truth.runtime_s - 1.0
    print(f"{case}: library {truth.runtime_s:.2f} s, engine {error:+.1e}")
    assert truth.ended_by == str(found.end_kind[0]) == "cutoff"
    assert abs(error) < RUNTIME_TOLERANCE


def test_packs_side_by_side_end_as_each_does_alone_in_the_one_by_one_solution() -> None:
    packs = [dataclasses.replace(LIVELY, q_c=LIVELY.q_c * f, r_cell_ohm=LIVELY.r_cell_ohm * r, tau_d_s=t)
             for f, r, t in ((0.8, 2.0, 200.0), (1.0, 1.0, 700.0), (1.2, 0.5, 1700.0))]  # fmt: skip
    found = run(packs, MIXED_TROLLING)
    for column, pack in enumerate(packs):
        truth = lsoda_run(pack, forever(MIXED_TROLLING))
        assert float(found.end_s[column]) == pytest.approx(truth.runtime_s, rel=RUNTIME_TOLERANCE)


@pytest.mark.parametrize("soc", [0.0205, 0.021, 0.022])
def test_a_pack_that_recovers_from_a_burst_is_empty_when_it_is(soc):
    """After the burst the gap relaxes, so the reading rises before it falls, all inside one step."""
    pack = CircuitParameters(ocv_z=(0.0, 1.0), ocv_v=(12.0, 13.0), q_c=3.6e5, r_cell_ohm=1e-4, r1_ohm=1e-4,
                             tau1_s=1.0, tau_d_s=60.0, cutoff_v=0.5)  # fmt: skip
    loads = (LoadPiece(60.0, current_a=90.0), LoadPiece(3600.0, current_a=10.0))
    found = run([pack], loads, start_soc=soc, cutoff_v=0.5)
    truth = lsoda_run(pack, forever(loads), soc0=soc)
    assert (found.end_kind[0], truth.ended_by) == ("empty", "empty")
    assert float(found.end_s[0]) == pytest.approx(truth.runtime_s, rel=1e-6)
