"""One step of many scenarios: who carries how much, and what it costs.

Within a step every branch carries a constant current; the states answer exactly. A pure current load on
one branch needs no solution; anything else is solved at the middle of the step, which makes the step
second order (checked against LSODA in the tests).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import (
    Circuit,
    Decay,
    Pace,
    State,
    Warmth,
    advance,
    decay,
    first_axis_sum,
    step_decays,
    units_sum,
    warmth,
)
from planner.battery.source import (
    Demand,
    Instant,
    ahead,
    branch_currents,
    bus,
    instant,
    total_current,
)

Floats = NDArray[np.float64]

@dataclass(frozen=True, slots=True)
class Moment:
    """Terminals at one instant: bus current, voltage and resistance (n,), branch currents, units."""

    current_a: Floats
    bus_v: Floats
    bus_ohm: Floats
    branch_a: Floats
    units: Instant


@dataclass(frozen=True, slots=True)
class Step:
    """One step done: both ends, the constant branch currents between, the new state, its warmth, the ledger.

    delivered_j, heat_j : (n,) at the terminals and inside all units; ohmic_j : the heat of resistances alone.
    gap_charge_c : (branches, series, n) charge times the gap it met, to tell later what the gap costs.
    """

    start: Moment
    end: Moment
    branch_a: Floats
    state: State
    warm: Warmth
    delivered_j: Floats
    heat_j: Floats
    ohmic_j: Floats
    gap_charge_c: Floats


@dataclass(frozen=True, slots=True)
class Network:
    """The wires: leads of the branches (branches, 1) and the cable to the loads (n,) [ohm]."""

    lead_ohm: Floats
    wiring_ohm: Floats


def moment(circuit: Circuit, warm: Warmth, state: State, demand: Demand, network: Network) -> Moment:
    """Currents and voltages at this instant under the demand."""
    return moment_of(instant(circuit, warm, state), demand, network)


def moment_of(units: Instant, demand: Demand, network: Network) -> Moment:
    """The same of units already looked up: a load switching changes nothing inside them."""
    joined = bus(units, network.lead_ohm)
    total = total_current(joined, demand, network.wiring_ohm)
    return Moment(total, joined.emf_v - total * joined.ohm, joined.ohm, branch_currents(joined, total), units)


def take_step(circuit: Circuit, steps: Pace, state: State, start: Moment, demand: Demand,
              end_demand: Demand, network: Network, ambient_k: Floats | float,
              variance_a2: Floats | None) -> Step:  # fmt: skip
    """Advance every scenario by the step of steps. demand holds at the middle, end_demand at the end.

    variance_a2 : (n,) mean square of the bus current about its mean where a coarsened piece hides it.
    Resistances are those of the middle of the step, its temperature foreseen from the heat at its start.

    The ledger integrates delivered energy and heat apart: Simpson's rule on the open-circuit voltages,
    the exact mean of the exponential pair voltages.
    """
    warm = warmth(circuit, _middle_temp_k(circuit, state, start, steps, ambient_k))
    half, full = step_decays(circuit, warm, steps)
    time_s = steps.span_s
    direct = len(start.branch_a) == 1 and demand.linear and not demand.conductance_s.any()
    if direct:
        branch = demand.current_a[np.newaxis]
        middle = ahead(circuit, warm, state, half, branch[:, np.newaxis])
    else:
        middle = ahead(circuit, warm, state, half, start.branch_a[:, np.newaxis])
        joined = bus(middle, network.lead_ohm)
        branch = branch_currents(joined, total_current(joined, demand, network.wiring_ohm))
    unit_a = branch[:, np.newaxis]
    middle_v = middle.emf_v - unit_a * middle.ohm
    heat_w = unit_a * (middle.held_v - middle_v)
    if variance_a2 is not None:
        heat_w = heat_w + warm.r0_ohm * variance_a2 / len(branch) ** 2
    after = advance(state, full, circuit, warm, unit_a, heat_w, ambient_k)
    end_warm = warmth(circuit, after.temp_k)
    end = moment(circuit, end_warm, after, end_demand, network)
    inside = warm.r0_ohm * unit_a + _mean_pair_v(circuit, warm, state, unit_a, full)
    lead = first_axis_sum(branch**2 * network.lead_ohm)
    if variance_a2 is not None:
        lead = lead + variance_a2 * start.bus_ohm
    seen_v = _simpson(start.units.seen_v, middle.seen_v, end.units.seen_v)
    held_v = _simpson(start.units.held_v, middle.held_v, end.units.held_v)
    delivered = units_sum(unit_a * (seen_v - inside)) - lead
    ohmic = units_sum(unit_a * inside) + lead
    heat = units_sum(unit_a * (held_v - seen_v)) + ohmic
    gap = 0.5 * (state.gap_1 + state.gap_2 + after.gap_1 + after.gap_2)
    return Step(start, end, branch, after, end_warm, delivered * time_s, heat * time_s, ohmic * time_s,
                unit_a * gap * time_s)  # fmt: skip


def _middle_temp_k(circuit: Circuit, state: State, start: Moment, steps: Pace, ambient_k: Floats | float) -> Floats:
    """Cell temperature half a step on, if the heat stays what it is at the start."""
    unit_a, units = start.branch_a[:, np.newaxis], start.units
    heat_w = unit_a * (units.held_v - units.emf_v + unit_a * units.ohm)
    settled: Floats = ambient_k + heat_w / circuit.conductance_w_per_k
    return settled + (state.temp_k - settled) * steps.half_air


def _simpson(first: Floats, middle: Floats, last: Floats) -> Floats:
    mean: Floats = (first + 4.0 * middle + last) / 6.0
    return mean


def _mean_pair_v(circuit: Circuit, warm: Warmth, before: State, unit_a: Floats, full: Decay) -> Floats:
    """Mean over the step of all pair voltages of a unit [V], exact for a constant current."""
    settled = warm.pair_ohm * unit_a
    fade = (1.0 - full.pair) * circuit.pair_tau_s / full.time_s
    return first_axis_sum(settled + (before.pair_v - settled) * fade)


def moments_at(circuit: Circuit, state: State, branch_a: Floats, demand: Demand, network: Network,
               time_s: Floats, warming_k_per_s: Floats) -> Moment:  # fmt: skip
    """Terminals after time_s (n,) [s] of constant branch currents from state: looks inside a step.

    warming_k_per_s : (branches, series, n) the step's own mean.
    """
    temp_k = state.temp_k + warming_k_per_s * time_s
    middle = warmth(circuit, 0.5 * (state.temp_k + temp_k))
    faded = decay(circuit, middle, time_s)  # type: ignore[arg-type]  # arrays broadcast as scalars do
    there = advance(state, faded, circuit, middle, branch_a[:, np.newaxis], np.zeros(1), temp_k)
    return moment(circuit, warmth(circuit, temp_k), there, demand, network)
