"""A bench log through the circuit: its current is known, so every state has its exact exponential.

A log is first thinned to the rows at which voltage or current bends; between two of them the current counts
as its mean, so that the charge is the log's own.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import Circuit, decay, reading, warmth
from planner.record.schema import Instrument

Floats = NDArray[np.float64]

MOST_NODES = 400
BEND_V = 2e-3  # rows between two nodes lie this close to a straight line, as far as MOST_NODES allows
BEND_SHARE = 0.02  # likewise of the largest current
LEAST_SPAN_S = 1e-6  # an edge written as two rows of one time


@dataclass(frozen=True, slots=True)
class BenchLog:
    """A log of one rested unit. Arrays (rows,), discharge positive; time_s never falls.

    temperature_k : of the cells where the log has it, without gaps; else cell_k at the start and own heating.
    instrument : its meters. start_soc : charge at the first row.
    """

    time_s: Floats
    voltage_v: Floats
    current_a: Floats
    temperature_k: Floats | None = None
    cell_k: float = 298.15
    start_soc: float = 1.0
    instrument: Instrument | None = None


@dataclass(frozen=True, slots=True)
class Nodes:
    """The thinned log, arrays (n,), and what lies between two nodes, (n - 1,).

    charge_c : taken out until the node, by trapezoid over every row. mean_a : mean current of each stretch.
    """

    time_s: Floats
    voltage_v: Floats
    current_a: Floats
    temperature_k: Floats | None
    charge_c: Floats
    span_s: Floats
    mean_a: Floats


def thin(log: BenchLog, most: int = MOST_NODES) -> Nodes:
    """At most so many rows, chosen where the log bends (Douglas-Peucker, the worst stretch first)."""
    rows = _bends(log, most)
    steps = np.diff(log.time_s) * 0.5 * (log.current_a[1:] + log.current_a[:-1])
    charge = np.concatenate([[0.0], np.cumsum(steps)])[rows]
    time = log.time_s[rows]
    span = np.maximum(np.diff(time), LEAST_SPAN_S)
    kelvin = None if log.temperature_k is None else log.temperature_k[rows]
    return Nodes(time, log.voltage_v[rows], log.current_a[rows], kelvin, charge, span, np.diff(charge) / span)


def _bends(log: BenchLog, most: int) -> NDArray[np.intp]:
    """Rows to keep, rising."""
    seen = np.array([log.voltage_v / BEND_V, log.current_a / (BEND_SHARE * np.abs(log.current_a).max())])
    place = log.time_s

    def worst(low: int, high: int) -> tuple[float, int, int, int]:
        """Largest distance from the stretch's straight line (negative: heapq takes the least), and its row."""
        if high - low < 2:
            return 0.0, low, low, high
        part = slice(low + 1, high)
        share = (place[part] - place[low]) / max(place[high] - place[low], LEAST_SPAN_S)
        line = seen[:, low, np.newaxis] + share * (seen[:, high] - seen[:, low])[:, np.newaxis]
        off = np.abs(seen[:, part] - line).max(axis=0)
        row = int(off.argmax())
        return -float(off[row]), low + 1 + row, low, high

    last = len(place) - 1
    kept = {0, last}
    pending = [worst(0, last)]
    while len(kept) < most:
        off, row, low, high = heapq.heappop(pending)
        if off > -1.0:
            break
        kept.add(row)
        heapq.heappush(pending, worst(low, row))
        heapq.heappush(pending, worst(row, high))
    return np.array(sorted(kept))


def voltage_along(circuit: Circuit, nodes: Nodes, log: BenchLog, gain: Floats | float = 1.0) -> tuple[Floats, Floats]:
    """Terminal voltage and place x on the curve at every node, (n, r). circuit : arrays (1, 1, r).

    gain : (r,) or one number, true current over the logged one.
    """
    soc = log.start_soc - gain * nodes.charge_c[:, np.newaxis, np.newaxis] / circuit.charge_c
    kelvin = _temperature(circuit, nodes, log, soc)
    warm = warmth(circuit, 0.5 * (kelvin[1:] + kelvin[:-1]))
    span, mean_a = (values[:, np.newaxis, np.newaxis] for values in (nodes.span_s, nodes.mean_a))
    faded = decay(circuit, warm, span)
    mean_a = mean_a * gain
    shape = (len(span), *circuit.charge_c.shape)
    stay = [faded.gap_1, faded.gap_2, *faded.pair]
    gain_v = [faded.gap_1_per_a * mean_a, faded.gap_2_per_a * mean_a, *(warm.pair_ohm * faded.pair_share * mean_a)]
    keep = np.stack([np.broadcast_to(part, shape[:1] + shape[2:]) for part in stay], axis=1)
    come = np.stack([np.broadcast_to(part, shape[:1] + shape[2:]) for part in gain_v], axis=1)
    states = _scan(keep, come)
    at_node = warmth(circuit, kelvin)
    x = reading(at_node, soc, states[:, 0] + states[:, 1])
    seen, _ = circuit.curve.look_up(x, circuit.offset)
    seen = seen + np.where(x < 0.0, x * 10.0, 0.0)  # keeps falling past empty, as the fit of discharges does
    amps = gain * nodes.current_a[:, np.newaxis, np.newaxis]
    volts: Floats = seen - amps * at_node.r0_ohm - states[:, 2:].sum(axis=1)
    return volts[:, 0], x[:, 0]


def _scan(keep: Floats, come: Floats) -> Floats:
    """States s[k + 1] = keep[k] s[k] + come[k] from rest: (n - 1, states, ...) to (n, states, ...)."""
    states = np.zeros((len(keep) + 1, *keep.shape[1:]))
    for k in range(len(keep)):
        np.multiply(states[k], keep[k], out=states[k + 1])
        states[k + 1] += come[k]
    return states


def _temperature(circuit: Circuit, nodes: Nodes, log: BenchLog, soc: Floats) -> Floats:
    """Cell temperature at the nodes (n, 1, 1) or (n, 1, r): the log's, else its own losses in the lumped body."""
    if nodes.temperature_k is not None:
        return nodes.temperature_k[:, np.newaxis, np.newaxis]
    held, _ = circuit.curve.look_up(soc, circuit.offset)
    lost_v = held - nodes.voltage_v[:, np.newaxis, np.newaxis]
    heat_w = nodes.mean_a[:, np.newaxis, np.newaxis] * 0.5 * (lost_v[1:] + lost_v[:-1])
    rate = circuit.conductance_w_per_k / circuit.heat_capacity_j_per_k
    keep = np.exp(-nodes.span_s[:, np.newaxis, np.newaxis] * rate)
    come = (1.0 - keep) * heat_w / circuit.conductance_w_per_k
    return log.cell_k + _scan(np.broadcast_to(keep, come.shape), come)
