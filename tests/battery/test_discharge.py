"""The closed form of a bench discharge against the engine that walks it."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from planner.battery.discharge import BenchRun, course, outcome
from tests.oracles.pieces import steady
from tests.simulate.invented_packs import LIVELY, PACK, circuit_of, run

TOLERANCE = 3e-3  # what the fit allows the closed form: its gap follows the cells' warmth at once
STIFF = dataclasses.replace(LIVELY, r_cell_ohm=4e-3)
CASES = {
    "fifth of an hour's rate": (LIVELY, {"current_a": 20.0}, 298.15),
    "hour's rate": (LIVELY, {"current_a": 100.0}, 298.15),
    "hour's rate, isothermal": (PACK, {"current_a": 100.0}, 298.15),
    "cold": (LIVELY, {"current_a": 20.0}, 263.15),
    "cold and harder": (STIFF, {"current_a": 50.0}, 263.15),
    "constant power": (LIVELY, {"power_w": 400.0}, 298.15),
    "hard constant power": (LIVELY, {"power_w": 1000.0}, 298.15),
}


@pytest.mark.parametrize("name", CASES)
def test_charge_and_energy_are_the_engines_within_three_parts_in_a_thousand(name):
    pack, load, kelvin = CASES[name]
    walked = run([pack], steady(**load), cell_k=kelvin, ambient_k=kelvin)
    given = BenchRun(load.get("current_a"), load.get("power_w"), float(walked.end_s[0]), kelvin, 10.0)
    charge, energy = outcome(course(circuit_of([pack]), given), 10.0)
    off = float(charge[0] / walked.end_charge_c[0]) - 1.0, float(energy[0] / walked.end_energy_j[0]) - 1.0
    print(f"{name}: charge {off[0]:+.2e}, energy {off[1]:+.2e}")
    assert abs(off[0]) < TOLERANCE
    assert abs(off[1]) < TOLERANCE


def test_a_duration_guessed_short_or_long_changes_little():
    walked = run([LIVELY], steady(current_a=50.0))
    found = [float(outcome(course(circuit_of([LIVELY]), BenchRun(50.0, None, guess * float(walked.end_s[0]), 298.15, 10.0)), 10.0)[0][0])
             for guess in (0.9, 1.0, 1.3)]  # fmt: skip
    assert found == pytest.approx([found[1]] * 3, rel=2e-3)  # the grid of times is another


def test_a_higher_cut_off_gives_less_charge():
    along = course(circuit_of([LIVELY]), BenchRun(50.0, None, 7200.0, 298.15, 10.0))
    charges = [float(outcome(along, volts)[0][0]) for volts in (10.0, 11.0, 12.0, 12.5)]
    assert charges == sorted(charges, reverse=True)


def test_parameter_sets_side_by_side_are_each_their_own():
    packs = [LIVELY, STIFF, dataclasses.replace(LIVELY, q_c=0.9 * LIVELY.q_c)]
    given = BenchRun(60.0, None, 6000.0, 298.15, 10.0)
    together = outcome(course(circuit_of(packs), given), 10.0)[0]
    alone = [float(outcome(course(circuit_of([pack]), given), 10.0)[0][0]) for pack in packs]
    assert np.asarray(together) == pytest.approx(alone, rel=1e-12)
