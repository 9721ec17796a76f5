from __future__ import annotations

import numpy as np
import pytest

from planner.battery.circuit import Circuit
from planner.battery.fit import fit_record
from planner.battery.log_march import voltage_along
from planner.record.log_nodes import MOST_NODES, thin
from tests.oracles.invented_units import BENCH_K, run_of
from tests.oracles.pieces import LoadPiece
from tests.oracles.test_physics_truth_prediction import bench_record

LOADS = (LoadPiece(600.0, current_a=60.0), LoadPiece(900.0, current_a=5.0), LoadPiece(300.0, current_a=100.0),
         LoadPiece(1200.0), LoadPiece(2400.0, current_a=30.0))  # fmt: skip


@pytest.fixture(scope="module")
def circuit() -> Circuit:
    found = fit_record(bench_record())
    return found.circuit(found.centre[np.newaxis])


def log_of(circuit: Circuit) -> tuple[np.ndarray, ...]:
    """Time, voltage and current the engine gives for the loads, both sides of every edge, as a logger writes them."""
    trace = run_of(circuit, LOADS, repeat=False, keep_trace=True, cutoff_v=0.0, step_charge=1e-3).trace
    assert trace is not None
    return tuple(np.stack(both, axis=1).ravel() for both in (
        (trace.start_s, trace.end_s), (trace.start_v[:, 0], trace.end_v[:, 0]), (trace.start_a[:, 0], trace.end_a[:, 0])))  # fmt: skip


def test_a_log_marches_to_the_voltages_of_the_engine(circuit: Circuit) -> None:
    nodes = thin(*log_of(circuit))
    volts, _ = voltage_along(circuit, nodes, BENCH_K, 1.0)
    # both are exact for a constant current, and this body hardly warms: what is left is the engine's rounding of
    # temperature to its own step
    assert np.abs(volts[:, 0] - nodes.voltage_v).max() < 1e-3


def test_thinning_keeps_the_charge_of_every_row_and_the_corners(circuit: Circuit) -> None:
    time_s, volts, amps = log_of(circuit)
    nodes = thin(time_s, volts, amps, most=60)
    assert len(nodes.time_s) <= 60
    assert nodes.charge_c[-1] == pytest.approx(np.trapezoid(amps, time_s), rel=1e-12)
    for edge in np.cumsum([load.length_s for load in LOADS])[:-1]:
        assert np.count_nonzero(np.abs(nodes.time_s - edge) < 1e-6) == 2  # before and after; clocks add up to rounding


def test_a_noisy_log_of_ten_thousand_rows_keeps_at_most_the_stated_number_of_nodes() -> None:
    rng = np.random.default_rng(1)
    time = np.arange(10_000.0)
    nodes = thin(time, 13.0 - 1e-5 * time + rng.normal(0.0, 0.01, time.size), np.full(time.size, 20.0))
    assert len(nodes.time_s) == MOST_NODES


def test_a_logged_temperature_is_taken_instead_of_own_heating(circuit: Circuit) -> None:
    log = log_of(circuit)
    cold = np.full(log[0].size, 263.15)
    warm_v, cold_v = (
        voltage_along(circuit, nodes, 298.15, 1.0)[0] for nodes in (thin(*log), thin(*log, temperature_k=cold))
    )
    # by the cold law resistance grows: every loaded reading is lower
    assert warm_v[0, 0] - cold_v[0, 0] > 0.01


def test_a_temperature_with_gaps_is_left_aside(circuit: Circuit) -> None:
    log = log_of(circuit)
    gappy = np.full(log[0].size, 263.15)
    gappy[3] = np.nan
    assert thin(*log, temperature_k=gappy).temperature_k is None
