"""A long log in fewer pieces: the mean carries the charge, and what swings around it is kept beside it.

An outing of tens of thousands of samples costs as many steps of every draw. Consecutive short pieces in which
nothing but recorded loads moves become one, but where the log changes most: a pull of half a minute sags near empty
as no mean does. The current of such a piece is their mean, and Swing keeps the highest current that lasts as long as
a cut-off's delay, the highest of all, and the variance, which heats. How hard for how long is always read from the
fine timeline, never from this one.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from planner.outing.timeline import Floats, Swing, Timeline

MOST_PIECES = 600  # timelines up to this long are left as they are
AIM_PIECES = 400  # windows a longer one is joined in: P10, P50 and P90 of the runtime move by 0.01 % at most
MOST_JUMPS = 200  # so many of a log's largest changes are kept as they are: long pulls begin and end there
MANY_CHANGES = 200  # a load that changes this often is what makes the timeline long


def coarsen(timeline: Timeline, delay_s: float) -> Timeline:
    """The same outing in about AIM_PIECES pieces and at a log's largest changes; itself when it is short already.

    delay_s : how long a voltage must stay below the user's cut-off to count [s]. Where an inverter of the outing gives
    up sooner, that is what a dip is held against.
    """
    if len(timeline.edges_s) - 1 <= MOST_PIECES:
        return timeline
    restless = _changes(timeline.current_start_a).sum(axis=1) > MANY_CHANGES
    if not restless.any():
        return timeline
    first = _group_starts(timeline, restless)
    length = np.diff(timeline.edges_s)
    span = np.add.reduceat(length, first)
    mean = 0.5 * (timeline.current_start_a + timeline.current_end_a)
    middle = np.add.reduceat(mean * length, first, axis=1) / span
    start, end = timeline.current_start_a, timeline.current_end_a
    square = np.add.reduceat((start * start + start * end + end * end) / 3.0 * length, first, axis=1) / span
    top = np.maximum.reduceat(np.maximum(start, end), first, axis=1)
    soonest_s = float(np.fmin.reduce(timeline.cutout_delay_s, initial=delay_s))
    hold = np.where(restless[:, np.newaxis], _held(mean, timeline.edges_s, first, soonest_s, restless), top)
    swing = Swing(np.maximum(hold, middle), top, np.maximum(square - middle**2, 0.0))
    return replace(
        timeline,
        edges_s=np.append(timeline.edges_s[first], timeline.edges_s[-1]),
        current_start_a=middle,
        current_end_a=middle,
        power_w=timeline.power_w[:, first],
        conductance_s=timeline.conductance_s[:, first],
        uses_inverter=timeline.uses_inverter[:, first],
        swing=swing,
    )


def _changes(values: Floats | NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Where each row differs from the piece before, (L, m); the first piece counts as a change."""
    changed = np.ones(values.shape, dtype=bool)
    changed[:, 1:] = values[:, 1:] != values[:, :-1]
    return changed


def _group_starts(timeline: Timeline, restless: NDArray[np.bool_]) -> NDArray[np.intp]:
    """First piece of every group: at each change of a quiet load, at the others' largest, else after a set time."""
    quiet = ~restless
    breaks = np.zeros(len(timeline.edges_s) - 1, dtype=bool)
    for values in (timeline.power_w, timeline.conductance_s, timeline.uses_inverter):
        breaks |= _changes(values).any(axis=0)
    for values in (timeline.current_start_a[quiet], timeline.current_end_a[quiet]):
        if len(values):
            breaks |= _changes(values).any(axis=0)
    begin = timeline.edges_s[:-1]
    window = float(timeline.edges_s[-1]) / AIM_PIECES
    since = begin - np.maximum.accumulate(np.where(breaks, begin, 0.0))
    cell = np.floor(since / window)
    breaks[1:] |= cell[1:] != cell[:-1]
    mean = 0.5 * (timeline.current_start_a + timeline.current_end_a)[restless].sum(axis=0)
    jump = np.abs(np.diff(mean))
    if jump.size > MOST_JUMPS:
        breaks[1 + np.argpartition(jump, -MOST_JUMPS)[-MOST_JUMPS:]] = True
    breaks[0] = True
    return np.flatnonzero(breaks)


def _held(mean: Floats, edges_s: Floats, first: NDArray[np.intp], delay_s: float,
          restless: NDArray[np.bool_]) -> Floats:  # fmt: skip
    """Current each group stays at or above for delay_s in all, the same time before and after it counted, (L, groups).

    That is longer than in one stretch, so it is severe; and a stretch that two groups share counts in both.
    """
    bounds = np.append(first, mean.shape[1])
    from_s, until_s = edges_s[bounds[:-1]] - delay_s, edges_s[bounds[1:]] + delay_s
    begin = np.maximum(np.searchsorted(edges_s, from_s, side="right") - 1, 0)
    end = np.minimum(np.searchsorted(edges_s, until_s, side="left"), mean.shape[1])
    held = np.zeros((len(mean), len(first)))
    for row in np.flatnonzero(restless):
        for k in range(len(first)):
            inside = slice(begin[k], end[k])
            sides = np.clip(edges_s[begin[k] : end[k] + 1], from_s[k], until_s[k])
            order = np.argsort(-mean[row, inside])
            lasting = np.cumsum(np.diff(sides)[order])
            place = min(int(np.searchsorted(lasting, delay_s - 1e-9)), len(order) - 1)
            held[row, k] = mean[row, inside][order[place]]
    return held
