"""Nothing is lost on the way: charge to rounding, energy to the step."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from planner.simulate.setup import STEP_CHARGE
from tests.oracles.pieces import MIXED_TROLLING, LoadPiece, pulsed, steady
from tests.simulate.invented_packs import LIVELY, PACK, circuit_of, joined, run

CHARGE_SHARE = 1e-9  # of Q: sums of a few hundred steps in double precision
ENERGY_SHARE = 1e-4  # of what the curve gave up, at the working step
LOADS = {
    "constant current": steady(current_a=60.0),
    "hard current": steady(current_a=150.0),
    "constant power": steady(power_w=700.0),
    "resistance": (LoadPiece(3600.0, conductance_s=5.0),),
    "pulsed": pulsed(100.0, 5.0, 120.0),
    "mixed": MIXED_TROLLING,
}


@pytest.mark.parametrize("name", LOADS)
@pytest.mark.parametrize("pack", [PACK, LIVELY], ids=["isothermal", "warming"])
def test_charge_out_plus_charge_left_is_charge_at_the_start(name, pack):
    found = run([pack], LOADS[name], repeat=False, start_soc=0.9)
    left = float(found.mark_soc[0]) * pack.q_c
    assert abs(float(found.mark_charge_c[0]) + left - 0.9 * pack.q_c) < CHARGE_SHARE * pack.q_c


@pytest.mark.parametrize("name", LOADS)
@pytest.mark.parametrize("pack", [PACK, LIVELY], ids=["isothermal", "warming"])
def test_delivered_and_lost_energy_is_what_the_curve_gave_up(name, pack):
    """Integrated apart: delivered from terminal voltage, heat from the losses, the curve by its exact integral."""
    found = run([pack], LOADS[name])
    gap = found.stored_change_j - found.end_energy_j - found.end_heat_j
    share = float(np.abs(gap / found.stored_change_j)[0])
    print(f"{name}: {share:.1e}")
    assert share < ENERGY_SHARE
    assert float(found.end_heat_j[0]) > 0.0


def test_energy_left_unexplained_shrinks_with_the_step():
    shares = []
    for step in (4 * STEP_CHARGE, 2 * STEP_CHARGE, STEP_CHARGE, STEP_CHARGE / 2, STEP_CHARGE / 4):
        found = run([LIVELY], LOADS["constant power"], step_charge=step)
        shares.append(abs(float((found.stored_change_j - found.end_energy_j - found.end_heat_j)[0])) / float(found.stored_change_j[0]))
    print([f"{share:.1e}" for share in shares])
    # second order would be 256 over four halvings; corners of the curve spoil a part of it
    assert shares[-1] < shares[0] / 16.0


@pytest.mark.parametrize("name", LOADS)
def test_halving_the_step_moves_runtime_by_less_than_a_tenth_of_a_per_cent(name):
    working = run([LIVELY], LOADS[name], cell_k=283.15, ambient_k=288.15)
    halved = run([LIVELY], LOADS[name], cell_k=283.15, ambient_k=288.15, step_charge=STEP_CHARGE / 2)
    assert float(working.end_s[0]) == pytest.approx(float(halved.end_s[0]), rel=1e-3)  # a minute in 16 h


def test_heat_warms_the_cells_by_what_the_ledger_says():
    insulated = dataclasses.replace(LIVELY, conductance_w_per_k=1e-9)
    found = run([insulated], [LoadPiece(6 * 3600.0, current_a=80.0)])
    warmed_j = insulated.heat_capacity_j_per_k * (float(found.mark_temp_k[0]) - 298.15)
    # the cells are warmed by the loss at the middle of each step, the ledger takes Simpson's rule
    assert warmed_j == pytest.approx(float(found.end_heat_j[0]), rel=2e-3)


def test_what_is_told_of_the_end_is_of_the_end_and_not_of_the_step_that_passed_it():
    found = run([LIVELY], [LoadPiece(6 * 3600.0, current_a=80.0)])
    assert str(found.end_kind[0]) == "cutoff"
    assert float(found.end_soc[0]) == pytest.approx(1.0 - float(found.end_charge_c[0]) / LIVELY.q_c, abs=CHARGE_SHARE)
    assert float(found.mark_soc[0]) == float(found.end_soc[0])
    assert float(found.min_v[0]) == pytest.approx(10.0, abs=1e-3)  # stopped at 10 V at once, found to a millivolt


def test_energy_of_a_bank_closes_leads_and_all():
    packs = [LIVELY, dataclasses.replace(LIVELY, r_cell_ohm=1.4 * LIVELY.r_cell_ohm)]
    circuit = joined(circuit_of(packs), branches=2)
    found = run(circuit, steady(current_a=120.0), lead_ohm=np.array([1.2e-3, 2.6e-3]), columns=1)
    gap = found.stored_change_j - found.end_energy_j - found.end_heat_j
    assert float(np.abs(gap / found.stored_change_j)[0]) < ENERGY_SHARE
