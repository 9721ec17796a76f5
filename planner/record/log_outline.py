"""A thinned copy of a log: every sample of a short one, every second, fourth … of a long one.

What changes slowly (recovery, heat, ramps, the knee) is read from it, so memory stays bounded.
"""

from __future__ import annotations

import numpy as np

from planner.log_file import LogColumns
from planner.log_file.columns import FloatArray

MOST_ROWS = 1 << 17  # kept at most: 36 hours of one-second samples in full


class Outline:
    """Collects a thinned copy, block by block."""

    def __init__(self) -> None:
        self._parts: list[FloatArray] = []
        self._kept = 0
        self._seen = 0
        self._stride = 1
        self._last: FloatArray | None = None

    def add(self, block: LogColumns) -> None:
        """Take every stride-th sample of the block, and halve what is kept when it grows too long."""
        signals = (block.time_s, block.voltage_v, block.current_a, block.temperature_k)
        first = -self._seen % self._stride
        kept = [
            np.full(len(range(first, block.rows, self._stride)), np.nan)
            if s is None
            else s[first :: self._stride]
            for s in signals
        ]
        self._last = np.array([[np.nan if s is None else s[-1]] for s in signals])
        self._seen += block.rows
        self._parts.append(np.array(kept))
        self._kept += kept[0].size
        while self._kept > MOST_ROWS:
            # Every kept sample has a number divisible by the stride, so the even ones are every second.
            whole = np.concatenate(self._parts, axis=1)[:, ::2]
            self._parts, self._kept, self._stride = [whole], whole.shape[1], self._stride * 2

    def table(self) -> FloatArray:
        """The copy, shape (4, kept): time, voltage, current, temperature (SI); last row always in."""
        whole = np.concatenate(self._parts, axis=1)
        if self._last is not None and (self._seen - 1) % self._stride:
            whole = np.concatenate((whole, self._last), axis=1)
        return whole
