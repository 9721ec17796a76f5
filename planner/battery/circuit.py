"""The equivalent circuit of battery units: parameters, states and one exact step.

Discharge current is positive. Arrays carry the scenario on their last axis; in a bank the axes before
it are parallel branch and unit in series, so that one unit is simply shape (1, 1, n).

    V        = U(x) - I R0(T) - v,         x = (soc - s - (1 - g)) / g,  g = g(T)
    dsoc/dt  = -I / Q
    ds_i/dt  = (k_i I / Q - s_i) / (lag tau_i)   two states of the diffusion gap
    dv/dt    = (I R1(T) - v) / tau_RC      one a pair
    C dT/dt  = I (U(soc) - V) - G (T - T_ambient)

Source: circuit with a diffusion element after Fan et al., Applied Energy 321 (2022) 119336; the
element's transfer function in two states, matched at its first three moments (hand calculation).
Entropic heat is left out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.battery.curve import CurveTable
from planner.constants import COPPER_ALPHA_PER_K, COPPER_REFERENCE_K

Floats = NDArray[np.float64]

LEAST_COLD_FRACTION = 0.05  # g never falls below this, so that x stays finite (assumption)
# the two diffusion states, gains and time constants in units of tau_D: the element's slowest mode with its own
# weight, and a second one that keeps the steady gap (1 / 3) and the first moment (1 / 45)
GAP_GAIN = (2.0 / math.pi**2, 1.0 / 3.0 - 2.0 / math.pi**2)
GAP_TAU = (1.0 / math.pi**2, (1.0 / 45.0 - 2.0 / math.pi**4) / (1.0 / 3.0 - 2.0 / math.pi**2))


def gap_constants(tau_d_s: Floats | float) -> tuple[Floats, Floats, Floats, Floats]:
    """The diffusion element's two gains and time constants [s]: k1, tau1, k2, tau2.

    Gains sum to tau_d / 3, the steady gap over I / Q.
    """
    tau_d = np.asarray(tau_d_s, dtype=float)
    return GAP_GAIN[0] * tau_d, GAP_TAU[0] * tau_d, GAP_GAIN[1] * tau_d, GAP_TAU[1] * tau_d


@dataclass(frozen=True, slots=True)
class Circuit:
    """Parameters of units in n scenarios; every array broadcasts to (..., n).

    curve, offset : open-circuit curves, and where each unit's row starts: row * (GRID + 1), integers.
    charge_c : Q. metal_ohm : leads and switch at 20 degC. cell_ohm : cells at reference_k.
    pair_ohm, pair_tau_s : (pairs, ..., n) at reference_k.
    diffusion_tau_s : tau_D at reference_k. gap_lag : factor on the gap's time constants, 1 of one diffusion element;
    its steady value does not hang on it. activation_k, diffusion_activation_k : E / R of the cold laws.
    cold_from_k : (bands, 1...) warm edges of the bands of g; cold_width_k their widths;
    cold_loss_per_k : (bands, ..., n) fall of g per kelvin inside each band.
    heat_capacity_j_per_k, conductance_w_per_k : of one unit to the air around.
    """

    curve: CurveTable
    offset: NDArray[np.intp]
    charge_c: Floats
    metal_ohm: Floats
    cell_ohm: Floats
    pair_ohm: Floats
    pair_tau_s: Floats
    diffusion_tau_s: Floats
    gap_lag: Floats
    activation_k: Floats
    diffusion_activation_k: Floats
    reference_k: float
    cold_from_k: Floats
    cold_width_k: Floats
    cold_loss_per_k: Floats
    heat_capacity_j_per_k: Floats
    conductance_w_per_k: Floats

    def without_branch(self, lost: int) -> Circuit:
        """The same bank with one parallel branch fewer, all units given for themselves."""
        shape = self.charge_c.shape
        changed = {}
        for name in _SCENARIO_FIELDS:
            values = getattr(self, name)
            if values.shape[-3] == shape[-3]:
                changed[name] = np.delete(values, lost, axis=-3)
        return replace(self, **changed)

    def select(self, index: NDArray[np.intp]) -> Circuit:
        """The same circuit with only the scenarios of index."""
        changed = {
            name: getattr(self, name)[..., index]
            for name in _SCENARIO_FIELDS
            if getattr(self, name).shape[-1] > 1
        }
        return replace(self, **changed)


_SCENARIO_FIELDS = (
    "offset", "charge_c", "metal_ohm", "cell_ohm", "pair_ohm", "pair_tau_s", "diffusion_tau_s", "gap_lag",
    "activation_k", "diffusion_activation_k", "cold_from_k", "cold_width_k", "cold_loss_per_k", "heat_capacity_j_per_k",
    "conductance_w_per_k",
)  # fmt: skip


def first_axis_sum(values: Floats) -> Floats:
    """Sum over the first axis, free of charge where it has one place."""
    if len(values) == 1:
        return values[0]  # type: ignore[no-any-return]
    total: Floats = values.sum(axis=0)
    return total


def remaining_cold_fraction(circuit: Circuit, temp_k: Floats) -> Floats:
    """g(T): the part of Q that is usable at this cell temperature, 1 when warm. Shape as temp_k."""
    depth = np.minimum(np.maximum(circuit.cold_from_k - temp_k, 0.0), circuit.cold_width_k)
    fallen = first_axis_sum(circuit.cold_loss_per_k * depth)
    return np.maximum(1.0 - fallen, LEAST_COLD_FRACTION)


@dataclass(frozen=True, slots=True)
class Warmth:
    """What depends on cell temperature: resistances, tau_D and the usable part g. Shapes as the temperature."""

    r0_ohm: Floats
    pair_ohm: Floats
    diffusion_tau_s: Floats
    cold_fraction: Floats


def arrhenius(activation_k: Any, temp_k: Any, reference_k: float) -> Any:
    """Factor on a cell's resistance or tau_D; activation_k is E / R. Numbers or arrays."""
    return np.exp(activation_k * (1.0 / temp_k - 1.0 / reference_k))


def copper(temp_k: Any) -> Any:
    """Factor on a metal resistance stated at 20 degC. Numbers or arrays."""
    return 1.0 + COPPER_ALPHA_PER_K * (temp_k - COPPER_REFERENCE_K)


def warmth(circuit: Circuit, temp_k: Floats) -> Warmth:
    """Resistances, diffusion and usable part at temp_k. Metal by copper's law, cells by Arrhenius."""
    cell = arrhenius(circuit.activation_k, temp_k, circuit.reference_k)
    slow = arrhenius(circuit.diffusion_activation_k, temp_k, circuit.reference_k)
    return Warmth(
        r0_ohm=circuit.metal_ohm * copper(temp_k) + circuit.cell_ohm * cell,
        pair_ohm=circuit.pair_ohm * cell,
        diffusion_tau_s=circuit.diffusion_tau_s * slow,
        cold_fraction=remaining_cold_fraction(circuit, temp_k),
    )


@dataclass(frozen=True, slots=True)
class Decay:
    """How states fade and answer over a time: factors e, and gains of a constant current.

    pair_share : part of a pair's resistance that has answered. soc_per_a : fall of the reading x (before the
    cold fraction) per ampere, gap included [1/A].
    """

    gap_1: Floats
    gap_2: Floats
    pair: Floats
    gap_1_per_a: Floats
    gap_2_per_a: Floats
    pair_share: Floats
    soc_per_a: Floats


def decay(circuit: Circuit, warm: Warmth, time_s: Floats | float) -> Decay:
    """Exact exponential factors over time_s [s] at the temperature of warm; times and units broadcast."""
    turns = time_s / (warm.diffusion_tau_s * circuit.gap_lag)
    gap_1, gap_2 = np.exp(turns * (-1.0 / GAP_TAU[0])), np.exp(turns * (-1.0 / GAP_TAU[1]))
    pair = np.exp(-time_s / circuit.pair_tau_s)
    slowness = warm.diffusion_tau_s / circuit.charge_c
    gain_1, gain_2 = slowness * (GAP_GAIN[0] * (1.0 - gap_1)), slowness * (GAP_GAIN[1] * (1.0 - gap_2))
    return Decay(
        gap_1=gap_1,
        gap_2=gap_2,
        pair=pair,
        gap_1_per_a=gain_1,
        gap_2_per_a=gain_2,
        pair_share=1.0 - pair,
        soc_per_a=time_s / circuit.charge_c + gain_1 + gain_2,
    )


def place_on_curve(soc: Any, gap: Any, usable_part: Any) -> Any:
    """x, the place on the open-circuit curve that the terminals see. Numbers or arrays."""
    return 1.0 + (soc - gap - 1.0) / usable_part


def reading(warm: Warmth, soc: Floats, gap: Floats) -> Floats:
    """`place_on_curve` at the temperature of warm."""
    return place_on_curve(soc, gap, warm.cold_fraction)  # type: ignore[no-any-return]
