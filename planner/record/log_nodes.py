"""A discharge log thinned to the rows at which voltage or current bends, its charge kept."""

from __future__ import annotations

import heapq
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

MOST_NODES = 400
BEND_V = 2e-3  # rows between two nodes lie this close to a straight line, as far as MOST_NODES allows
BEND_SHARE = 0.02  # likewise of the largest current
LEAST_SPAN_S = 1e-6  # an edge written as two rows of one time


@dataclass(frozen=True, slots=True)
class LogNodes:
    """The thinned log, arrays (n,), discharge positive, and what lies between two nodes, (n - 1,).

    temperature_k : of the cells; None unless every row has it. charge_c : taken out until the node, by trapezoid over
    every row. mean_a : mean current of each stretch, so that the charge is the log's own.
    interval_s : median time between two rows of the log.
    """

    time_s: Floats
    voltage_v: Floats
    current_a: Floats
    temperature_k: Floats | None
    charge_c: Floats
    span_s: Floats
    mean_a: Floats
    interval_s: float


def thin(time_s: Floats, voltage_v: Floats, current_a: Floats, temperature_k: Floats | None = None,
         most: int = MOST_NODES) -> LogNodes:  # fmt: skip
    """At most so many rows, chosen where the log bends (Douglas-Peucker, the worst stretch first).

    All arrays (rows,); time_s never falls.
    """
    rows = _bends(time_s, voltage_v, current_a, most)
    steps = np.diff(time_s) * 0.5 * (current_a[1:] + current_a[:-1])
    charge = np.concatenate([[0.0], np.cumsum(steps)])[rows]
    time = time_s[rows]
    span = np.maximum(np.diff(time), LEAST_SPAN_S)
    known = temperature_k is not None and bool(np.isfinite(temperature_k).all())
    kelvin = temperature_k[rows] if known and temperature_k is not None else None
    return LogNodes(time, voltage_v[rows], current_a[rows], kelvin, charge, span, np.diff(charge) / span,
                    float(np.median(np.diff(time_s))))  # fmt: skip


def _bends(time_s: Floats, voltage_v: Floats, current_a: Floats, most: int) -> NDArray[np.intp]:
    """Rows to keep, rising."""
    seen = np.array([voltage_v / BEND_V, current_a / (BEND_SHARE * np.abs(current_a).max())])

    def worst(low: int, high: int) -> tuple[float, int, int, int]:
        """Largest distance from the stretch's straight line (negative: heapq takes the least), and its row."""
        if high - low < 2:
            return 0.0, low, low, high
        part = slice(low + 1, high)
        share = (time_s[part] - time_s[low]) / max(time_s[high] - time_s[low], LEAST_SPAN_S)
        line = seen[:, low, np.newaxis] + share * (seen[:, high] - seen[:, low])[:, np.newaxis]
        off = np.abs(seen[:, part] - line).max(axis=0)
        row = int(off.argmax())
        return -float(off[row]), low + 1 + row, low, high

    last = len(time_s) - 1
    kept = {0, last}
    pending = [worst(0, last)]
    while len(kept) < most and pending:
        off, row, low, high = heapq.heappop(pending)
        if off > -1.0:
            break
        kept.add(row)
        heapq.heappush(pending, worst(low, row))
        heapq.heappush(pending, worst(row, high))
    return np.array(sorted(kept))
