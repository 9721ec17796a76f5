"""A bench log through the circuit: its current is known, so every state has its exact exponential.

Between two nodes of the thinned log the current counts as its mean, so that the charge is the log's own.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import Circuit, decay, reading, warmth
from planner.record.log_nodes import LogNodes

Floats = NDArray[np.float64]


def voltage_along(circuit: Circuit, nodes: LogNodes, cell_k: float, start_soc: float,
                  gain: Floats | float = 1.0) -> tuple[Floats, Floats]:  # fmt: skip
    """Terminal voltage and place x on the curve at every node, (n, r). circuit : arrays (1, 1, r), at rest.

    cell_k, start_soc : cells and charge at the first node; the log's own temperature goes before where it has one.
    gain : (r,) or one number, true current over the logged one.
    """
    soc = start_soc - gain * nodes.charge_c[:, np.newaxis, np.newaxis] / circuit.charge_c
    kelvin = _temperature(circuit, nodes, cell_k, soc)
    warm = warmth(circuit, 0.5 * (kelvin[1:] + kelvin[:-1]))
    span, mean_a = (values[:, np.newaxis, np.newaxis] for values in (nodes.span_s, nodes.mean_a))
    faded = decay(circuit, warm, span)
    mean_a = mean_a * gain
    shape = (len(span), *circuit.charge_c.shape)
    stay = [faded.gap_1, faded.gap_2, *faded.pair]
    gain_v = [
        faded.gap_1_per_a * mean_a,
        faded.gap_2_per_a * mean_a,
        *(warm.pair_ohm * faded.pair_share * mean_a),
    ]
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


def _temperature(circuit: Circuit, nodes: LogNodes, cell_k: float, soc: Floats) -> Floats:
    """Cell temperature at the nodes (n, 1, 1) or (n, 1, r): the log's, else its own losses in the lumped body."""
    if nodes.temperature_k is not None:
        return nodes.temperature_k[:, np.newaxis, np.newaxis]
    held, _ = circuit.curve.look_up(soc, circuit.offset)
    lost_v = held - nodes.voltage_v[:, np.newaxis, np.newaxis]
    heat_w = nodes.mean_a[:, np.newaxis, np.newaxis] * 0.5 * (lost_v[1:] + lost_v[:-1])
    rate = circuit.conductance_w_per_k / circuit.heat_capacity_j_per_k
    keep = np.exp(-nodes.span_s[:, np.newaxis, np.newaxis] * rate)
    come = (1.0 - keep) * heat_w / circuit.conductance_w_per_k
    return cell_k + _scan(np.broadcast_to(keep, come.shape), come)
