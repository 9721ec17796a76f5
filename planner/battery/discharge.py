"""A bench discharge through the circuit in one go, for fitting: closed forms on a grid of times.

The current is constant (or the power, by fixed point), so every state has its exponential form; self-heating
follows by fixed point too. The gap is taken as following the cells' warmth at once, which costs up to 0.3 %
of charge at a one-hour rate (tested against the engine).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import Circuit, first_axis_sum, gap_constants, reading, warmth

Floats = NDArray[np.float64]

POINTS = 321  # of the time grid
ROUNDS = 3  # of heating and, under constant power, of the current: both settle fast
# in the cold warmer cells lose so much less that full corrections would swing about the answer
COLD_K, COLD_ROUNDS, COLD_SHARE = 283.15, 5, 0.6
OVERRUN = 1.25  # the grid reaches this far past the measured duration, so that a longer model run shows


@dataclass(frozen=True, slots=True)
class BenchRun:
    """One full discharge as the bench ran it. Either current_a or power_w is given."""

    current_a: float | None
    power_w: float | None
    duration_s: float
    cell_k: float
    cutoff_v: float
    start_soc: float = 1.0


@dataclass(frozen=True, slots=True)
class Course:
    """Terminals along the run for r parameter sets, arrays (POINTS, r)."""

    time_s: Floats
    charge_c: Floats
    current_a: Floats
    volts: Floats


def course(circuit: Circuit, run: BenchRun) -> Course:
    """Voltage and charge on a grid of times. circuit : arrays (1, 1, r)."""
    time = np.linspace(0.0, OVERRUN * run.duration_s, POINTS)[:, np.newaxis, np.newaxis]
    sets = circuit.charge_c.shape[-1]
    current = np.full((POINTS, 1, sets), run.current_a or (run.power_w or 0.0) / 13.0)
    charge = current * time
    # what does not move with temperature is worked out once
    pair_share = 1.0 - np.exp(-time / circuit.pair_tau_s)
    rate = circuit.conductance_w_per_k / circuit.heat_capacity_j_per_k
    # beyond 500 nothing of the start is left, and the reciprocal stays finite
    fade = np.exp(-np.minimum(time * rate, 500.0))
    temp = np.full((1, 1, 1), run.cell_k)
    rounds, share = (COLD_ROUNDS, COLD_SHARE) if run.cell_k < COLD_K else (ROUNDS, 1.0)
    for left in range(rounds - 1, -1, -1):
        volts = _terminal_v(circuit, run, time, current, charge, temp, pair_share)
        if run.power_w is not None:
            current = run.power_w / np.maximum(volts, 0.5 * run.cutoff_v)
            charge = _running_integral(time, current)
        if left:
            held, _ = circuit.curve.look_up(run.start_soc - charge / circuit.charge_c, circuit.offset)
            heat_w = np.where(volts > 0.9 * run.cutoff_v, current * (held - volts), 0.0)
            warmer = run.cell_k + _warming_k(circuit, time, heat_w, fade)
            temp = warmer if left == rounds - 1 else temp + share * (warmer - temp)
    return Course(time[:, 0, 0], charge[:, 0], current[:, 0], volts[:, 0])


def _running_integral(time: Floats, values: Floats) -> Floats:
    """Integral from the start by trapezoids, same shape."""
    steps = np.diff(time, axis=0) * 0.5 * (values[1:] + values[:-1])
    return np.concatenate([np.zeros((1, *values.shape[1:])), np.cumsum(steps, axis=0)])


def _warming_k(circuit: Circuit, time: Floats, heat_w: Floats, fade: Floats) -> Floats:
    """Rise above the air [K] under the heat so far: the lumped equation's own integral. fade : exp(-t / lag)."""
    return fade * _running_integral(time, heat_w / (circuit.heat_capacity_j_per_k * fade))


def _terminal_v(circuit: Circuit, run: BenchRun, time: Floats, current: Floats, charge: Floats, temp: Floats,
                pair_share: Floats) -> Floats:  # fmt: skip
    """Terminal voltage (POINTS, 1, r) at cell temperatures temp; every state's closed form from rest."""
    warm = warmth(circuit, temp)
    k_1, tau_1, k_2, tau_2 = gap_constants(warm.diffusion_tau_s)
    since = time / circuit.gap_lag
    gap = (current / circuit.charge_c) * (k_1 * (1.0 - np.exp(-since / tau_1)) + k_2 * (1.0 - np.exp(-since / tau_2)))
    x = reading(warm, run.start_soc - charge / circuit.charge_c, gap)
    seen, _ = circuit.curve.look_up(x, circuit.offset)
    seen = seen + np.where(x < 0.0, x * 10.0, 0.0)  # keeps falling past empty, so that the end is found
    volts: Floats = seen - current * (warm.r0_ohm + first_axis_sum(warm.pair_ohm * pair_share))
    return volts


def outcome(run: Course, cutoff_v: float) -> tuple[Floats, Floats]:
    """Charge [C] and energy [J] until the cut-off, arrays (r,); the grid's end where it is not reached."""
    energy = np.zeros_like(run.volts)
    power = run.volts * run.current_a
    energy[1:] = np.cumsum(0.5 * (power[1:] + power[:-1]) * np.diff(run.time_s)[:, np.newaxis], axis=0)
    falling = np.minimum.accumulate(run.volts, axis=0)
    below = falling <= cutoff_v
    below[-1] = True
    high = np.maximum(below.argmax(axis=0), 1)
    columns = np.arange(run.volts.shape[1])
    before, after = falling[high - 1, columns], falling[high, columns]
    part = np.clip((before - cutoff_v) / np.maximum(before - after, 1e-12), 0.0, 1.0)

    def at(values: Floats) -> Floats:
        low: Floats = values[high - 1, columns]
        found: Floats = low + part * (values[high, columns] - low)
        return found

    return at(run.charge_c), at(energy)
