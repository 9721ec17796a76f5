"""A bench discharge through the circuit in one go, for fitting: closed forms on a grid of times.

The current is constant (or the power, by fixed point), so every state has its exponential form; self-heating
follows by fixed point too. The gap is taken as following the cells' warmth at once, which costs up to 0.3 %
of charge at a one-hour rate (tested against the engine).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import Circuit, advance, decay, first_axis_sum, reading, rested, warmth

Floats = NDArray[np.float64]

POINTS = 321  # of the time grid
ROUNDS = 3  # of heating and, under constant power, of the current: both settle fast
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
    rise = np.zeros_like(current)
    charge = current * time
    volts = np.full_like(current, 13.0)
    for _ in range(ROUNDS):
        volts, held = _terminal(circuit, run, time, current, charge, run.cell_k + rise)
        if run.power_w is not None:
            current = run.power_w / np.maximum(volts, 0.5 * run.cutoff_v)
            charge = _running_integral(time, current)
        heat_w = np.where(volts > 0.9 * run.cutoff_v, current * (held - volts), 0.0)
        rise = _warming_k(circuit, time, heat_w)
    return Course(time[:, 0, 0], charge[:, 0], current[:, 0], volts[:, 0])


def _running_integral(time: Floats, values: Floats) -> Floats:
    """Integral from the start by trapezoids, same shape."""
    steps = np.diff(time, axis=0) * 0.5 * (values[1:] + values[:-1])
    return np.concatenate([np.zeros((1, *values.shape[1:])), np.cumsum(steps, axis=0)])


def _warming_k(circuit: Circuit, time: Floats, heat_w: Floats) -> Floats:
    """Rise above the air [K] under the heat so far: the lumped equation's own integral."""
    rate = circuit.conductance_w_per_k / circuit.heat_capacity_j_per_k
    lag = np.minimum(time * rate, 500.0)  # beyond it nothing of the start is left, and exp stays finite
    return np.exp(-lag) * _running_integral(time, heat_w / circuit.heat_capacity_j_per_k * np.exp(lag))


def _terminal(circuit: Circuit, run: BenchRun, time: Floats, current: Floats, charge: Floats,
              temp: Floats) -> tuple[Floats, Floats]:  # fmt: skip
    """Terminal voltage and curve at the mean charge, (POINTS, 1, r), at cell temperatures temp."""
    start = rested(circuit, (1, 1, current.shape[-1]), run.start_soc, run.cell_k)
    warm = warmth(circuit, temp)
    faded = decay(circuit, warm, time)  # type: ignore[arg-type]  # times broadcast as a scalar does
    state = advance(start, faded, circuit, warm, current, np.zeros(1), temp)
    soc = run.start_soc - charge / circuit.charge_c
    x = reading(warm, soc, state.gap_1 + state.gap_2)
    seen, _ = circuit.curve.look_up(x, circuit.offset)
    seen = seen + np.where(x < 0.0, x * 10.0, 0.0)  # keeps falling past empty, so that the end is found
    held, _ = circuit.curve.look_up(soc, circuit.offset)
    return seen - current * warm.r0_ohm - first_axis_sum(state.pair_v), held


def outcome(run: Course, cutoff_v: float, stop_s: float | None = None) -> tuple[Floats, Floats]:
    """Charge [C] and energy [J] until the cut-off, or until stop_s; arrays (r,)."""
    energy = np.zeros_like(run.volts)
    power = run.volts * run.current_a
    energy[1:] = np.cumsum(0.5 * (power[1:] + power[:-1]) * np.diff(run.time_s)[:, np.newaxis], axis=0)
    sets = run.volts.shape[1]
    charge_end, energy_end = np.empty(sets), np.empty(sets)
    for k in range(sets):
        if stop_s is None:
            falling = np.minimum.accumulate(run.volts[:, k])
            place = np.interp(-cutoff_v, -falling, np.arange(POINTS, dtype=float))
        else:
            place = float(np.interp(stop_s, run.time_s, np.arange(POINTS, dtype=float)))
        low = min(int(place), POINTS - 2)
        part = place - low
        charge_end[k] = run.charge_c[low, k] + part * (run.charge_c[low + 1, k] - run.charge_c[low, k])
        energy_end[k] = energy[low, k] + part * (energy[low + 1, k] - energy[low, k])
    return charge_end, energy_end
