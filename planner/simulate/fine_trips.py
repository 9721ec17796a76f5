"""Trips of a log whose engine run was coarsened: read from the fine timeline, draw by draw.

Recorded and constant currents do not depend on the battery, so the first moment a trip is met is a matter of the
timeline alone; power loads are taken at a low voltage and resistive ones at a high one, which are the severe sides.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.outing.timeline import Timeline

Floats = NDArray[np.float64]


def first_trip_s(timeline: Timeline, load_factor: Floats, trips: tuple[tuple[float, float], ...],
                 volts: tuple[float, float], branches: int) -> Floats:  # fmt: skip
    """First moment [s] of the outing at which each scenario meets a trip, (n,), inf where none.

    load_factor : (L, n). volts : the lowest, for power loads, and the highest, for resistive ones [V].
    branches : the current is shared equally.
    """
    low_v, high_v = volts
    found = np.full(load_factor.shape[1], np.inf)
    if not trips:
        return found
    recorded_a = np.maximum(timeline.current_start_a, timeline.current_end_a)
    amps = (recorded_a + timeline.power_w / low_v + timeline.conductance_s * high_v) / branches
    most = amps.max(axis=1) @ load_factor
    lowest = min(current for current, _ in trips)
    for column in np.flatnonzero(most >= lowest):
        total = load_factor[:, column] @ amps
        found[column] = min(
            _first_s(timeline.edges_s, total >= current, seconds) for current, seconds in trips
        )
    return found


def _first_s(edges_s: Floats, above: NDArray[np.bool_], seconds: float) -> float:
    """When an unbroken stretch of `above` first reaches `seconds`; inf when none does."""
    change = np.diff(above.astype(np.int8), prepend=0, append=0)
    begin, end = edges_s[np.flatnonzero(change == 1)], edges_s[np.flatnonzero(change == -1)]
    long = end - begin >= seconds * (1.0 - 1e-9)
    return float(begin[long][0] + seconds) if long.any() else float("inf")
