"""The compiled laws of one unit against numpy, closed forms and an independent solver."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numba import njit
from scipy.integrate import solve_ivp

from planner.battery.circuit import gap_constants
from planner.battery.curve import GRID, SOC_GRID, CurveTable
from planner.simulate import leap, tables, unit
from tests.oracles.pieces import LoadPiece
from tests.simulate.invented_packs import PACK, run

rows = arrays(np.float64, (2, GRID + 1), elements=st.floats(8.0, 15.0))


@njit
def compiled_area(curves, row, soc):
    return unit.curve_area(curves, row, soc)


@njit
def compiled_look_up(curves, row, soc):
    return unit.look_up(curves, row, soc)


@njit
def compiled_soc_at(table, volts):
    return leap.soc_at(table, volts)


@njit
def compiled_carry(parameters, state, tau_d_s, amps, time_s, after):
    left_1, left_2 = unit.gap_left(tau_d_s, time_s)
    unit.carry(parameters, state, tau_d_s, amps, time_s, left_1, left_2, after)


def curves_of(curve: CurveTable) -> np.ndarray:
    return curve.tables(np.arange(len(curve.volts)))


@given(table=rows, soc=st.floats(-0.5, 1.5))
def test_compiled_look_up_is_the_table_s_own(table, soc):
    curve = CurveTable(table)
    for row in (0, 1):
        volts, slope = curve.look_up(np.array([soc]), np.array([row * (GRID + 1)]))
        assert compiled_look_up(curves_of(curve), row, soc) == pytest.approx((volts[0], slope[0]), rel=1e-12)


@given(table=rows, soc=st.floats(0.0, 1.0))
def test_integral_is_exact(table, soc):
    """Against numpy's trapezoid over the grid points up to soc and soc itself: exact for straight pieces."""
    curve = CurveTable(table)
    for row in (0, 1):
        points = np.append(SOC_GRID[soc > SOC_GRID], soc)
        exact = np.trapezoid(np.interp(points, SOC_GRID, curve.volts[row]), points)
        assert compiled_area(curves_of(curve), row, soc) == pytest.approx(exact, abs=1e-10)


@given(table=rows, soc=st.floats(0.0, 1.0))
def test_charge_of_a_voltage_inverts_the_curve(table, soc):
    curve = CurveTable(table)
    for row in (0, 1):
        volts = float(np.interp(soc, SOC_GRID, curve.volts[row]))
        back = compiled_soc_at(curve.volts[row], volts)
        assert np.interp(back, SOC_GRID, curve.volts[row]) == pytest.approx(volts, abs=1e-9)


def test_charge_of_a_voltage_beyond_the_ends_is_empty_or_full():
    table = np.linspace(10.0, 13.6, GRID + 1)
    assert compiled_soc_at(table, 5.0) == 0.0
    assert compiled_soc_at(table, 20.0) == 1.0


@settings(max_examples=25)
@given(
    time_s=st.floats(0.1, 5e3),
    amps=st.floats(-50.0, 200.0),
    gap=st.floats(0.0, 0.05),
    tau=st.floats(20.0, 3e3),
)
def test_charge_and_gap_after_any_time_are_the_exact_solution(time_s, amps, gap, tau):
    parameters = np.zeros(tables.PARAMETERS)
    parameters[tables.CHARGE_C] = q = PACK.q_c
    begin, after = np.array([0.8, gap, 0.3 * gap, 298.15]), np.zeros(tables.STATES)
    compiled_carry(parameters, begin, tau, amps, time_s, after)
    k1, t1, k2, t2 = (float(value) for value in gap_constants(tau))

    def slopes(_, y):
        return [-amps / q, (k1 * amps / q - y[1]) / t1, (k2 * amps / q - y[2]) / t2]

    done = solve_ivp(slopes, (0.0, time_s), begin[:3], method="LSODA", rtol=1e-10, atol=1e-12)
    assert after[:3] == pytest.approx(done.y[:, -1], rel=1e-6, abs=1e-8)  # the yardstick's own tolerance


@settings(max_examples=10)
@given(amps=st.floats(1.0, 80.0), longest=st.floats(20.0, 600.0))
def test_one_long_step_of_a_steady_pack_is_many_short_ones(amps, longest):
    """Without heat every state's answer to a constant current is exact whatever the step."""
    load = [LoadPiece(600.0, current_a=amps)]
    one = run([PACK], load, repeat=False, step_charge=1.0, longest_step_s=600.0)
    many = run([PACK], load, repeat=False, step_charge=1.0, longest_step_s=longest)
    assert one.trace is not None and many.trace is not None
    assert one.trace.end_v[-1, 0] == pytest.approx(many.trace.end_v[-1, 0], abs=1e-9)
    assert one.trace.end_soc[-1, 0] == pytest.approx(many.trace.end_soc[-1, 0], abs=1e-12)
