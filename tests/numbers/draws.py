"""Packs and outings drawn over all that the readers take, invented: the engine must hold its laws on every one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planner.constants import COPPER_ALPHA_PER_K, COULOMB_PER_AH, ZERO_CELSIUS_K
from tests.oracles.circuit_truth import CircuitParameters
from tests.oracles.pieces import LoadPiece

COLDEST_K, HOTTEST_K = ZERO_CELSIUS_K - 60.0, ZERO_CELSIUS_K + 80.0  # as the outing's reader takes them
WARM_K = 298.15
GRID_Z = (0.0, 0.03, 0.08, 0.15, 0.3, 0.5, 0.7, 0.9, 0.97, 1.0)  # places that lie on the engine's own grid


@dataclass(frozen=True, slots=True)
class Case:
    """One outing on some packs."""

    packs: tuple[CircuitParameters, ...]
    loads: tuple[LoadPiece, ...]
    cell_k: float
    air_k: float
    start_soc: float
    cutoff_v: float
    wiring_ohm: float


def _log_uniform(rng: np.random.Generator, low: float, high: float) -> float:
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


def pack(
    rng: np.random.Generator, ah: float, warming: bool, cold_loss: float, cutoff_v: float
) -> CircuitParameters:
    """A pack of about that charge; its resistance falls as its size grows, its surface grows with its mass.

    Each number as far about its prior (`planner.battery.prior`) as no fit goes.
    """
    q_c = ah * COULOMB_PER_AH * float(rng.uniform(0.8, 1.2))
    ohm = _log_uniform(rng, 0.05, 2.0) / ah  # of a 100 Ah unit 0.5 to 20 mohm
    steps = rng.dirichlet(np.full(len(GRID_Z) - 1, 0.7)) * rng.uniform(1.0, 4.0)
    volts = rng.uniform(9.5, 11.0) + np.concatenate([[0.0], np.cumsum(steps + 1e-3)])
    return CircuitParameters(
        ocv_z=GRID_Z,
        ocv_v=tuple(float(v) for v in volts),
        q_c=q_c,
        r_lead_ohm=ohm * float(rng.uniform(0.0, 0.5)),
        r_cell_ohm=ohm,
        r1_ohm=ohm * float(rng.uniform(0.1, 1.5)),
        tau1_s=_log_uniform(rng, 0.5, 600.0),
        tau_d_s=_log_uniform(rng, 1.0, 4000.0),
        activation_j_per_mol=float(rng.uniform(0.0, 40e3)) if warming else 0.0,
        tau_d_activation_j_per_mol=float(rng.uniform(0.0, 30e3)) if warming else 0.0,
        lead_alpha_per_k=COPPER_ALPHA_PER_K,
        heat_capacity_j_per_k=110.0 * ah * float(rng.uniform(0.5, 2.0)) if warming else float("inf"),
        conductance_w_per_k=2.24 * (ah / 100.0) ** (2 / 3) * _log_uniform(rng, 0.3, 3.0) if warming else 0.0,
        g_temps_k=(263.15, WARM_K),
        g_values=(1.0 - cold_loss, 1.0),
        cutoff_v=cutoff_v,
    )


def load(rng: np.random.Generator, ah: float, shortest_s: float, wiring_ohm: float) -> LoadPiece:
    """One piece: a current, a power, a resistance, two of them, or nothing."""
    length_s = _log_uniform(rng, shortest_s, 6 * 3600.0)
    amps = ah * _log_uniform(rng, 1e-3, 3.0)
    # behind wiring, one sort a piece: the yardstick has only the current of a power in the wiring, the engine all of it
    kind = rng.integers(6) if wiring_ohm == 0.0 else rng.choice([0, 2, 5])
    return LoadPiece(
        length_s,
        current_a=amps if kind in (0, 1, 3) else 0.0,
        power_w=12.0 * amps if kind in (2, 3) else 0.0,
        conductance_s=amps / 12.0 if kind == 4 else 0.0,
        wiring_ohm=wiring_ohm,
    )


def case(rng: np.random.Generator, packs: int, warming: bool, shortest_s: float = 0.1) -> Case:
    """An outing of one to eight pieces that draws something, and packs it is tried on."""
    ah = _log_uniform(rng, 1.0, 2000.0)
    cold_loss = float(rng.uniform(0.0, 0.4))
    cutoff_v = float(rng.choice([0.5, 9.0, 10.0, 10.5, 11.0, 11.5]))
    wiring_ohm = 0.0 if rng.random() < 0.5 else _log_uniform(rng, 0.01, 1.0) / ah
    loads = tuple(load(rng, ah, shortest_s, wiring_ohm) for _ in range(rng.integers(1, 9)))
    draws = sum(
        piece.length_s * (piece.current_a + piece.power_w / 12.0 + piece.conductance_s * 12.0)
        for piece in loads
    )
    if draws / sum(piece.length_s for piece in loads) < ah / 500.0:  # else it repeats for months
        loads = (*loads, LoadPiece(3600.0, current_a=ah / 20.0, wiring_ohm=wiring_ohm))
    cell_k, air_k = rng.uniform(COLDEST_K, HOTTEST_K, 2) if warming else (WARM_K, WARM_K)
    start_soc = 1.0 if rng.random() < 0.4 else float(rng.uniform(0.0, 1.0))
    units = tuple(pack(rng, ah, warming, cold_loss, cutoff_v) for _ in range(packs))
    return Case(units, loads, float(cell_k), float(air_k), start_soc, cutoff_v, wiring_ohm)
