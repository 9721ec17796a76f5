"""How hard and for how long: longest runs at or above each current, rolling RMS, mean and RMS.

A mean hides what opens a protection. A trace of current is read level by level: the longest unbroken time
at or above each level (a "run"), and the largest RMS over windows (for pulsing that no run shows).
Discharge current is positive; charging (negative) pieces are below every level.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.outing.timeline import Floats, Timeline

WINDOWS_S = (
    10.0,
    60.0,
    300.0,
    900.0,
)  # how slow protections and terminals average: common practice, no source
GRID_STEP = 1.005  # levels of moving or many-valued traces are rounded up by at most 0.5 %
MANY_VALUES = 300  # distinct constant currents above which they are rounded too
SMALLEST_SHARE = 1e-2  # moving currents below this share of the largest make no level of their own
SHORTEN_EVERY = 8  # levels; shortening costs about as much as one level (measured)
SAME = 1e-9  # relative difference that is rounding noise of a sum of loads


@dataclass(frozen=True, slots=True)
class Trace:
    """A current in straight pieces: piece k from edges_s[k] to edges_s[k + 1].

    edges_s : (m + 1,) rising [s]. start_a, end_a : (m,) current at the two ends of each piece [A].
    """

    edges_s: Floats
    start_a: Floats
    end_a: Floats


@dataclass(frozen=True, slots=True)
class Point:
    """One demand on the battery: a current and how long it lasts.

    current_a : the level, or the RMS. basis : "run" | "rms".
    threshold_a : the run is the longest time at or above this; at most 0.5 % below current_a, equal to it
        where the level is exact and for "rms".
    start_s : when that run, or that window, begins.
    """

    current_a: float
    duration_s: float
    basis: str
    threshold_a: float
    start_s: float


def trace_at(timeline: Timeline, voltage_v: float) -> Trace:
    """The total current of a timeline if the loads saw one constant voltage [V], above 0.

    For showing a need before a battery is chosen; a simulated run has its own trace.
    """
    voltage_made = (timeline.power_w / voltage_v + timeline.conductance_s * voltage_v).sum(axis=0)
    return Trace(
        timeline.edges_s,
        timeline.current_start_a.sum(axis=0) + voltage_made,
        timeline.current_end_a.sum(axis=0) + voltage_made,
    )


def mean_a(trace: Trace) -> float:
    """Mean current over the whole trace [A]."""
    length_s = np.diff(trace.edges_s)
    return float(np.sum(0.5 * (trace.start_a + trace.end_a) * length_s) / length_s.sum())


def rms_a(trace: Trace) -> float:
    """Root of the mean square current over the whole trace [A]; the pieces' squares integrated exactly."""
    length_s = np.diff(trace.edges_s)
    return float(np.sqrt(np.sum(_mean_square(trace.start_a, trace.end_a) * length_s) / length_s.sum()))


def longest_run_s(trace: Trace, level_a: ArrayLike) -> Floats:
    """Longest contiguous time with the current at or above each level [s].

    level_a : scalar or (n,) [A], above 0. Pieces join across edges; in a piece whose current moves the
    crossing is found by its straight line. Returns (n,), 0 where the level is never met (or only touched).
    """
    _, duration_s = _longest_runs(trace, np.atleast_1d(np.asarray(level_a, dtype=np.float64)))
    return duration_s


def levels(trace: Trace) -> tuple[Floats, Floats]:
    """The levels at which runs are taken: (threshold_a, current_a), both (n,), current rising [A].

    A run is timed at or above the threshold and reported with the current; threshold <= current, both
    currents that occur. Constant pieces give their exact current for both. Moving pieces, and all pieces
    when there are more than 300 distinct constant currents, are sorted into cells 0.5 % wide: the
    threshold is the lowest and the current the highest that occurs in the cell, so the pair is never
    milder than any current inside it and the largest current of all is always among them.
    """
    low, high = np.minimum(trace.start_a, trace.end_a), np.maximum(trace.start_a, trace.end_a)
    largest = float(high.max(initial=0.0))
    if largest <= 0.0:
        return np.zeros(0), np.zeros(0)
    moving = high - low > SAME * largest
    constant = np.unique(high[~moving & (high > 0.0)])
    group = np.cumsum(np.diff(constant, prepend=-np.inf) > SAME * constant)
    exact_low = constant[np.flatnonzero(np.diff(group, prepend=0))]
    exact_high = constant[np.flatnonzero(np.diff(group, append=group.size + 1))]
    if exact_low.size > MANY_VALUES:
        moving, exact_low, exact_high = np.ones(low.size, dtype=np.bool_), np.zeros(0), np.zeros(0)
    cell_low, cell_high = _cells(low[moving], high[moving], largest)
    threshold_a, current_a = np.append(exact_low, cell_low), np.append(exact_high, cell_high)
    order = np.lexsort((threshold_a, current_a))
    return threshold_a[order], current_a[order]


def rolling_rms_a(trace: Trace, window_s: float) -> tuple[float, float]:
    """Largest RMS over every position of a window, exactly: (RMS [A], start of that window [s]).

    window_s : above 0 and not longer than the trace [s], else ValueError.
    The mean square as the window slides has its largest value where an end of the window meets an edge, or,
    where the current moves, where the currents at both ends are equal: only those places are tried.
    """
    first_s, last_s = float(trace.edges_s[0]), float(trace.edges_s[-1])
    if not 0.0 < window_s <= last_s - first_s:
        raise ValueError(f"a window of {window_s} s does not fit in a trace of {last_s - first_s} s")
    place_s = np.concatenate([trace.edges_s, trace.edges_s - window_s])
    place_s = np.unique(np.clip(place_s, first_s, last_s - window_s))
    if np.any(trace.start_a != trace.end_a):
        place_s = np.append(place_s, _equal_ends(trace, place_s, window_s))
    within = _integrated_square(trace, place_s + window_s) - _integrated_square(trace, place_s)
    best = int(np.argmax(within))
    return float(np.sqrt(max(within[best], 0.0) / window_s)), float(place_s[best])


def points(trace: Trace) -> tuple[Point, ...]:
    """All demands of a trace: the longest run at each level, then the largest RMS over each window.

    Windows longer than the trace are left out. A trace without discharge has no points.
    """
    threshold_a, current_a = levels(trace)
    start_s, duration_s = _longest_runs(trace, threshold_a)
    rows = zip(current_a, duration_s, threshold_a, start_s, strict=True)
    runs = [Point(float(a), float(s), "run", float(low), float(at)) for a, s, low, at in rows]
    fitting = [window for window in WINDOWS_S if runs and window <= trace.edges_s[-1] - trace.edges_s[0]]
    return (*runs, *_rms_points(trace, fitting))


def _rms_points(trace: Trace, windows_s: Iterable[float]) -> Iterable[Point]:
    for window_s in windows_s:
        rms, start_s = rolling_rms_a(trace, window_s)
        yield Point(rms, window_s, "rms", rms, start_s)


@dataclass(frozen=True, slots=True)
class _Nodes:
    """The trace as a line through points (time, current); a jump is two points at one time."""

    time_s: Floats
    current_a: Floats

    @classmethod
    def of(cls, trace: Trace) -> _Nodes:
        time_s = np.repeat(trace.edges_s, 2)[1:-1]
        current_a = np.column_stack([trace.start_a, trace.end_a]).ravel()
        needed = np.ones(current_a.size, dtype=np.bool_)
        needed[1:-1] = (current_a[1:-1] != current_a[:-2]) | (current_a[1:-1] != current_a[2:])
        return cls(time_s[needed], current_a[needed])

    def from_level(self, level_a: float) -> _Nodes:
        """The same for this level and higher ones, shorter: points below it between two others below go."""
        met = self.current_a >= level_a * (1.0 - SAME)
        needed = met.copy()
        needed[1:] |= met[:-1]
        needed[:-1] |= met[1:]
        return _Nodes(self.time_s[needed], self.current_a[needed])

    def runs(self, level_a: float) -> tuple[Floats, Floats]:
        """Starts and ends of the runs at or above a level [s]."""
        met = self.current_a >= level_a * (1.0 - SAME)
        crossing = np.flatnonzero(met[1:] != met[:-1])
        before_a, after_a = self.current_a[crossing], self.current_a[crossing + 1]
        before_s, after_s = self.time_s[crossing], self.time_s[crossing + 1]
        share = np.clip((level_a - before_a) / (after_a - before_a), 0.0, 1.0)
        crossed_s = before_s + share * (after_s - before_s)
        if met[0]:
            crossed_s = np.append(self.time_s[0], crossed_s)
        if met[-1]:
            crossed_s = np.append(crossed_s, self.time_s[-1])
        return crossed_s[0::2], crossed_s[1::2]


def _longest_runs(trace: Trace, level_a: Floats) -> tuple[Floats, Floats]:
    """Start and length of the longest run at or above each level; of equal ones the first."""
    start_s, duration_s = np.zeros(level_a.size), np.zeros(level_a.size)
    nodes = _Nodes.of(trace)
    for number, place in enumerate(np.argsort(level_a, kind="stable")):
        if number % SHORTEN_EVERY == 0 and nodes.current_a.size:
            nodes = nodes.from_level(float(level_a[place]))
        if not nodes.current_a.size:
            break
        begin_s, end_s = nodes.runs(float(level_a[place]))
        if begin_s.size:
            best = int(np.argmax(end_s - begin_s))
            start_s[place], duration_s[place] = begin_s[best], end_s[best] - begin_s[best]
    return start_s, duration_s


def _cells(low: Floats, high: Floats, largest: float) -> tuple[Floats, Floats]:
    """Lowest and highest current in each 0.5 % cell that the pieces meet or pass through [A].

    Cell n reaches from GRID_STEP**(n - 1), left out, to GRID_STEP**n. Currents below a hundredth of the
    largest count as that: so small a current decides nothing, and the number of cells stays bounded.
    """
    floor = SMALLEST_SHARE * largest
    drawing = high > 0.0
    low, high = np.maximum(low[drawing], floor), np.maximum(high[drawing], floor)
    if low.size == 0:
        return np.zeros(0), np.zeros(0)
    low_cell, high_cell = _cell(low), _cell(high)
    base = int(low_cell.min())
    count = int(high_cell.max()) - base + 1
    lowest, highest = np.full(count, np.inf), np.zeros(count)
    np.minimum.at(lowest, low_cell - base, low)
    np.maximum.at(highest, high_cell - base, high)
    grid = GRID_STEP ** np.arange(base - 1, base + count, dtype=np.float64)
    # Cells a piece enters from below start at their bottom, those it leaves upwards reach their top.
    entered = np.bincount(low_cell - base, minlength=count) - np.bincount(high_cell - base, minlength=count)
    passing = np.cumsum(entered)  # pieces that go on from this cell into the next
    highest = np.where(passing > 0, grid[1:], highest)
    lowest = np.where(np.append(0, passing[:-1]) > 0, grid[:-1], lowest)
    met = np.isfinite(lowest) & (highest > 0.0)
    return lowest[met], highest[met]


def _cell(current_a: Floats) -> NDArray[np.int64]:
    """Number n of the cell (GRID_STEP**(n - 1), GRID_STEP**n] a current lies in."""
    number: NDArray[np.int64] = np.ceil(np.log(current_a) / np.log(GRID_STEP) - SAME).astype(np.int64)
    return number


def _mean_square(start_a: Floats, end_a: Floats) -> Floats:
    """Mean of the square of a straight line from start to end, exact [A2]."""
    return (start_a * start_a + start_a * end_a + end_a * end_a) / 3.0


def _place(trace: Trace, time_s: Floats) -> NDArray[np.intp]:
    """Number of the piece each time lies in; an edge belongs to the piece after it."""
    found = np.searchsorted(trace.edges_s, time_s, side="right") - 1
    return np.clip(found, 0, trace.start_a.size - 1)


def _slope(trace: Trace) -> Floats:
    return (trace.end_a - trace.start_a) / np.diff(trace.edges_s)


def _integrated_square(trace: Trace, time_s: Floats) -> Floats:
    """Integral of the squared current from the trace's start to each time, exact [A2 s]."""
    whole = _mean_square(trace.start_a, trace.end_a) * np.diff(trace.edges_s)
    before = np.append(0.0, np.cumsum(whole)[:-1])
    place = _place(trace, time_s)
    into_s = time_s - trace.edges_s[place]
    from_a = trace.start_a[place]
    return before[place] + into_s * _mean_square(from_a, from_a + _slope(trace)[place] * into_s)


def _equal_ends(trace: Trace, place_s: Floats, window_s: float) -> Floats:
    """Window starts between the places given where the squared currents at both ends are equal [s]."""
    middle_s = 0.5 * (place_s[:-1] + place_s[1:])
    slope = _slope(trace)
    at = [(_place(trace, time_s), time_s) for time_s in (middle_s, middle_s + window_s)]
    (first_a, first_slope), (last_a, last_slope) = [
        (trace.start_a[place] + slope[place] * (time_s - trace.edges_s[place]), slope[place])
        for place, time_s in at
    ]
    found = []
    for sign in (1.0, -1.0):  # the square is equal where the currents are, or are opposite (charging)
        turning = last_slope - sign * first_slope
        moves = turning != 0.0
        equal_s = middle_s[moves] - (last_a - sign * first_a)[moves] / turning[moves]
        found.append(equal_s[(place_s[:-1][moves] < equal_s) & (equal_s < place_s[1:][moves])])
    return np.concatenate(found)
