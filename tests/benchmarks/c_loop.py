"""The plain loop in C, built on the spot with the system's compiler and called in this process."""

from __future__ import annotations

import ctypes
import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from planner.battery.curve import SOC_GRID
from planner.constants import GAS_CONSTANT
from tests.oracles.circuit_truth import CircuitParameters
from tests.oracles.pieces import LoadPiece

Floats = NDArray[np.float64]
SOURCE = Path(__file__).with_name("circuit.c")


def compiled(folder: Path) -> ctypes.CDLL | None:
    """The loop as a library in a folder; None where there is no compiler."""
    compiler = shutil.which("cc")
    if compiler is None:
        return None
    made = folder / "circuit.so"
    subprocess.run(
        [compiler, "-O2", "-shared", "-fPIC", "-o", str(made), str(SOURCE), "-lm"],
        check=True,
        capture_output=True,
    )
    return ctypes.CDLL(str(made))


def arguments(
    packs: Sequence[CircuitParameters], loads: Sequence[LoadPiece], cell_k: float, air_k: float
) -> tuple[list[object], Floats]:
    """What the loop is called with, and where it writes: (packs, 6)."""
    first = packs[0]
    assert all(pack.ocv_v == first.ocv_v for pack in packs)
    assert not any(load.power_w or load.conductance_s for load in loads)
    width_k = first.g_temps_k[-1] - first.g_temps_k[0]
    rows = np.array([
        [p.q_c, p.r_lead_ohm, p.r_cell_ohm, p.r1_ohm, p.tau1_s, p.tau_d_s, p.activation_j_per_mol / GAS_CONSTANT,
         p.tau_d_activation_j_per_mol / GAS_CONSTANT, (p.g_values[-1] - p.g_values[0]) / width_k, p.heat_capacity_j_per_k,
         p.conductance_w_per_k]
        for p in packs
    ])  # fmt: skip
    volts = np.interp(SOC_GRID, first.ocv_z, first.ocv_v)
    lengths, amps = np.array([load.length_s for load in loads]), np.array([load.current_a for load in loads])
    out = np.zeros((len(packs), 6))
    plain = ctypes.c_double
    given: list[object] = [
        len(packs), _pointer(rows), _pointer(volts), len(volts) - 1, len(loads), _pointer(lengths), _pointer(amps),
        plain(first.t_ref_k), plain(first.lead_ref_k), plain(first.lead_alpha_per_k), plain(cell_k), plain(air_k),
        plain(first.cutoff_v), _pointer(out),
    ]  # fmt: skip
    given.append((rows, volts, lengths, amps))  # kept alive as long as the arguments; not passed on
    return given, out


def call(library: ctypes.CDLL, given: Sequence[object]) -> None:
    library.run(*given[:-1])


def _pointer(array: Floats) -> ctypes.Array[ctypes.c_double] | object:
    return array.ctypes.data_as(ctypes.POINTER(ctypes.c_double))
