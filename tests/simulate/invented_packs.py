"""Invented packs and loads of the tests of the engine, each as the engine takes it and as the yardstick does."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import Circuit
from planner.battery.curve import GRID, SOC_GRID, CurveTable
from planner.constants import COPPER_ALPHA_PER_K, GAS_CONSTANT
from planner.outing.timeline import Timeline
from planner.simulate.engine import simulate
from planner.simulate.setup import Run, Setup
from tests.oracles.circuit_truth import CircuitParameters
from tests.oracles.pieces import LoadPiece

Floats = NDArray[np.float64]

WARM_K = 298.15
# an LFP-like curve; its corners lie on the engine's grid, so that both sides have the very same curve
PACK = CircuitParameters(
    ocv_z=(0.0, 0.03, 0.08, 0.15, 0.3, 0.5, 0.7, 0.9, 0.97, 1.0),
    ocv_v=(10.0, 11.8, 12.5, 12.85, 13.05, 13.15, 13.22, 13.3, 13.4, 13.9),
    q_c=3.6e5, r_lead_ohm=1e-3, r_cell_ohm=2.2e-3, r1_ohm=1.4e-3, tau1_s=25.0, tau_d_s=700.0,
    lead_alpha_per_k=COPPER_ALPHA_PER_K,
)  # fmt: skip
LIVELY = dataclasses.replace(
    PACK, activation_j_per_mol=30e3, tau_d_activation_j_per_mol=25e3, heat_capacity_j_per_k=11e3,
    conductance_w_per_k=2.0, g_temps_k=(263.15, 298.15), g_values=(0.82, 1.0),
)  # fmt: skip


def circuit_of(packs: Sequence[CircuitParameters]) -> Circuit:
    """The same packs as the engine's circuit, one scenario each; they share the cold law's warm edge."""

    def each(name: str, scale: float = 1.0) -> Floats:
        return np.array([[[scale * getattr(pack, name) for pack in packs]]])

    warm_k = packs[0].g_temps_k[-1]
    width_k = warm_k - packs[0].g_temps_k[0] if len(packs[0].g_temps_k) > 1 else 60.0
    loss = np.array([[[(pack.g_values[-1] - pack.g_values[0]) / width_k for pack in packs]]])
    volts = np.array([np.interp(SOC_GRID, pack.ocv_z, pack.ocv_v) for pack in packs])
    still = [math.isinf(pack.heat_capacity_j_per_k) for pack in packs]
    heat = np.array([[[1e12 if s else pack.heat_capacity_j_per_k for pack, s in zip(packs, still, strict=True)]]])
    air = np.array([[[1.0 if s else pack.conductance_w_per_k for pack, s in zip(packs, still, strict=True)]]])
    return Circuit(
        curve=CurveTable(volts),
        offset=(np.arange(len(packs)) * (GRID + 1))[np.newaxis, np.newaxis],
        charge_c=each("q_c"),
        metal_ohm=each("r_lead_ohm"),
        cell_ohm=each("r_cell_ohm"),
        pair_ohm=each("r1_ohm")[np.newaxis],
        pair_tau_s=each("tau1_s")[np.newaxis],
        diffusion_tau_s=np.maximum(each("tau_d_s"), 1e-3),
        gap_lag=np.ones((1, 1, 1)),
        activation_k=each("activation_j_per_mol", 1.0 / GAS_CONSTANT),
        diffusion_activation_k=each("tau_d_activation_j_per_mol", 1.0 / GAS_CONSTANT),
        reference_k=WARM_K,
        cold_from_k=np.array([warm_k]).reshape(-1, 1, 1, 1),
        cold_width_k=np.array([width_k]).reshape(-1, 1, 1, 1),
        cold_loss_per_k=loss[np.newaxis],
        heat_capacity_j_per_k=heat,
        conductance_w_per_k=air,
    )


def joined(circuit: Circuit, branches: int, series: int = 1) -> Circuit:
    """The circuit's scenarios regrouped: column b * series + s becomes branch b, unit s of one scenario."""

    def shape(values: Any) -> Any:
        if values.shape[-1] == 1:
            return values
        return values.reshape(*values.shape[:-3], branches, series, 1)

    names = ("offset", "charge_c", "metal_ohm", "cell_ohm", "pair_ohm", "pair_tau_s", "diffusion_tau_s",
             "activation_k", "diffusion_activation_k", "cold_loss_per_k", "heat_capacity_j_per_k",
             "conductance_w_per_k")  # fmt: skip
    return dataclasses.replace(circuit, **{name: shape(getattr(circuit, name)) for name in names})


def timeline_of(loads: Sequence[LoadPiece], **inverter: float) -> Timeline:
    """One load that draws what the pieces say. inverter : cutout_v and cutout_delay_s make it one."""
    edges = np.concatenate([[0.0], np.cumsum([load.length_s for load in loads])])
    amps = np.array([[load.current_a for load in loads]])
    power = np.array([[load.power_w for load in loads]])
    cutout = np.array([inverter.get("cutout_v", math.nan)])
    delay = np.array([inverter.get("cutout_delay_s", math.nan)])
    return Timeline(
        edges, amps, amps.copy(), power, np.array([[load.conductance_s for load in loads]]),
        (power > 0.0) & bool(inverter), cutout, delay, np.array([math.nan]), np.zeros(1), ("load",), ("measured",),
    )  # fmt: skip


def setup_of(columns: int = 1, **changes: Any) -> Setup:
    """A warm, rested, full battery stopped at 10 V at once."""
    given: dict[str, Any] = {
        "load_factor": np.ones((1, columns)), "cell_k": WARM_K, "ambient_k": WARM_K, "cutoff_v": 10.0,
        "cutoff_delay_s": 0.0,
    }  # fmt: skip
    return Setup(**(given | changes))


def run(packs: Sequence[CircuitParameters] | Circuit, loads: Sequence[LoadPiece] | Timeline, **changes: Any) -> Run:
    """Simulate the packs side by side under the same loads."""
    circuit = packs if isinstance(packs, Circuit) else circuit_of(packs)
    timeline = loads if isinstance(loads, Timeline) else timeline_of(loads)
    return simulate(circuit, timeline, setup_of(changes.pop("columns", circuit.charge_c.shape[-1]), **changes))
