"""Units in parallel share by Kirchhoff's laws, whatever their leads; in series the weakest ends the run."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from planner.battery.join import join_units
from planner.simulate.setup import LONGEST_STEP_S, STEP_CHARGE
from tests.oracles.circuit_truth import CircuitParameters, PiecewiseLine, gap_states
from tests.oracles.pieces import LoadPiece, steady
from tests.simulate.invented_packs import LIVELY, PACK, circuit_of, joined, run

LEADS_OHM = np.array([1.2e-3, 2.6e-3])


def coupled(packs: list[CircuitParameters], leads: np.ndarray, total_a: float, until_s: float, soc0: list[float]):
    """Currents and end of isothermal units in parallel, the coupled equations by scipy's LSODA.

    Kirchhoff: one voltage at the bus, currents sum to the load. Returns (solution, currents at times).
    """
    curves = [PiecewiseLine(p.ocv_z, p.ocv_v) for p in packs]
    gaps = [gap_states(p.tau_d_s) for p in packs]
    ohms = np.array([p.lead_ohm(298.15) + p.r_cell_ohm for p in packs]) + leads

    def split(state):
        rows = state.reshape(len(packs), 4)
        emf = np.array([curve(z - s1 - s2) - v for curve, (z, s1, s2, v) in zip(curves, rows, strict=True)])
        bus = (np.sum(emf / ohms) - total_a) / np.sum(1.0 / ohms)
        return (emf - bus) / ohms, bus

    def slopes(_, state):
        amps, _ = split(state)
        out = []
        for p, (k1, t1, k2, t2), a, (z, s1, s2, v) in zip(packs, gaps, amps, state.reshape(len(packs), 4), strict=True):
            del z
            out += [-a / p.q_c, (k1 * a / p.q_c - s1) / t1, (k2 * a / p.q_c - s2) / t2, (a * p.r1_ohm - v) / p.tau1_s]
        return out

    def low(_, state):
        return split(state)[1] - 10.0

    low.terminal = True
    start = np.array([[z, 0.0, 0.0, 0.0] for z in soc0]).ravel()
    done = solve_ivp(slopes, (0.0, until_s), start, method="LSODA", rtol=1e-8, atol=1e-10, events=low, max_step=60.0)
    return done, np.array([split(column)[0] for column in done.y.T])


def test_branch_currents_sum_to_the_load_at_every_step():
    packs = [LIVELY, dataclasses.replace(LIVELY, q_c=0.9 * LIVELY.q_c), dataclasses.replace(LIVELY, r_cell_ohm=5e-3)]
    found = run(joined(circuit_of(packs), 3), [LoadPiece(1800.0, current_a=150.0), LoadPiece(600.0, power_w=400.0)],
                lead_ohm=np.array([1e-3, 2e-3, 1.5e-3]), columns=1, repeat=False)  # fmt: skip
    trace = found.trace
    assert trace is not None
    assert trace.branch_start_a.sum(axis=1) == pytest.approx(trace.start_a[:, 0], rel=1e-12)
    assert trace.branch_end_a.sum(axis=1) == pytest.approx(trace.end_a[:, 0], rel=1e-12)


def shared(soc0: list[float], step_charge: float = STEP_CHARGE):
    """End and first branch's current against the coupled equations: relative error, RMS and worst [A]."""
    packs, total = [PACK, PACK], 180.0
    done, amps = coupled(packs, LEADS_OHM, total, 1e5, soc0)
    found = run(joined(circuit_of(packs), 2), [LoadPiece(36000.0, current_a=total)], lead_ohm=LEADS_OHM, columns=1,
                start_soc=np.array(soc0).reshape(2, 1, 1), repeat=False, step_charge=step_charge)  # fmt: skip
    trace = found.trace
    assert trace is not None
    times = trace.end_s[trace.end_s < 0.97 * done.t[-1]]
    off = trace.branch_end_a[: len(times), 0] - np.interp(times, done.t, amps[:, 0])
    return float(found.end_s[0]) / float(done.t[-1]) - 1.0, float(np.sqrt((off**2).mean())), float(np.abs(off).max())


@pytest.mark.parametrize("soc0", [[1.0, 1.0], [0.9, 0.9], [0.95, 0.85]])
def test_unequal_leads_share_as_the_coupled_equations_do(soc0):
    error, rms_a, worst_a = shared(soc0)
    print(f"{soc0}: end {error:+.1e}, branch current off by {rms_a:.3f} A RMS, {worst_a:.2f} A at worst")
    assert abs(error) < 1e-3
    assert rms_a < 0.002 * 180.0  # a step in which a unit passes a corner of its curve is off by more
    assert worst_a < 0.02 * 180.0


def test_what_branches_are_off_by_shrinks_with_the_step():
    assert shared([0.9, 0.9], STEP_CHARGE / 5)[1] < shared([0.9, 0.9])[1] / 5.0


def test_first_moment_is_ohms_law_of_the_branches():
    found = run(joined(circuit_of([PACK, PACK]), 2), [LoadPiece(60.0, current_a=180.0)], lead_ohm=LEADS_OHM, columns=1,
                repeat=False)  # fmt: skip
    trace = found.trace
    assert trace is not None
    inside = PACK.lead_ohm(298.15) + PACK.r_cell_ohm
    share = (inside + LEADS_OHM[1]) / (2.0 * inside + LEADS_OHM.sum())
    assert float(trace.branch_start_a[0, 0]) == pytest.approx(180.0 * share, rel=1e-12)


def test_equal_branches_share_equally_and_last_as_one_unit_at_half_the_load():
    pair = run(joined(circuit_of([LIVELY, LIVELY]), 2), steady(current_a=120.0), lead_ohm=np.zeros(2), columns=1)
    one = run([LIVELY], steady(current_a=60.0))
    assert float(pair.end_s[0]) == pytest.approx(float(one.end_s[0]), rel=1e-6)
    assert float(pair.end_charge_c[0]) == pytest.approx(2.0 * float(one.end_charge_c[0]), rel=1e-6)


def test_two_in_series_carry_the_same_current_at_twice_the_voltage():
    pair = run(joined(circuit_of([PACK, PACK]), 1, 2), steady(current_a=60.0), series=2, cutoff_v=20.0, columns=1)
    one = run([PACK], steady(current_a=60.0))
    assert float(pair.end_s[0]) == pytest.approx(float(one.end_s[0]), rel=1e-6)
    assert float(pair.mark_energy_j[0]) == pytest.approx(2.0 * float(one.mark_energy_j[0]), rel=1e-6)


def test_the_weaker_of_two_in_series_ends_the_run_empty():
    weak = dataclasses.replace(PACK, q_c=0.8 * PACK.q_c)
    pair = run(joined(circuit_of([PACK, weak]), 1, 2), steady(current_a=60.0), series=2, cutoff_v=18.0, columns=1)
    alone = run([weak], steady(current_a=60.0), cutoff_v=5.0)
    assert str(pair.end_kind[0]) == "empty"
    assert float(pair.end_s[0]) == pytest.approx(float(alone.end_s[0]), rel=1e-3)


def test_a_branch_of_lower_charge_is_charged_by_the_other_at_rest():
    found = run(joined(circuit_of([PACK, PACK]), 2), [LoadPiece(600.0, current_a=0.1)], lead_ohm=LEADS_OHM, columns=1,
                start_soc=np.array([1.0, 0.2]).reshape(2, 1, 1), repeat=False)  # fmt: skip
    trace = found.trace
    assert trace is not None
    assert float(trace.branch_start_a[0, 1]) < 0.0 < float(trace.branch_start_a[0, 0])
    ohm = 2.0 * (PACK.lead_ohm(298.15) + PACK.r_cell_ohm) + LEADS_OHM.sum()
    rest_v = np.interp([1.0, 0.2], PACK.ocv_z, PACK.ocv_v)
    assert float(trace.branch_start_a[0, 0]) == pytest.approx((rest_v[0] - rest_v[1]) / ohm, rel=0.01)


def test_a_trip_of_one_unit_is_watched_in_each_branch():
    found = run(joined(circuit_of([PACK, PACK]), 2), [LoadPiece(900.0, current_a=180.0)], lead_ohm=LEADS_OHM, columns=1,
                repeat=False, trips=((95.0, 5.0),))  # fmt: skip
    assert math.isfinite(float(found.trip_s[0]))
    assert float(found.trip_s[0]) == pytest.approx(5.0, abs=1e-6)


@pytest.mark.parametrize(
    ("load", "leads"),
    [
        (LoadPiece(21_600.0, current_a=1.8), [0.0, 0.0]),  # hardly a load: what they do to each other is all there is
        (LoadPiece(21_600.0, current_a=12.0), [1.2e-3, 2.6e-3]),
        (LoadPiece(21_600.0, power_w=700.0), [1.2e-3, 2.6e-3]),
    ],
    ids=["light", "day", "power"],
)
def test_no_pair_of_many_ends_elsewhere_at_the_working_step(load, leads):
    """Sixty drawn pairs, each against itself at steps of 3 s: a corner of a curve passed in mid-step throws none off."""
    rng = np.random.default_rng(7)
    halves = []
    for _ in range(2):
        draws = zip(rng.normal(1, 0.04, 60), rng.lognormal(0, 0.2, 60), rng.uniform(300, 1200, 60), strict=True)
        halves.append(circuit_of([
            dataclasses.replace(LIVELY, q_c=LIVELY.q_c * c, r_cell_ohm=LIVELY.r_cell_ohm * r, tau_d_s=t)
            for c, r, t in draws
        ]))  # fmt: skip
    bank = join_units(halves, 2, 1)
    ends, gone = [], []
    for longest_s in (LONGEST_STEP_S, 3.0):
        found = run(bank, [load], lead_ohm=np.array(leads), columns=60, longest_step_s=longest_s)
        ends.append(found.end_s)
        gone.append(np.abs((found.end_energy_j + found.end_heat_j) / found.stored_change_j - 1.0))
    worst = float(np.abs(ends[0] / ends[1] - 1.0).max())
    print(f"end off by {worst:.1e} at worst, energy unexplained {gone[0].max():.1e}")
    assert worst < 3e-4
    assert gone[0].max() < 1e-4
