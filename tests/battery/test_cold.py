"""Resistance and charge in the cold, by hand and through the engine. All invented."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from planner.battery.circuit import arrhenius
from planner.battery.fit import fit_record
from planner.constants import GAS_CONSTANT
from planner.explain.warnings import warnings
from planner.verdict.assess import Assessment, assess
from tests.battery.test_fit import replay
from tests.oracles.circuit_truth import CircuitParameters
from tests.oracles.pieces import LoadPiece
from tests.simulate.invented_packs import run
from tests.verdict.invented_bench import STURDY, WEAK_LEADS, read_need, read_unit

# 5.2 mohm in all at 25 degC, every part of it taken as cell, behind a curve of straight lines.
ROUND = CircuitParameters(
    ocv_z=(0.0, 0.05, 0.10, 0.20, 0.30, 0.40, 0.50, 0.60, 0.70, 0.80, 0.90, 0.95, 1.0),
    ocv_v=(10.0, 12.30, 12.76, 12.92, 13.02, 13.08, 13.12, 13.16, 13.24, 13.28, 13.32, 13.34, 13.60),
    q_c=103.6 * 3600.0, r_cell_ohm=5.2e-3, activation_j_per_mol=25e3,
)  # fmt: skip
COLD_K, WARM_K = 263.15, 298.15
NEED = """
format = 1
name = "Heater in the cold (invented)"
duration = "{hours} h"
ambient = "{celsius} degC"
[[load]]
name = "heater"
kind = "current"
current = "20 A"
evidence = "logged"
"""


def test_three_milliohm_that_become_eight_at_minus_ten_are_18_5_kj_per_mol():
    # Hand calculation: R ln(8.1/3.0)/(1/263.15 - 1/298.15) = 18.51 kJ/mol
    energy = GAS_CONSTANT * math.log(8.1 / 3.0) / (1.0 / COLD_K - 1.0 / WARM_K)
    assert energy == pytest.approx(18.5e3, abs=50.0)
    factor = arrhenius(18.5e3 / GAS_CONSTANT, COLD_K, WARM_K)
    assert 3.0 * float(factor) == pytest.approx(8.1, abs=0.05)


def test_a_hundred_amps_at_minus_ten_sag_two_volts_and_strand_27_per_cent_above_11_v():
    # Hand calculation: 5.2 x 3.824 = 19.9 mohm, 1.99 V; 12.99 V at rest is 26.9 % on the curve
    found = run([ROUND], [LoadPiece(36000.0, current_a=100.0)], cell_k=COLD_K, ambient_k=COLD_K, cutoff_v=11.0,
                longest_step_s=5.0, repeat=False)  # fmt: skip
    trace = found.trace
    assert trace is not None
    sag_v = float(np.interp(1.0, ROUND.ocv_z, ROUND.ocv_v)) - float(trace.start_v[0, 0])
    assert sag_v == pytest.approx(1.99, abs=0.005)
    assert sag_v / 100.0 == pytest.approx(19.9e-3, abs=5e-5)
    assert 1.0 - float(found.end_charge_c[0]) / ROUND.q_c == pytest.approx(0.269, abs=0.002)
    warm = run([ROUND], [LoadPiece(36000.0, current_a=100.0)], cell_k=WARM_K, ambient_k=WARM_K, cutoff_v=11.0,
               longest_step_s=5.0, repeat=False)  # fmt: skip
    assert 1.0 - float(warm.end_charge_c[0]) / ROUND.q_c == pytest.approx(0.0330, abs=0.002)


@pytest.mark.parametrize(
    ("celsius", "charge_ah", "within"),
    [
        (-10.0, 86.1, 0.05),  # measured, 0.833 of the warm charge
        (
            0.0,
            91.0,
            1.0,
        ),  # hand calculation: a straight line between the two discharges; the sag bends the model's
        (-9.0, 86.6, 0.2),
        (25.0, 103.4, 0.05),  # measured
    ],
)
def test_charge_between_the_tested_temperatures_lies_on_their_line(tmp_path, celsius, charge_ah, within):
    unit = read_unit(tmp_path, STURDY)
    test = unit.capacity_tests[2]  # the 20 A one
    there = dataclasses.replace(test, at=dataclasses.replace(test.at, cell_k=273.15 + celsius))
    assert replay(fit_record(unit), there)[0] / 3600.0 == pytest.approx(charge_ah, abs=within)
    assert 86.1 / 103.4 == pytest.approx(0.833, abs=0.0005)


def asked(folder, unit, celsius, ah) -> Assessment:
    need = read_need(folder, NEED.format(celsius=celsius, hours=ah / 20.0))
    return assess(read_unit(folder, unit), need, draws=100)


def energy_of(found):
    (check,) = [check for check in found.checks if check.id == "energy"]
    return check


def test_what_a_line_beyond_the_coldest_test_promises_is_not_proven(tmp_path):
    # The line through both tests promises 81.2 Ah at -20 degC. A need close to it hangs on what nobody tested.
    assert 103.4 - (103.4 - 86.1) / 35.0 * 45.0 == pytest.approx(81.2, abs=0.05)
    assert energy_of(asked(tmp_path, STURDY, -20, 79.0)).verdict == "not proven"
    assert energy_of(asked(tmp_path, STURDY, -10, 79.0)).verdict == "fits"
    # Half of it is covered even where the cold takes what the handbook fears.
    assert energy_of(asked(tmp_path, STURDY, -20, 40.0)).verdict == "fits"


def test_a_unit_never_discharged_in_the_cold_says_what_was_assumed(tmp_path):
    found = asked(tmp_path, WEAK_LEADS, -10, 78.0)
    energy = energy_of(found)
    assert (energy.verdict, energy.settled_by.code) == ("not proven", "cold_capacity")
    assert found.fitted.evidence[found.fitted.plan.names.index("cold_loss_below")] == "handbook"
    assert any(
        "but assumed" in text and "how much charge is lost in the cold" in text
        for text in warnings(found)
    )
