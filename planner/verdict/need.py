"""The need as the battery sees it: the centre run's current trace and what surrounds each moment of it.

Where the centre run ended early the need goes on all the same: the rest of the outing is taken at the
cut-off voltage, with no charge left to speak of.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import warmth
from planner.outing.exceedance import Trace, trace_at
from planner.verdict.batch import Batch

Floats = NDArray[np.float64]

NINE_IN_TEN = 0.1  # quantile of the draws that nine in ten stay above
TEMPERATURES = 9  # between which a resistance is taken as straight: from 25 to -20 degC it is off by 2 % (measured)


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
    last = int(np.count_nonzero(np.isfinite(trace.end_v[:, 0])))
    edges = np.append(trace.start_s[:last], trace.end_s[last - 1] if last else 0.0)
    start_a = trace.start_a[:last, 0] if branch is None else trace.branch_start_a[:last, branch]
    end_a = trace.end_a[:last, 0] if branch is None else trace.branch_end_a[:last, branch]
    v90_v = _v90(batch, last)
    step = np.arange(last)
    if batch.walked is not batch.timeline:
        edges, start_a, end_a, step, above_a = _fine(batch, edges, start_a, end_a)
        v90_v = v90_v[step] - above_a * _sag_ohm(batch, unheated_cell_k(batch, edges[:-1]))
    rest = _rest(batch, float(edges[-1]), branch)
    more = len(rest.start_a)
    edges = np.append(edges, rest.edges_s[1:])
    whole = Trace(edges, np.append(start_a, rest.start_a), np.append(end_a, rest.end_a))
    return Need(
        whole,
        np.append(trace.end_soc[:last, 0][step], np.zeros(more)),
        np.append(v90_v, np.full(more, -np.inf)),
        unheated_cell_k(batch, edges[:-1]),
    )


def _v90(batch: Batch, steps: int) -> Floats:
    """Voltage nine draws in ten stay above, step by step [V]; -inf where more than one in ten have ended."""
    trace, draws = batch.run.trace, batch.draws
    assert trace is not None
    low = np.minimum(trace.start_v[:steps, draws], trace.end_v[:steps, draws])
    low = np.where(np.isfinite(low), low, -np.inf)
    if not low.shape[1]:
        return trace.end_v[:steps, 0]
    rank = int(NINE_IN_TEN * low.shape[1])
    found: Floats = np.partition(low, rank, axis=1)[:, rank]
    return found


def _fine(
    batch: Batch, edges: Floats, start_a: Floats, end_a: Floats
) -> tuple[Floats, Floats, Floats, NDArray[np.intp], Floats]:
    """The walked trace with the log's own samples put back: edges, currents, step, and current above the step's.

    The step is the one each piece lies in; above it [A] is the current of the whole bank. What a step carried beyond
    its mean log current (power loads, other branches' share) stays with it.
    """
    line, trace = batch.timeline, batch.run.trace
    assert trace is not None
    inside = int(np.searchsorted(line.edges_s, edges[-1] + 1e-9, side="right")) - 1
    fine = line.edges_s[: inside + 1]
    step = np.clip(
        np.searchsorted(edges, 0.5 * (fine[1:] + fine[:-1]), side="right") - 1, 0, len(start_a) - 1
    )
    walked = batch.walked.current_start_a[:, trace.piece[: len(start_a)]].sum(axis=0)
    whole = 0.5 * (trace.start_a[: len(start_a), 0] + trace.end_a[: len(start_a), 0])
    share = np.where(whole > 0.0, 0.5 * (start_a + end_a) / np.where(whole > 0.0, whole, 1.0), 1.0)
    beyond = whole - walked
    first = line.current_start_a[:, :inside].sum(axis=0) + beyond[step]
    last = line.current_end_a[:, :inside].sum(axis=0) + beyond[step]
    above = np.maximum(np.maximum(first, last) - whole[step], 0.0)
    return fine, first * share[step], last * share[step], step, above


def _sag_ohm(batch: Batch, cell_k: Floats) -> Floats:
    """Volts that nine draws in ten lose at most for each ampere above the mean of a joined piece, (m,) [ohm].

    cell_k : (m,) at the pieces. All of the resistance counts, also what answers later: the voltage is to be no higher
    than it will be. A load that draws more than planned does so in its pulls too.
    """
    swing, setup = batch.walked.swing, batch.setup
    assert swing is not None  # every coarsened timeline has it
    moves = (swing.top_a > batch.walked.current_start_a).any(axis=1)
    factor = setup.load_factor[moves].max(axis=0, initial=0.0)
    kelvin = np.linspace(cell_k.min(), cell_k.max(), TEMPERATURES)
    columns = batch.draws if batch.scenarios.first_draw < len(factor) else slice(0, 1)
    found = []
    for each in kelvin:
        warm = warmth(batch.scenarios.circuit, np.full((1, 1, 1), each))
        unit = warm.r0_ohm + warm.pair_ohm.sum(axis=0)
        whole = np.broadcast_to(unit, (len(setup.lead_ohm), setup.series, len(factor)))
        branch = whole.sum(axis=1) + setup.lead_ohm[:, np.newaxis]
        found.append(float(np.quantile((factor / (1.0 / branch).sum(axis=0))[columns], 1.0 - NINE_IN_TEN)))
    return np.interp(cell_k, kelvin, found)


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
    """Centre run until a moment of the first outing: charge [C], energy [J], lowest V, cells [K]."""
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
    return (
        charge,
        energy,
        float(low.min(initial=np.inf)),
        float(temps[-1]) if len(temps) else batch.outing.cell_k,
    )
