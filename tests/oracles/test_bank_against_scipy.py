"""Two units on unequal leads against scipy's integrator: the whole answer's branch currents, warming and all.

The equations are written again here from their physics, Kirchhoff's laws at the bus among them; only the numbers of
the fitted unit (curve, ohms, time constants) are taken over.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from planner.battery.curve import SOC_GRID
from planner.battery.fit import Fitted, fit_record
from planner.verdict.assess import assess
from tests.oracles.circuit_truth import gap_states
from tests.verdict.invented_bench import STURDY, read_need, read_unit

LEADS_OHM = np.array([1.2e-3, 2.6e-3])
LOAD_A, UNTIL_S, AIR_K = 180.0, 600.0, 298.15
PAIR = """
format = 1
name = "Pair on unequal leads (invented)"
duration = "10 min"
ambient = "25 degC"
start_charge = "90 %"
[[load]]
name = "windlass"
kind = "current"
current = "180 A"
[bank]
parallel = 2
lead_resistances = ["1.2 mohm", "2.6 mohm"]
"""


def equations(fitted: Fitted):
    """Numbers of one unit, its pairs' resistance and time, its laws at a state, and its curve."""
    circuit = fitted.circuit(fitted.centre[np.newaxis])
    one = {name: float(getattr(circuit, name)[0, 0, 0]) for name in (
        "charge_c", "metal_ohm", "cell_ohm", "diffusion_tau_s", "gap_lag", "activation_k", "diffusion_activation_k",
        "heat_capacity_j_per_k", "conductance_w_per_k")}  # fmt: skip
    pairs = [
        (float(r[0, 0, 0]), float(t[0, 0, 0]))
        for r, t in zip(circuit.pair_ohm, circuit.pair_tau_s, strict=True)
    ]
    volts = circuit.curve.volts[0]

    def open_v(x):
        return np.interp(x, SOC_GRID, volts)

    def unit(state):
        z, s_1, s_2, temp = state[:4]
        inverse = 1.0 / temp - 1.0 / circuit.reference_k
        arrhenius = np.exp(one["activation_k"] * inverse)
        metal_ohm = one["metal_ohm"] * (1.0 + 0.00393 * (temp - 293.15))  # IEC 60028
        tau = one["diffusion_tau_s"] * np.exp(one["diffusion_activation_k"] * inverse)
        return open_v(z - s_1 - s_2) - sum(state[4:]), metal_ohm + one["cell_ohm"] * arrhenius, arrhenius, tau

    return one, pairs, unit, open_v


def coupled(fitted: Fitted, start_soc: float, at_s: list[float]) -> np.ndarray:
    """Branch currents (times, 2) of two such units, by LSODA at 1e-10."""
    one, pairs, unit, open_v = equations(fitted)
    wide = 4 + len(pairs)

    def split(state):
        units = [unit(row) for row in state.reshape(2, wide)]
        ohms = np.array([u[1] for u in units]) + LEADS_OHM
        emf = np.array([u[0] for u in units])
        bus = (np.sum(emf / ohms) - LOAD_A) / np.sum(1.0 / ohms)
        return (emf - bus) / ohms, bus, units

    def slopes(_, state):
        amps, bus, units = split(state)
        out = []
        for row, amp, lead, (_, _, arrhenius, tau) in zip(
            state.reshape(2, wide), amps, LEADS_OHM, units, strict=True
        ):
            z, s_1, s_2, temp = row[:4]
            k_1, t_1, k_2, t_2 = gap_states(tau)
            t_1, t_2 = t_1 * one["gap_lag"], t_2 * one["gap_lag"]
            per_s = amp / one["charge_c"]
            heat = amp * (open_v(z) - (bus + amp * lead))
            lost = one["conductance_w_per_k"] * (temp - AIR_K)
            out += [-per_s, (k_1 * per_s - s_1) / t_1, (k_2 * per_s - s_2) / t_2,
                    (heat - lost) / one["heat_capacity_j_per_k"]]  # fmt: skip
            out += [(amp * r * arrhenius - v) / t for (r, t), v in zip(pairs, row[4:], strict=True)]
        return out

    start = np.tile([start_soc, 0.0, 0.0, AIR_K, *[0.0] * len(pairs)], 2)
    done = solve_ivp(slopes, (0.0, UNTIL_S), start, "LSODA", at_s, rtol=1e-10, atol=1e-12, max_step=2.0)
    return np.array([split(column)[0] for column in done.y.T])


@pytest.mark.parametrize("charge", ["90 %", "100 %", "70 %"])
def test_branch_currents_of_the_answer_are_those_of_the_coupled_equations(tmp_path, charge):
    record = read_unit(tmp_path, STURDY)
    fitted = fit_record(record)
    need = read_need(tmp_path, PAIR.replace("90 %", charge))
    found = assess(record, need, None, 8, fitted=fitted)
    assert found.bank is not None
    told = np.array([[b.first_a, b.at_60s_a, b.steady_a] for b in found.bank.branches]).T
    trace = found.batch.run.trace
    assert trace is not None
    times = [0.0, 60.0, *trace.end_s]
    theirs = coupled(fitted, need.start_soc, sorted(times))
    steps = np.vstack([trace.branch_start_a[:1], trace.branch_end_a])
    apart = np.delete(theirs, sorted(times).index(60.0), axis=0)
    print(charge, "worst of all steps", np.abs(steps / apart - 1.0).max())
    assert steps == pytest.approx(apart, rel=1e-3)
    assert told == pytest.approx(theirs[[0, sorted(times).index(60.0), -1]], rel=1e-3)
