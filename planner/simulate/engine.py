"""The engine: many scenarios of one outing on one battery or bank, at once."""

from __future__ import annotations

import itertools
import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import fields, replace

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import Circuit
from planner.outing.timeline import Timeline
from planner.simulate.march import march_some
from planner.simulate.packing import now_of, own_room, own_watches, results_of, rules_of, run_of, watches_of
from planner.simulate.pieces import cut
from planner.simulate.setup import Run, Setup
from planner.simulate.tables import Now, Pieces, Results, Rules, Watches

Floats = NDArray[np.float64]

LEAST_A_THREAD = 60  # scenarios, some milliseconds; a thread costs a tenth of one


def simulate(circuit: Circuit, timeline: Timeline, setup: Setup) -> Run:
    """Run every scenario to the end of its battery, or of the outing when setup.repeat is False.

    circuit : parameters of n scenarios (branches, series, n). timeline : the loads. setup : the rest.
    Returns a Run; a battery that outlasts LONGEST_RUN_S has end_s inf, or an end somewhat later than that.
    """
    branches = len(setup.lead_ohm)
    pieces = cut(timeline, setup, setup.size_charge_c or float(circuit.charge_c.min()))
    rules = rules_of(circuit, timeline, setup)
    results = results_of(rules, pieces, branches, setup.keep_trace)
    now = now_of(circuit, pieces, rules, setup.lead_ohm)
    _march(pieces, rules, now, watches_of(rules, branches), results)
    return run_of(results, pieces)


def _march(pieces: Pieces, rules: Rules, now: Now, watches: Watches, results: Results) -> None:
    """All scenarios, shared out among the processors: none knows of another, so the numbers stay the same."""
    n = len(rules.told)
    threads = min(_processors(), n // LEAST_A_THREAD)
    if threads < 2:
        march_some(pieces, rules, now, watches, results, 0, n)
        return
    edges = [n * k // threads for k in range(threads + 1)]
    with ThreadPoolExecutor(threads - 1) as pool:
        parts = [
            pool.submit(march_some, pieces, rules, own_room(now), own_watches(watches), results, begin, end)
            for begin, end in itertools.pairwise(edges[1:])
        ]
        march_some(pieces, rules, now, watches, results, 0, edges[1])  # here, where the others are waited for
        for part in parts:
            part.result()


def _processors() -> int:
    """Those this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def simulate_in_blocks(circuit: Circuit, timeline: Timeline, setup: Setup, block: int = 1000) -> Run:
    """As `simulate`, `block` scenarios at a time, so that memory does not grow with their number. No trace."""
    n = setup.load_factor.shape[1]
    parts = []
    for first in range(0, n, block):
        index = np.arange(first, min(first + block, n))
        part = replace(
            setup,
            load_factor=setup.load_factor[:, index],
            cell_k=_columns(setup.cell_k, n, index),
            ambient_k=_columns(setup.ambient_k, n, index),
            wiring_ohm=_columns(setup.wiring_ohm, n, index),
            start_soc=_columns(setup.start_soc, n, index),
            keep_trace=False,
        )
        parts.append(simulate(circuit.select(index), timeline, part))
    joined = {
        field.name: np.concatenate([getattr(part, field.name) for part in parts], axis=-1)
        for field in fields(Run)
        if field.name not in ("steps", "trace")
    }
    return Run(**joined, steps=sum(part.steps for part in parts), trace=None)


def _columns(value: Floats | float, n: int, index: NDArray[np.intp]) -> Floats | float:
    """The scenarios of index where the value is given for each of n; itself where it is one for all."""
    array = np.asarray(value, dtype=float)
    return array[..., index] if array.ndim and array.shape[-1] == n else value
