"""Ends that lie inside a step: a power that can no longer be served, and a sag that is over before the step is.

Maximum power of a source behind a resistance: E^2 = 4 R P (Jacobi's law, hand calculation).
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from tests.oracles.circuit_truth import CircuitParameters
from tests.oracles.pieces import LoadPiece, steady
from tests.simulate.invented_packs import LIVELY, run, timeline_of

FLAT = CircuitParameters(ocv_z=(0.0, 1.0), ocv_v=(10.0, 14.0), q_c=3.6e5, r_cell_ohm=5e-3)  # a straight line, no pairs
WIRE_OHM = 45e-3


def served_until(power_w: float, pack: CircuitParameters = FLAT, **changes: object) -> float:
    return float(run([pack], steady(power_w=power_w), wiring_ohm=WIRE_OHM, **changes).end_s[0])


def test_a_power_behind_a_long_wire_ends_where_its_square_root_does():
    # 50 mohm in all: 800 W need E = sqrt(4 x 0.05 x 800) = 12.649 V at rest, which is at z = 0.6623
    found = run([FLAT], steady(power_w=800.0), wiring_ohm=WIRE_OHM)
    assert str(found.end_kind[0]) == "unserved"
    assert float(found.end_soc[0]) == pytest.approx((math.sqrt(4.0 * 0.05 * 800.0) - 10.0) / 4.0, abs=2e-4)
    # by hand: dz/dt = -I/Q, I = (E - sqrt(E^2 - 4 R P)) / 2 R, E = 10 + 4 z, from full
    volts = np.linspace(14.0, math.sqrt(160.0), 200_001)
    seconds = 2.0 * 0.05 * FLAT.q_c / 4.0 / (volts - np.sqrt(np.maximum(volts**2 - 160.0, 0.0)))
    assert float(found.end_s[0]) == pytest.approx(float(np.trapezoid(seconds, -volts)), rel=1e-3)


def test_the_battery_itself_stands_well_above_its_cut_off_there():
    trace = run([FLAT], steady(power_w=800.0), wiring_ohm=WIRE_OHM, repeat=False).trace
    assert trace is not None
    # half of 12.65 V at the load, so 126 A; 0.63 V of that is lost in the battery
    assert float(np.nanmin(trace.end_v)) > 11.9


def test_it_is_found_at_any_step():
    ends = [served_until(800.0, step_charge=0.005 / part) for part in (0.25, 1, 4, 16)]
    assert ends == pytest.approx([ends[-1]] * 4, rel=2e-3)


def test_it_has_no_delay_and_a_surge_shorter_than_any_delay_counts():
    loads = [LoadPiece(600.0, current_a=5.0), LoadPiece(0.4, power_w=2000.0), LoadPiece(600.0, current_a=5.0)]
    found = run([FLAT], loads, wiring_ohm=WIRE_OHM, repeat=False, cutoff_delay_s=30.0)
    assert (str(found.end_kind[0]), float(found.end_s[0])) == ("unserved", 600.0)


def test_what_is_served_throughout_is_not_ended():
    served = LoadPiece(60.0, power_w=700.0)  # 700 W need 11.83 V
    found = run([FLAT], [served], wiring_ohm=WIRE_OHM, repeat=False)
    assert str(found.end_kind[0]) == "none"


def test_an_inverter_that_watches_its_own_terminals_goes_off_instead():
    line = timeline_of([LoadPiece(36000.0, power_w=800.0)], cutout_v=9.0, cutout_delay_s=2.0)
    found = run([FLAT], line, wiring_ohm=WIRE_OHM)
    assert str(found.end_kind[0]) != "unserved"
    assert float(found.inverter_s[0, 0]) < served_until(800.0)  # 9 V come before half of 12.65 V


def test_no_outing_is_leapt_over_in_which_it_comes():
    # hundreds of outings of a short pull: the first that is not served ends the run, within one outing
    outing = [LoadPiece(5.0, power_w=800.0), LoadPiece(3595.0, current_a=0.05)]
    leapt = run([FLAT], outing, wiring_ohm=WIRE_OHM)
    walked = run([FLAT], outing * 400, wiring_ohm=WIRE_OHM, repeat=False)
    assert str(leapt.end_kind[0]) == str(walked.end_kind[0]) == "unserved"
    assert float(leapt.end_s[0]) == pytest.approx(float(walked.end_s[0]), abs=3600.0)


# --- sags that are over before the step is ---------------------------------------------------------------

FROZEN = dataclasses.replace(LIVELY, heat_capacity_j_per_k=600.0, conductance_w_per_k=1.0, tau1_s=3.0)
PULL = [LoadPiece(60.0, current_a=1.0), LoadPiece(60.0, current_a=100.0)]


def frozen(step_charge: float, cutoff_v: float, **changes: object):
    return run([FROZEN], PULL, repeat=False, cell_k=253.15, ambient_k=253.15, cutoff_v=cutoff_v,
               step_charge=step_charge, **changes)  # fmt: skip


def lowest_of_the_pull() -> tuple[float, float]:
    """Lowest voltage of the pull and where, by steps of a fifth of a second."""
    trace = frozen(1e-4, 1.0).trace
    assert trace is not None
    at = int(np.nanargmin(trace.end_v[:, 0]))
    return float(trace.end_v[at, 0]), float(trace.end_s[at])


def test_cells_that_warm_under_a_pull_sag_and_come_back_within_one_step():
    low_v, low_s = lowest_of_the_pull()
    trace = frozen(1.0, 1.0).trace
    assert trace is not None
    first, last = float(trace.start_v[1, 0]), float(trace.end_v[1, 0])
    print(f"one step from {first:.3f} to {last:.3f} V, lowest {low_v:.3f} V at {low_s:.1f} s")
    assert len(trace.end_s) == 2  # the whole pull is one step
    assert low_v < min(first, last) - 0.1


@pytest.mark.parametrize("delay_s", [0.0, 2.0])
def test_a_cut_off_inside_the_sag_is_found_though_both_ends_of_the_step_are_above_it(delay_s):
    trace = frozen(1.0, 1.0).trace
    assert trace is not None
    cutoff_v = min(float(trace.start_v[1, 0]), float(trace.end_v[1, 0])) - 0.05
    coarse, fine = (frozen(step, cutoff_v, cutoff_delay_s=delay_s) for step in (1.0, 1e-4))
    assert str(coarse.end_kind[0]) == str(fine.end_kind[0]) == "cutoff"
    assert float(coarse.end_s[0]) == pytest.approx(float(fine.end_s[0]), abs=3.0)


def test_a_sag_shorter_than_the_delay_does_not_count():
    trace = frozen(1.0, 1.0).trace
    assert trace is not None
    cutoff_v = min(float(trace.start_v[1, 0]), float(trace.end_v[1, 0])) - 0.05
    for step in (1.0, 1e-4):
        assert str(frozen(step, cutoff_v, cutoff_delay_s=59.0).end_kind[0]) == "none"


def test_the_units_own_opening_and_an_inverter_see_the_sag_as_well():
    trace = frozen(1.0, 1.0).trace
    assert trace is not None
    level = min(float(trace.start_v[1, 0]), float(trace.end_v[1, 0])) - 0.05
    assert str(frozen(1.0, 1.0, undervoltage_v=level).end_kind[0]) == "undervoltage"
    volts = float(trace.end_v[1, 0])
    line = timeline_of([LoadPiece(60.0, power_w=10.0), LoadPiece(60.0, power_w=100.0 * volts)], cutout_v=level - 0.1,
                       cutout_delay_s=1.0)  # fmt: skip
    fine, coarse = (run([FROZEN], line, repeat=False, cell_k=253.15, ambient_k=253.15, cutoff_v=1.0, step_charge=step)
                    for step in (1e-4, 1.0))  # fmt: skip
    assert math.isfinite(float(fine.inverter_s[0, 0])) and math.isfinite(float(coarse.inverter_s[0, 0]))
