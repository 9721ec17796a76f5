"""When a voltage falls below a level for longer than a delay, and when a current lasts too long.

Each watch looks at both ends of a step; only scenarios that cross are looked at inside it, by regula falsi
on the exact states. A dip shorter than the delay, such as a start surge, does not count.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Index = NDArray[np.intp]
VoltageAt = Callable[[Index], Callable[[Floats], Floats]]  # scenarios -> (seconds into the step -> voltage)

CROSSING_ROUNDS = 12  # Illinois steps at most: a smooth crossing takes two or three, one at a kink more
CROSSING_V = 2e-5  # close enough to the level: on the flattest plateau 0.005 % of charge
ROUNDING_S = 1e-6  # edges are sums of decimal times


def crossing_s(voltage_at: VoltageAt, index: Index, level_v: Floats, first_v: Floats, last_v: Floats,
               span_s: float) -> Floats:  # fmt: skip
    """Seconds into the step at which each scenario's voltage passes its level. All arrays (len(index),).

    Illinois variant of regula falsi (Dowell and Jarratt, BIT 11 (1971) 168-174).
    """
    low, high = np.zeros(len(index)), np.full(len(index), span_s)
    f_low, f_high = first_v - level_v, last_v - level_v
    found, voltage = high, voltage_at(index)
    close = np.zeros(len(index), dtype=bool)
    for _ in range(CROSSING_ROUNDS):
        width = np.where(f_high == f_low, 1.0, f_high - f_low)
        guess = high - f_high * (high - low) / width
        guess = np.clip(guess, np.minimum(low, high), np.maximum(low, high))
        value = voltage(guess) - level_v
        found = np.where(close, found, guess)  # one that is close enough stays: the others' rounds are not its own
        same = np.sign(value) == np.sign(f_high)
        low, f_low = np.where(same, low, high), np.where(same, 0.5 * f_low, f_high)
        high, f_high = guess, value
        close = close | (np.abs(value) < CROSSING_V)
        if close.all():
            break
    return found


@dataclass(slots=True)
class VoltageWatch:
    """Counts how long a voltage has been below level_v; fires after delay_s without a break.

    below_s : (n,) seconds so far.
    """

    level_v: float
    delay_s: float
    below_s: Floats

    def keep(self, mask: NDArray[np.bool_]) -> None:
        """Drop the scenarios that are over."""
        self.below_s = self.below_s[mask]

    def look(self, first_v: Floats, last_v: Floats, span_s: float, voltage_at: VoltageAt) -> Floats | None:
        """Seconds into the step at which each scenario fires, inf where it does not; None if none does."""
        starts, ends = first_v < self.level_v, last_v < self.level_v
        touched = starts | ends
        if not touched.any():
            if self.below_s.any():
                self.below_s = np.zeros_like(self.below_s)
            return None
        from_s = np.where(starts, 0.0, np.inf)
        until_s = np.where(ends, span_s, 0.0)
        for mask, times in ((~starts & ends, from_s), (starts & ~ends, until_s)):
            index = np.flatnonzero(mask)
            if len(index):
                level = np.full(len(index), self.level_v)
                times[index] = crossing_s(voltage_at, index, level, first_v[index], last_v[index], span_s)
        carried = np.where(starts, self.below_s, 0.0)
        spent = np.where(touched, carried + until_s - np.where(touched, from_s, 0.0), 0.0)
        self.below_s = np.where(ends, spent, 0.0)
        fires = touched & (spent >= self.delay_s - ROUNDING_S)
        if not fires.any():
            return None
        into = np.where(touched, from_s, 0.0) + self.delay_s - carried
        return np.where(fires, np.minimum(into, span_s), np.inf)


@dataclass(slots=True)
class TripWatch:
    """Counts how long each branch has carried at least current_a; fires after seconds.

    held_s : (branches, n) seconds so far. A current is constant within a step, so this is exact.
    """

    current_a: float
    seconds: float
    held_s: Floats

    def keep(self, mask: NDArray[np.bool_]) -> None:
        """Drop the scenarios that are over."""
        self.held_s = self.held_s[:, mask]

    def look(self, branch_a: Floats, span_s: float) -> Floats | None:
        """Seconds into the step at which each scenario fires, inf where it does not; None if none does."""
        above = branch_a >= self.current_a
        if not above.any():
            if self.held_s.any():
                self.held_s = np.zeros_like(self.held_s)
            return None
        before = self.held_s
        self.held_s = np.where(above, before + span_s, 0.0)
        fires = above & (self.held_s >= self.seconds - ROUNDING_S)
        if not fires.any():
            return None
        into = np.where(fires, np.maximum(self.seconds - before, 0.0), np.inf)
        first: Floats = into.min(axis=0)
        return first
