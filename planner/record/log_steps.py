"""Sudden changes of current in a log, and the resistance read from each after a stated time.

A DC resistance is a change of voltage over a change of current and depends on when the second reading
is taken; it is given at 0.1, 1, 10 and 60 s after the step where the log has a sample by then and the
current has stayed (pulse method as in IEC 61960-3:2017, 7.7.3, from memory; the times are common practice).
The step's time is that of the first sample at the new current: the true moment is up to one interval earlier.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planner.log_file import LogColumns
from planner.log_file.columns import FloatArray

READ_AFTER_S = (0.1, 1.0, 10.0, 60.0)
SMALLEST_STEP = 0.05  # of the largest current: smaller changes are load noise (common practice, no source)
NOISE_FACTOR = 20.0  # times the 20th percentile of changes, about seven standard deviations of Gaussian noise
NOISE_PERCENTILE = 20.0
NOISE_AT_MOST = 0.3  # of the largest current: in a log that changes at every sample, changes are not noise
EDGE_S = 1.0  # changes further apart than this are steps of their own, not one soft edge
MOST_CHANGES = 4  # consecutive changes that are still one step; more are a ramp
NOISE_FROM_ROWS = 100  # in a shorter log noise cannot be told from the load
OPENED = 0.5  # of the voltage before: a larger fall is an opened unit, not a sag
LEVEL_SAMPLES = 5  # samples over which the current on either side is averaged
LISTED_STEPS = 20_000  # kept in memory; further ones are counted
BUFFER_ROWS = 1_000_000  # samples kept at most while a step waits for its last reading
SAMPLED = 20_000

IntArray = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Step:
    """One sudden change of current, in the file's own sign.

    start_s : first sample at the new current.
    from_v : last sample before; first_v : first sample after.
    after_v : voltage at READ_AFTER_S; NaN where the log cannot tell.
    """

    start_s: float
    from_a: float
    to_a: float
    from_v: float
    first_v: float
    after_v: tuple[float, ...]

    @property
    def opened(self) -> bool:
        """Whether the terminals were cut off: what is left of the voltage says nothing of the cells."""
        return self.first_v < OPENED * self.from_v

    @property
    def resistance_ohm(self) -> tuple[float, ...]:
        """DC resistance at READ_AFTER_S [ohm], NaN where the log cannot tell."""
        if self.opened:
            return (math.nan,) * len(READ_AFTER_S)
        return tuple((self.from_v - after) / (self.to_a - self.from_a) for after in self.after_v)


class StepFinder:
    """Finds steps block by block; a step near the end of a block waits for the next."""

    def __init__(self) -> None:
        self.steps: list[Step] = []
        self.count = 0
        self.changes = 0
        self.shortest_event_s = np.inf
        self._largest_a = 0.0
        self._table: FloatArray = np.empty((3, 0))
        self._from_row = 0  # number in the log of the table's first sample
        self._done_row = -1  # number of the last sample whose step has been dealt with

    def add(self, block: LogColumns) -> None:
        """Take in one block."""
        self._largest_a = max(self._largest_a, float(np.max(np.abs(block.current_a))))  # type: ignore[arg-type]
        fresh = np.array([block.time_s, block.voltage_v, block.current_a], dtype=np.float64)
        self._table = np.concatenate((self._table, fresh), axis=1) if self._table.size else fresh
        time_s = self._table[0]
        # Signed so that a step still waiting for its 60 s reading stays in the table.
        ready = int(np.searchsorted(time_s, time_s[-1] - READ_AFTER_S[-1] * 1.01))
        if time_s.size - ready > BUFFER_ROWS:
            ready = time_s.size - LEVEL_SAMPLES
        self._search(ready)

    def finish(self) -> None:
        """Deal with the steps that were still waiting."""
        self._search(self._table.shape[1])
        floor = SMALLEST_STEP * self._largest_a
        self.steps = [step for step in self.steps if abs(step.to_a - step.from_a) >= floor]

    def _search(self, ready: int) -> None:
        """Find the steps whose new level starts before sample `ready`; drop what is done with."""
        current_a = self._table[2]
        change = np.diff(current_a)
        big = np.flatnonzero(np.abs(change) > self._threshold(change))
        keep = ready
        if big.size:
            before, after = _groups(big, change, np.diff(self._table[0]))
            until = np.append(before[1:], current_a.size - 1)
            waiting = after >= ready
            if waiting.any():
                keep = min(keep, int(before[waiting][0]))
            chosen = (after + self._from_row > self._done_row) & ~waiting
            self._measure(before, after, until, chosen)
        self._done_row = max(self._done_row, self._from_row + ready - 1)
        keep = max(0, keep - LEVEL_SAMPLES - 1)
        self._table = self._table[:, keep:].copy()
        self._from_row += keep

    def _threshold(self, change: FloatArray) -> float:
        if not change.size:
            return 0.0
        least = SMALLEST_STEP * self._largest_a
        if change.size < NOISE_FROM_ROWS:
            return least
        sample = np.abs(change[:: max(1, change.size // SAMPLED)])
        noise = NOISE_FACTOR * float(np.percentile(sample, NOISE_PERCENTILE))
        return max(least, min(noise, NOISE_AT_MOST * self._largest_a))

    def _measure(
        self, before: IntArray, after: IntArray, until: IntArray, chosen: npt.NDArray[np.bool_]
    ) -> None:
        """Read levels and voltages of the chosen groups of changes; a ramp is no step."""
        since = np.append(0, after[:-1])
        self.changes += int(np.count_nonzero(chosen))
        chosen = chosen & (after - before <= MOST_CHANGES)
        if not chosen.any():
            return
        before, after, until, since = before[chosen], after[chosen], until[chosen], since[chosen]
        time_s, voltage_v, current_a = self._table
        self.count += before.size
        ended = until < time_s.size - 1  # the level the table ends at has not shown its length
        lengths = time_s[until[ended] + 1] - time_s[after[ended]]
        self.shortest_event_s = min(self.shortest_event_s, float(lengths[lengths > 0.0].min(initial=np.inf)))
        total = np.concatenate(([0.0], np.cumsum(current_a)))
        low = np.maximum(before - LEVEL_SAMPLES + 1, since)
        high = np.minimum(after + LEVEL_SAMPLES - 1, until)
        from_a = (total[before + 1] - total[low]) / (before + 1 - low)
        to_a = (total[high + 1] - total[after]) / (high + 1 - after)
        readings = np.array([_reading(time_s, voltage_v, after, until, wait) for wait in READ_AFTER_S])
        room = max(0, LISTED_STEPS - len(self.steps))
        for at in range(min(room, before.size)):
            self.steps.append(
                Step(
                    float(time_s[after[at]]),
                    float(from_a[at]),
                    float(to_a[at]),
                    float(voltage_v[before[at]]),
                    float(voltage_v[after[at]]),
                    tuple(float(v) for v in readings[:, at]),
                )
            )


def _groups(big: IntArray, change: FloatArray, dt_s: FloatArray) -> tuple[IntArray, IntArray]:
    """Join neighbouring changes of one direction.

    big : numbers of the changes. Returns the last sample before and the first sample after each group.
    """
    apart = (np.diff(big) != 1) | (np.diff(np.sign(change[big])) != 0.0) | (dt_s[big[1:]] > EDGE_S)
    first = big[np.append(True, apart)]
    last = big[np.append(apart, True)]
    return first, last + 1


def _reading(
    time_s: FloatArray, voltage_v: FloatArray, after: IntArray, until: IntArray, wait_s: float
) -> FloatArray:
    """Voltage `wait_s` after each step, on a line between the samples around; NaN where there is none."""
    target = time_s[after] + wait_s
    slack = 1e-3 * wait_s  # a time stamp rounded to its last digit is still the asked time
    later = np.clip(np.searchsorted(time_s, target - slack), after + 1, np.maximum(until, after + 1))
    later = np.minimum(later, time_s.size - 1)
    told = (
        (until > after)
        & (time_s[np.minimum(after + 1, until)] <= target + slack)
        & (time_s[until] >= target - slack)
    )
    start_s, end_s = time_s[later - 1], time_s[later]
    span = np.where(end_s > start_s, end_s - start_s, 1.0)
    share = np.clip((target - start_s) / span, 0.0, 1.0)
    value = voltage_v[later - 1] + share * (voltage_v[later] - voltage_v[later - 1])
    return np.where(told, value, np.nan)
