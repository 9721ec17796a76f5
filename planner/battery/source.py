"""What the terminals offer: each unit as a voltage behind a resistance, a bank as one such source.

Over a step the reply to a constant current is linear but for the open-circuit curve; that is taken by its
tangent at a guessed current, which makes the mid-step solution second order in the step.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import Circuit, Decay, State, Warmth, first_axis_sum, reading

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Instant:
    """Units at one moment: emf_v behind ohm, as a function of the current. Arrays (branches, series, n).

    x : place on the open-circuit curve that the terminals see; seen_v : the curve there; held_v : the
    curve at the mean charge, which the gap hides from the terminals.
    """

    emf_v: Floats
    ohm: Floats
    x: Floats
    seen_v: Floats
    held_v: Floats


def instant(circuit: Circuit, warm: Warmth, state: State) -> Instant:
    """The units at this moment: open-circuit voltage less pair voltages, behind R0."""
    x = reading(warm, state.soc, state.gap_1 + state.gap_2)
    seen, _ = circuit.curve.look_up(x, circuit.offset)
    held, _ = circuit.curve.look_up(state.soc, circuit.offset)
    return Instant(seen - first_axis_sum(state.pair_v), warm.r0_ohm, x, seen, held)


def ahead(circuit: Circuit, warm: Warmth, state: State, faded: Decay, guess_a: Floats) -> Instant:
    """The units after faded.time_s, as a function of the constant current until then.

    V = emf_v - I * ohm, tangent to the curve at guess_a [A] (branches, 1, n).
    """
    gap = state.gap_1 * faded.gap_1 + state.gap_2 * faded.gap_2
    per_amp = faded.soc_per_a / warm.cold_fraction
    x = reading(warm, state.soc, gap) - guess_a * per_amp
    seen, slope = circuit.curve.look_up(x, circuit.offset)
    held, _ = circuit.curve.look_up(state.soc - guess_a * (faded.time_s / circuit.charge_c), circuit.offset)
    rise = slope * per_amp
    emf = seen + rise * guess_a - first_axis_sum(state.pair_v * faded.pair)
    return Instant(emf, warm.r0_ohm + first_axis_sum(warm.pair_ohm * faded.pair_share) + rise, x, seen, held)


@dataclass(frozen=True, slots=True)
class Bus:
    """The bank as one source: emf_v behind ohm, (n,); and its branches, (branches, n)."""

    emf_v: Floats
    ohm: Floats
    branch_emf_v: Floats
    branch_ohm: Floats


def bus(units: Instant, lead_ohm: Floats) -> Bus:
    """Units in series summed, branches joined behind their leads (branches, 1) by Kirchhoff's laws."""
    emf, ohm = units.emf_v, units.ohm
    one = emf.shape[1] == 1
    emf = emf[:, 0] if one else emf.sum(axis=1)
    ohm = (ohm[:, 0] if one else ohm.sum(axis=1)) + lead_ohm
    if len(emf) == 1:
        return Bus(emf[0], ohm[0], emf, ohm)
    siemens = 1.0 / ohm
    total = siemens.sum(axis=0)
    return Bus((emf * siemens).sum(axis=0) / total, 1.0 / total, emf, ohm)


def branch_currents(joined: Bus, total_a: Floats) -> Floats:
    """Current of each branch (branches, n) [A] when the bank delivers total_a (n,)."""
    if len(joined.branch_emf_v) == 1:
        return total_a[np.newaxis]
    return (joined.branch_emf_v - (joined.emf_v - total_a * joined.ohm)) / joined.branch_ohm


@dataclass(frozen=True, slots=True)
class Demand:
    """What the loads ask, behind the wiring: constant current, power and conductance, each (n,)."""

    current_a: Floats
    power_w: Floats
    conductance_s: Floats
    linear: bool  # no power: the solution needs no root


def total_current(joined: Bus, demand: Demand, wiring_ohm: Floats | float) -> Floats:
    """Current [A] (n,) at which source and loads agree.

    At the load: V (1 + R G) = E - R (I_c + P / V). A negative root argument means that the power cannot
    be served; the answer is then the current of the most power there is, at half the voltage, which
    every cut-off stops. Source: circuit theory.
    """
    ohm = joined.ohm + wiring_ohm
    open_v = joined.emf_v - ohm * demand.current_a
    share = 1.0 + ohm * demand.conductance_s
    if demand.linear:
        return demand.current_a + demand.conductance_s * open_v / share
    root = np.maximum(open_v * open_v - 4.0 * share * ohm * demand.power_w, 0.0)
    load_v = (open_v + np.sqrt(root)) / (2.0 * share)
    return (joined.emf_v - load_v) / ohm
