"""A rising current in a log: its rate, and where it ended."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planner.log_file.columns import FloatArray
from planner.record.log_sign import LOADED

FEWEST_SAMPLES = 5
STRAIGHT = 0.99  # share of variance a line explains: stairs of even steps pass, a step and hold does not
RISE = 0.5  # of the peak current: a smaller rise is a drifting load


@dataclass(frozen=True, slots=True)
class Ramp:
    """A steady rise of current up to its highest value. Times [s], currents [A], rate [A/s]."""

    start_s: float
    end_s: float
    from_a: float
    end_a: float
    rate_a_per_s: float


def find_ramp(table: FloatArray) -> Ramp | None:
    """The rise that leads to the largest current, when it is one straight ramp; else None.

    table : outline with discharge positive, shape (4, n).
    """
    time_s, _, current_a, _ = table
    peak = int(np.argmax(current_a))
    end_a = float(current_a[peak])
    if end_a <= 0.0:
        return None
    idle = np.flatnonzero(current_a[:peak] <= LOADED * end_a)
    first = int(idle[-1]) if idle.size else 0
    span_s, rise = time_s[first : peak + 1], current_a[first : peak + 1]
    if rise.size < FEWEST_SAMPLES or span_s[-1] <= span_s[0] or rise[-1] - rise[0] < RISE * end_a:
        return None
    rate, start_a = np.polyfit(span_s - span_s[0], rise, 1)
    missed = rise - (start_a + rate * (span_s - span_s[0]))
    if rate <= 0.0 or float(missed @ missed) > (1.0 - STRAIGHT) * float(np.sum((rise - rise.mean()) ** 2)):
        return None
    return Ramp(float(span_s[0]), float(span_s[-1]), float(rise[0]), end_a, float(rate))
