"""The equivalent circuit of battery units: parameters, states and one exact step.

Discharge current is positive. Arrays carry the scenario on their last axis; in a bank the axes before
it are parallel branch and unit in series, so that one unit is simply shape (1, 1, n).

    V        = U(x) - I R0(T) - v,         x = (soc - s - (1 - g)) / g,  g = g(T)
    dsoc/dt  = -I / Q
    ds_i/dt  = (k_i I / Q - s_i) / tau_i   two states of the diffusion gap
    dv/dt    = (I R1(T) - v) / tau_RC      one a pair
    C dT/dt  = I (U(soc) - V) - G (T - T_ambient)

Source: circuit with a diffusion element after Fan et al., Applied Energy 321 (2022) 119336; the
element's transfer function in two states, matched at its first three moments (hand calculation).
Entropic heat is left out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.battery.curve import CurveTable
from planner.constants import COPPER_ALPHA_PER_K, COPPER_REFERENCE_K

Floats = NDArray[np.float64]

LEAST_COLD_FRACTION = 0.05  # g never falls below this, so that x stays finite (assumption)
REFRESH_K = 0.2  # between full refreshes R moves along its tangent: under 0.01 % of R at this distance


def gap_constants(tau_d_s: Floats | float) -> tuple[Floats, Floats, Floats, Floats]:
    """The diffusion element's two gains and time constants [s]: k1, tau1, k2, tau2.

    Gains sum to tau_d / 3 (the steady gap over I / Q); tau1 is the element's slowest mode tau_d / pi^2
    with that mode's own weight; tau2 keeps the first moment tau_d^2 / 45.
    """
    tau_d = np.asarray(tau_d_s, dtype=float)
    tau_1 = tau_d / np.pi**2
    k_1 = 2.0 * tau_d / np.pi**2
    k_2 = tau_d / 3.0 - k_1
    tau_2 = (tau_d**2 / 45.0 - k_1 * tau_1) / k_2
    return k_1, tau_1, k_2, tau_2


@dataclass(frozen=True, slots=True)
class Circuit:
    """Parameters of units in n scenarios; every array broadcasts to (..., n).

    curve, offset : open-circuit curves, and where each unit's row starts: row * (GRID + 1), integers.
    charge_c : Q. metal_ohm : leads and switch at 20 degC. cell_ohm : cells at reference_k.
    pair_ohm, pair_tau_s : (pairs, ..., n) at reference_k.
    diffusion_tau_s : tau_D at reference_k. activation_k, diffusion_activation_k : E / R of the cold laws.
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
    "offset", "charge_c", "metal_ohm", "cell_ohm", "pair_ohm", "pair_tau_s", "diffusion_tau_s", "activation_k",
    "diffusion_activation_k", "cold_from_k", "cold_width_k", "cold_loss_per_k", "heat_capacity_j_per_k",
    "conductance_w_per_k",
)  # fmt: skip


def first_axis_sum(values: Floats) -> Floats:
    """Sum over the first axis, free of charge where it has one place."""
    if len(values) == 1:
        return values[0]  # type: ignore[no-any-return]
    total: Floats = values.sum(axis=0)
    return total


def units_sum(values: Floats) -> Floats:
    """Sum over branches and units in series, (branches, series, n) -> (n,)."""
    return first_axis_sum(first_axis_sum(values))


def remaining_cold_fraction(circuit: Circuit, temp_k: Floats) -> Floats:
    """g(T): the part of Q that is usable at this cell temperature, 1 when warm. Shape as temp_k."""
    depth = np.minimum(np.maximum(circuit.cold_from_k - temp_k, 0.0), circuit.cold_width_k)
    fallen = first_axis_sum(circuit.cold_loss_per_k * depth)
    return np.maximum(1.0 - fallen, LEAST_COLD_FRACTION)


@dataclass(frozen=True, slots=True)
class Warmth:
    """What depends on cell temperature.

    temp_k : where it was worked out in full. slope_per_k : relative fall of the cells' part per kelvin.
    gap_gain_s, gap_tau_s : of the two gap states.
    """

    temp_k: Floats
    slope_per_k: Floats
    metal_ohm: Floats
    cell_ohm: Floats
    base_pair_ohm: Floats
    r0_ohm: Floats
    pair_ohm: Floats
    gap_gain_s: tuple[Floats, Floats]
    gap_tau_s: tuple[Floats, Floats]
    cold_fraction: Floats


def warmth(circuit: Circuit, temp_k: Floats) -> Warmth:
    """Resistances, diffusion and usable part at temp_k. Metal by copper's law, cells by Arrhenius."""
    inverse = 1.0 / temp_k - 1.0 / circuit.reference_k
    factor = np.exp(circuit.activation_k * inverse)
    slower = np.exp(circuit.diffusion_activation_k * inverse)
    metal = circuit.metal_ohm * (1.0 + COPPER_ALPHA_PER_K * (temp_k - COPPER_REFERENCE_K))
    cell, pair = circuit.cell_ohm * factor, circuit.pair_ohm * factor
    k_1, tau_1, k_2, tau_2 = gap_constants(circuit.diffusion_tau_s * slower)
    return Warmth(
        temp_k=temp_k,
        slope_per_k=circuit.activation_k / (temp_k * temp_k),
        metal_ohm=metal,
        cell_ohm=cell,
        base_pair_ohm=pair,
        r0_ohm=metal + cell,
        pair_ohm=pair,
        gap_gain_s=(k_1, k_2),
        gap_tau_s=(tau_1, tau_2),
        cold_fraction=remaining_cold_fraction(circuit, temp_k),
    )


def followed(circuit: Circuit, warm: Warmth, temp_k: Floats) -> Warmth:
    """warm with resistances along their tangent and the usable part exact at temp_k, near warm.temp_k.

    Metal and diffusion stay: over REFRESH_K they move by less than 0.1 % and 0.8 % of themselves.
    """
    lower = 1.0 - warm.slope_per_k * (temp_k - warm.temp_k)
    return Warmth(
        warm.temp_k, warm.slope_per_k, warm.metal_ohm, warm.cell_ohm, warm.base_pair_ohm,
        warm.metal_ohm + warm.cell_ohm * lower, warm.base_pair_ohm * lower,
        warm.gap_gain_s, warm.gap_tau_s, remaining_cold_fraction(circuit, temp_k),
    )  # fmt: skip


@dataclass(slots=True)
class State:
    """Where the units are: soc, gap states, pair voltages (pairs, ..., n) and cell temperature."""

    soc: Floats
    gap_1: Floats
    gap_2: Floats
    pair_v: Floats
    temp_k: Floats

    def select(self, index: NDArray[np.intp]) -> State:
        """The same state with only the scenarios of index, copied."""
        return State(
            self.soc[..., index], self.gap_1[..., index], self.gap_2[..., index],
            self.pair_v[..., index], self.temp_k[..., index],
        )  # fmt: skip


def rested(circuit: Circuit, shape: tuple[int, ...], soc: Floats | float, temp_k: Floats | float) -> State:
    """A rested battery at soc and temp_k, arrays of the given shape (branches, series, n)."""
    return State(
        soc=np.broadcast_to(np.asarray(soc, dtype=float), shape).copy(),
        gap_1=np.zeros(shape),
        gap_2=np.zeros(shape),
        pair_v=np.zeros((len(circuit.pair_ohm), *shape)),
        temp_k=np.broadcast_to(np.asarray(temp_k, dtype=float), shape).copy(),
    )


@dataclass(frozen=True, slots=True)
class Decay:
    """How states fade and answer over a time t: factors e, and gains of a constant current.

    pair_share : part of a pair's resistance that has answered. soc_per_a : fall of the reading x (before the
    cold fraction) per ampere, gap included [1/A].
    """

    time_s: float
    gap_1: Floats
    gap_2: Floats
    pair: Floats
    gap_1_per_a: Floats
    gap_2_per_a: Floats
    pair_share: Floats
    soc_per_a: Floats
    air: Floats


def decay(circuit: Circuit, warm: Warmth, time_s: float) -> Decay:
    """Exact exponential factors over time_s [s] at the temperature of warm."""
    e_1 = np.exp(-time_s / warm.gap_tau_s[0])
    e_2 = np.exp(-time_s / warm.gap_tau_s[1])
    e_v = np.exp(-time_s / circuit.pair_tau_s)
    gain_1 = warm.gap_gain_s[0] * (1.0 - e_1) / circuit.charge_c
    gain_2 = warm.gap_gain_s[1] * (1.0 - e_2) / circuit.charge_c
    return Decay(
        time_s=time_s,
        gap_1=e_1,
        gap_2=e_2,
        pair=e_v,
        gap_1_per_a=gain_1,
        gap_2_per_a=gain_2,
        pair_share=1.0 - e_v,
        soc_per_a=time_s / circuit.charge_c + gain_1 + gain_2,
        air=np.exp(-time_s * circuit.conductance_w_per_k / circuit.heat_capacity_j_per_k),
    )


def reading(warm: Warmth, soc: Floats, gap: Floats) -> Floats:
    """x, the place on the open-circuit curve that the terminals see."""
    return 1.0 + (soc - gap - 1.0) / warm.cold_fraction


def advance(state: State, faded: Decay, circuit: Circuit, warm: Warmth, current_a: Floats, heat_w: Floats,
            ambient_k: Floats | float) -> State:  # fmt: skip
    """The state after faded.time_s at constant current and heat, exact for both. Returns a new State."""
    settled = ambient_k + heat_w / circuit.conductance_w_per_k
    return State(
        soc=state.soc - current_a * (faded.time_s / circuit.charge_c),
        gap_1=state.gap_1 * faded.gap_1 + current_a * faded.gap_1_per_a,
        gap_2=state.gap_2 * faded.gap_2 + current_a * faded.gap_2_per_a,
        pair_v=state.pair_v * faded.pair + current_a * (warm.pair_ohm * faded.pair_share),
        temp_k=settled + (state.temp_k - settled) * faded.air,
    )
