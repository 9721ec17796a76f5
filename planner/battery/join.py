"""Different units side by side: circuits of single units joined into one bank."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import Circuit
from planner.battery.curve import GRID, CurveTable

Floats = NDArray[np.float64]

_PLAIN = (
    "charge_c", "metal_ohm", "cell_ohm", "diffusion_tau_s", "gap_lag", "activation_k", "diffusion_activation_k",
    "heat_capacity_j_per_k", "conductance_w_per_k",
)  # fmt: skip
# fields with an axis of their own in front, and what an empty place there holds
_STACKED = {
    "pair_ohm": 0.0,
    "pair_tau_s": 1.0,
    "cold_from_k": 0.0,
    "cold_width_k": 0.0,
    "cold_loss_per_k": 0.0,
}


def join_units(circuits: Sequence[Circuit], branches: int, series: int) -> Circuit:
    """One bank (branches, series, n) of single units (1, 1, n), branch by branch, all with the same scenarios.

    Units with fewer resistor-capacitor pairs or cold bands than others get empty ones.
    """
    count = circuits[0].charge_c.shape[-1]
    shape = (branches, series, count)
    rows = np.cumsum([0, *(len(circuit.curve.volts) for circuit in circuits[:-1])])
    offset = [
        np.broadcast_to(c.offset, (1, 1, count)) + row * (GRID + 1)
        for c, row in zip(circuits, rows, strict=True)
    ]
    plain = {
        name: np.concatenate([np.broadcast_to(getattr(c, name), (1, 1, count)) for c in circuits]).reshape(
            shape
        )
        for name in _PLAIN
    }
    stacked = {name: _stacked(circuits, name, empty, shape) for name, empty in _STACKED.items()}
    return Circuit(
        curve=CurveTable(np.concatenate([circuit.curve.volts for circuit in circuits])),
        offset=np.concatenate(offset).reshape(shape),
        reference_k=circuits[0].reference_k,
        **plain,
        **stacked,
    )


def _stacked(circuits: Sequence[Circuit], name: str, empty: float, shape: tuple[int, int, int]) -> Floats:
    longest = max(len(getattr(circuit, name)) for circuit in circuits)
    parts = []
    for circuit in circuits:
        values = getattr(circuit, name)
        full = np.full((longest, 1, 1, shape[-1]), empty)
        full[: len(values)] = np.broadcast_to(values, (len(values), 1, 1, shape[-1]))
        parts.append(full)
    return np.concatenate(parts, axis=1).reshape(longest, *shape)
