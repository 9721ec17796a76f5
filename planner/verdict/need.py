"""The need as the battery sees it: the centre run's current trace and what surrounds each moment of it.

Where the centre run ended early the need goes on all the same: the rest of the outing is taken at the
cut-off voltage, with no charge left to speak of.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.outing.exceedance import Trace, trace_at
from planner.verdict.batch import Batch

Floats = NDArray[np.float64]

NINE_IN_TEN = 0.1  # quantile of the draws that nine in ten stay above


@dataclass(frozen=True, slots=True)
class Need:
    """The centre's current and what goes with it, piece by piece of the trace (m,).

    trace : bus current. soc : lowest charge of the piece. v90_v : voltage nine draws in ten stay above;
    -inf where draws or the centre have ended. cell_k : cells at the piece's start, own heating left aside.
    """

    trace: Trace
    soc: Floats
    v90_v: Floats
    cell_k: Floats


def need_of(batch: Batch, branch: int | None = None) -> Need:
    """The need of the whole bank, or of one of its branches in the centre run."""
    trace = batch.run.trace
    assert trace is not None  # run_batch always keeps it
    live = np.flatnonzero(np.isfinite(trace.end_v[:, 0]))
    last = len(live)
    start_a = trace.start_a[:last, 0] if branch is None else trace.branch_start_a[:last, branch]
    end_a = trace.end_a[:last, 0] if branch is None else trace.branch_end_a[:last, branch]
    edges = np.append(trace.start_s[:last], trace.end_s[last - 1] if last else 0.0)
    draws = batch.draws
    low = np.minimum(trace.start_v[:last, draws], trace.end_v[:last, draws])
    low = np.where(np.isfinite(low), low, -np.inf)
    rank = int(NINE_IN_TEN * low.shape[1])
    v90 = np.partition(low, rank, axis=1)[:, rank] if low.shape[1] else trace.end_v[:last, 0]
    soc = trace.end_soc[:last, 0]
    rest = _rest(batch, float(edges[-1]), branch)
    edges = np.append(edges, rest.edges_s[1:])
    more = len(rest.start_a)
    whole = Trace(edges, np.append(start_a, rest.start_a), np.append(end_a, rest.end_a))
    return Need(
        whole,
        np.append(soc, np.zeros(more)),
        np.append(v90, np.full(more, -np.inf)),
        unheated_cell_k(batch, edges[:-1]),
    )


def _rest(batch: Batch, from_s: float, branch: int | None) -> Trace:
    """What of the outing lies after from_s, at the cut-off voltage; no pieces when nothing does."""
    whole = trace_at(batch.timeline, batch.setup.cutoff_v)
    if from_s >= whole.edges_s[-1] - 1e-6:
        return Trace(np.array([from_s]), np.array([]), np.array([]))
    share = 1.0 if branch is None else 1.0 / len(batch.setup.lead_ohm)
    keep = whole.edges_s[1:] > from_s + 1e-9
    edges = np.append(from_s, whole.edges_s[1:][keep])
    return Trace(edges, whole.start_a[keep] * share, whole.end_a[keep] * share)


def unheated_cell_k(batch: Batch, time_s: Floats) -> Floats:
    """Cell temperature [K] at times, drifting to the air without heat of its own."""
    circuit, outing = batch.scenarios.circuit, batch.outing
    rate = float(circuit.conductance_w_per_k[0, 0, 0] / circuit.heat_capacity_j_per_k[0, 0, 0])
    drift: Floats = outing.ambient_k + (outing.cell_k - outing.ambient_k) * np.exp(-rate * time_s)
    return drift


def used_until(batch: Batch, time_s: float) -> tuple[float, float, float, float]:
    """Centre run until a moment of the first outing: charge [C], energy [J], lowest V, cell temperature [K]."""
    trace = batch.run.trace
    assert trace is not None
    inside = trace.start_s < time_s
    span = np.where(inside, np.minimum(trace.end_s, time_s) - trace.start_s, 0.0)
    amps = 0.5 * (trace.start_a[:, 0] + trace.end_a[:, 0])
    volts = 0.5 * (trace.start_v[:, 0] + trace.end_v[:, 0])
    good = np.isfinite(amps) & (span > 0.0)
    charge = float((amps * span)[good].sum())
    energy = float((amps * volts * span)[good].sum())
    low = np.minimum(trace.start_v[:, 0], trace.end_v[:, 0])[good]
    temps = trace.end_temp_k[:, 0][good]
    return charge, energy, float(low.min(initial=np.inf)), float(temps[-1]) if len(temps) else batch.outing.cell_k
