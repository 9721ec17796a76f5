"""From a vector of parameters to a circuit: names, priors, and the curve that a discharge implies.

The charge Q and the curve are not free. The reference discharge fixes them: given resistances and tau_D, its
end says how much charge lies above the cut-off, and each point of its recorded curve says what the
open-circuit voltage was. So every draw of the other parameters still replays that discharge.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.battery import prior
from planner.battery.circuit import Circuit, gap_constants
from planner.battery.curve import GRID, SOC_GRID, CurveTable
from planner.battery.curve_points import curves_through
from planner.battery.prior import Guess, per_ah
from planner.constants import (
    COPPER_ALPHA_PER_K,
    COPPER_REFERENCE_K,
    GAS_CONSTANT,
    ZERO_CELSIUS_K,
)

Floats = NDArray[np.float64]

RESISTANCE_REFERENCE_K = ZERO_CELSIUS_K + 25.0
COLDEST_K = 60.0  # width of the band below the coldest test in which the prior loss goes on
END_SLOPE_CELLS = 0.02  # part of the curve's end over which its slope is taken for the last stretch


@dataclass(frozen=True, slots=True)
class Reference:
    """The discharge that fixes Q and the curve.

    current_a : mean. mid : (m,) charge out [C], volts of the recorded curve, empty arrays when none.
    relative : standard uncertainty of its charge.
    """

    charge_c: float
    duration_s: float
    current_a: float
    cutoff_v: float
    cell_k: float
    start_soc: float
    curve_charge_c: Floats
    curve_v: Floats
    relative: float


@dataclass(frozen=True, slots=True)
class Layout:
    """Names and priors of the vector. cold_k : temperatures of colder tests, falling from the warmest."""

    names: tuple[str, ...]
    guesses: tuple[Guess, ...]
    pairs: int
    warm_k: float
    cold_k: tuple[float, ...]
    mass_kg: float

    def column(self, theta: Floats, name: str) -> Floats:
        """Values (r,) of one parameter, out of its logarithm where it has one."""
        k = self.names.index(name)
        values: Floats = theta[:, k]
        return np.exp(values) if self.guesses[k].logarithmic else values

    def centre(self) -> Floats:
        """Prior centres of the vector."""
        return np.array([np.log(g.centre) if g.logarithmic else g.centre for g in self.guesses])

    def spread(self) -> Floats:
        """Prior standard deviations of the vector."""
        return np.array([g.spread for g in self.guesses])


def layout(charge_c: float, mass_kg: float | None, mass_known: bool, pairs: int, warm_k: float,
           cold_k: tuple[float, ...]) -> Layout:  # fmt: skip
    """The vector for a unit of about charge_c, with one resistance prior per kind, a cold loss per test."""
    mass = mass_kg if mass_kg is not None else prior.MASS_KG_PER_AH.centre * charge_c / 3600.0
    mass_spread = 0.0 if mass_known else prior.MASS_KG_PER_AH.spread
    capacity = prior.SPECIFIC_HEAT_J_PER_KG_K
    conductance = prior.CONDUCTANCE_W_PER_K
    rows: list[tuple[str, Guess]] = [
        ("metal_ohm", Guess(per_ah(prior.METAL_OHM_AH, charge_c), prior.METAL_OHM_AH.spread)),
        ("cell_ohm", Guess(per_ah(prior.CELL_OHM_AH, charge_c), prior.CELL_OHM_AH.spread)),
        ("diffusion_tau_s", prior.DIFFUSION_TAU_S),
        ("gap_lag", prior.GAP_LAG),
        ("activation", prior.ACTIVATION_J_PER_MOL),
        ("diffusion_activation", prior.DIFFUSION_ACTIVATION_J_PER_MOL),
        ("curve_shift_v", Guess(0.0, prior.CURVE_SHIFT_V, logarithmic=False)),
        ("charge_factor", Guess(1.0, 0.005)),
        ("heat_capacity", Guess(mass * capacity.centre, float(np.hypot(capacity.spread, mass_spread)))),
        (
            "conductance",
            Guess(conductance.centre * (mass / prior.CONDUCTANCE_MASS_KG) ** (2 / 3), conductance.spread),
        ),
        ("cold_loss_below", prior.COLD_LOSS_PER_K),
    ]
    for k in range(pairs):
        share = per_ah(prior.PAIR_OHM_AH, charge_c) / pairs
        rows.append((f"pair_ohm_{k}", Guess(share, prior.PAIR_OHM_AH.spread)))
        rows.append((f"pair_tau_{k}", prior.PAIR_TAUS_S[k]))
    # a test decides these: the prior is only there to keep the fit from wandering
    loose = Guess(prior.COLD_LOSS_PER_K.centre, 5 * prior.COLD_LOSS_PER_K.spread, logarithmic=False)
    rows.extend((f"cold_loss_{k}", loose) for k in range(len(cold_k)))
    names, guesses = zip(*rows, strict=True)
    return Layout(names, guesses, pairs, warm_k, cold_k, mass)


def circuit_of(plan: Layout, theta: Floats, reference: Reference) -> Circuit:
    """Circuit of r parameter sets, arrays (1, 1, r). theta : (r, names)."""
    sets = len(theta)

    def unit(values: Floats) -> Floats:
        return np.broadcast_to(values, (1, 1, sets))

    pair_ohm = np.stack([unit(plan.column(theta, f"pair_ohm_{k}")) for k in range(plan.pairs)])
    pair_tau = np.stack([unit(plan.column(theta, f"pair_tau_{k}")) for k in range(plan.pairs)])
    charge, table = _charge_and_curve(plan, theta, reference)
    edges = np.array([plan.warm_k, *plan.cold_k])
    widths = np.append(edges[:-1] - edges[1:], COLDEST_K)
    losses = [plan.column(theta, f"cold_loss_{k}") for k in range(len(plan.cold_k))]
    losses.append(plan.column(theta, "cold_loss_below"))
    if not plan.cold_k:  # one temperature only: the prior's fall begins gently
        edges, widths = np.array([plan.warm_k, plan.warm_k - prior.GENTLE_K]), np.array([prior.GENTLE_K, COLDEST_K])
        losses = [prior.GENTLE_SHARE * losses[0], losses[0]]
    return Circuit(
        curve=CurveTable(table),
        offset=(np.arange(sets) * (GRID + 1))[np.newaxis, np.newaxis],
        charge_c=unit(charge),
        metal_ohm=unit(plan.column(theta, "metal_ohm")),
        cell_ohm=unit(plan.column(theta, "cell_ohm")),
        pair_ohm=pair_ohm,
        pair_tau_s=pair_tau,
        diffusion_tau_s=unit(plan.column(theta, "diffusion_tau_s")),
        gap_lag=unit(plan.column(theta, "gap_lag")),
        activation_k=unit(plan.column(theta, "activation") / GAS_CONSTANT),
        diffusion_activation_k=unit(plan.column(theta, "diffusion_activation") / GAS_CONSTANT),
        reference_k=RESISTANCE_REFERENCE_K,
        cold_from_k=edges.reshape(-1, 1, 1, 1),
        cold_width_k=widths.reshape(-1, 1, 1, 1),
        cold_loss_per_k=np.stack([unit(np.maximum(loss, 0.0)) for loss in losses]),
        heat_capacity_j_per_k=unit(plan.column(theta, "heat_capacity")),
        conductance_w_per_k=unit(plan.column(theta, "conductance")),
    )


def _along(plan: Layout, theta: Floats, reference: Reference, time_s: Floats) -> tuple[Floats, Floats]:
    """Sag [V] and gap as a charge [C] of the reference discharge, (r, m), at times (m,)."""
    amps, kelvin = reference.current_a, reference.cell_k
    inverse = 1.0 / kelvin - 1.0 / RESISTANCE_REFERENCE_K
    factor = np.exp(plan.column(theta, "activation") / GAS_CONSTANT * inverse)[:, np.newaxis]
    metal = plan.column(theta, "metal_ohm") * (1.0 + COPPER_ALPHA_PER_K * (kelvin - COPPER_REFERENCE_K))
    cells = plan.column(theta, "cell_ohm")[:, np.newaxis] * np.ones_like(time_s)
    for k in range(plan.pairs):
        ohm, tau = plan.column(theta, f"pair_ohm_{k}"), plan.column(theta, f"pair_tau_{k}")
        cells = cells + ohm[:, np.newaxis] * (1.0 - np.exp(-time_s / tau[:, np.newaxis]))
    # own heating lowers the cells' part as the discharge goes on
    mean_ohm = metal[:, np.newaxis] + cells[:, -1:] * factor
    conductance = plan.column(theta, "conductance")[:, np.newaxis]
    lag = plan.column(theta, "heat_capacity")[:, np.newaxis] / conductance
    warmer = amps**2 * mean_ohm / conductance * (1.0 - np.exp(-time_s / lag))
    hot = kelvin + 0.9 * warmer  # the heating itself falls a little with the resistance
    factor = np.exp(
        plan.column(theta, "activation")[:, np.newaxis]
        / GAS_CONSTANT
        * (1.0 / hot - 1.0 / RESISTANCE_REFERENCE_K)
    )
    slower = np.exp(
        plan.column(theta, "diffusion_activation")[:, np.newaxis]
        / GAS_CONSTANT
        * (1.0 / hot - 1.0 / RESISTANCE_REFERENCE_K)
    )
    sag = amps * (metal[:, np.newaxis] + cells * factor)
    k_1, tau_1, k_2, tau_2 = gap_constants(plan.column(theta, "diffusion_tau_s")[:, np.newaxis] * slower)
    answered_s = time_s / plan.column(theta, "gap_lag")[:, np.newaxis]
    gap = amps * (k_1 * (1.0 - np.exp(-answered_s / tau_1)) + k_2 * (1.0 - np.exp(-answered_s / tau_2)))
    return sag, gap


def _charge_and_curve(plan: Layout, theta: Floats, reference: Reference) -> tuple[Floats, Floats]:
    """Q (r,) [C] and curves (r, GRID + 1) [V] that make the reference discharge come out."""
    low = float(np.interp(reference.cutoff_v, prior.CURVE, SOC_GRID))
    shape = np.interp(low + (1.0 - low) * SOC_GRID, SOC_GRID, prior.CURVE)
    plateau = np.minimum(SOC_GRID / prior.KNEE_SOC, 1.0)
    base = shape + plan.column(theta, "curve_shift_v")[:, np.newaxis] * plateau
    end_sag, end_gap = _along(plan, theta, reference, np.array([reference.duration_s]))
    end_v = reference.cutoff_v + end_sag[:, 0]
    taken = (1.0 - reference.start_soc) + 0.0
    has_curve = len(reference.curve_charge_c) >= 3
    if has_curve:
        left = end_sag[:, 0] / _end_slope_v_per_c(reference)
        charge = (reference.charge_c + end_gap[:, 0] + left) / (1.0 - taken)
    else:
        x_end = np.array([np.interp(v, row, SOC_GRID) for v, row in zip(end_v, base, strict=True)])
        charge = (reference.charge_c + end_gap[:, 0]) / (1.0 - taken - x_end)
    factor = plan.column(theta, "charge_factor")
    if not has_curve:
        return charge * factor, base
    return charge * factor, _through_points(plan, theta, reference, base, charge)


def _end_slope_v_per_c(reference: Reference) -> float:
    """Slope of the curve's last stretch [V per C], never flatter than the prior's own knee.

    Points too sparse to show the knee would say a slope far too flat.
    """
    span = reference.curve_charge_c[-1]
    near = reference.curve_charge_c >= span * (1.0 - END_SLOPE_CELLS)
    inside = reference.curve_v[near]
    knee = (prior.CURVE[8] - prior.CURVE[0]) / (SOC_GRID[8] * span)
    if len(inside) < 2:
        return float(knee)
    seen = (inside[0] - inside[-1]) / (reference.curve_charge_c[near][-1] - reference.curve_charge_c[near][0])
    return float(max(seen, 0.25 * knee))


def _through_points(
    plan: Layout, theta: Floats, reference: Reference, base: Floats, charge: Floats
) -> Floats:
    """Curves through the recorded discharge, from the cut-off at empty upward."""
    points_c, points_v = reference.curve_charge_c, reference.curve_v
    sag, gap = _along(plan, theta, reference, points_c / reference.current_a)
    x = reference.start_soc - (points_c + gap) / charge[:, np.newaxis]
    empty = np.zeros((len(base), 1))
    place = np.concatenate([empty, np.maximum(x[:, ::-1], 0.0)], axis=1)
    volts = np.concatenate([empty + reference.cutoff_v, (points_v + sag)[:, ::-1]], axis=1)
    return curves_through(base, np.maximum.accumulate(place, axis=1), np.maximum.accumulate(volts, axis=1))
