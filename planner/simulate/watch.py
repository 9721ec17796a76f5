"""When a voltage falls below a level for longer than a delay, and when a current lasts too long.

Each watch looks at both ends of a step and at a bound of what lies between; only where the level may have been crossed
is the step looked into. A dip shorter than the delay, such as a start surge, does not count.
"""

from __future__ import annotations

import math

from planner.compiled import compiled, inlined, unfolded
from planner.simulate.inside import SERVED, TERMINALS, crossing_s, inside, sunk_s, watched_v
from planner.simulate.network import solve
from planner.simulate.tables import (
    AFTER,
    AT_INSIDE,
    BEFORE,
    CHARGE,
    CLOCK,
    CURRENT,
    CUTOFF,
    CUTOFF_S,
    CUTOFF_V,
    CUTOUT_DELAY_S,
    CUTOUT_V,
    DEEP,
    DEEP_PLACE,
    EMF,
    END,
    FINAL,
    FROM,
    GAP_1,
    GAP_2,
    HERE,
    HOLD,
    INVERTER_CHARGE_C,
    INVERTER_S,
    INVERTER_SOC,
    LATELY_V,
    LEAST_HEAD,
    LEAST_PLACE,
    LEAST_V,
    LEFT_OFF_S,
    LOAD,
    MIDDLE,
    OHM,
    OPENING,
    OPENS_V,
    OVER_STEP,
    PLACE,
    R0,
    RESTART_V,
    ROW,
    SEEN,
    SOC,
    SOURCE_OHM,
    SPARE,
    START,
    STATES,
    TO,
    TOP,
    TRIP_S,
    USABLE,
    USES_INVERTER,
    VOLTAGE_WATCHES,
    WIRING_OHM,
    Floats,
    Now,
    Pieces,
    Watches,
)
from planner.simulate.unit import look_up, place_on_curve

ROUNDING_S = 1e-6  # edges are sums of decimal times


@inlined
def look(now: Now, watches: Watches, watch: int, level_v: float, delay_s: float, span_s: float, linear: bool,
         wiring_ohm: float) -> float:  # fmt: skip
    """Seconds into the step at which a voltage has been below level_v for delay_s without a break; inf if not."""
    s = now.s
    first_v, last_v = watched_v(s, FROM, wiring_ohm), watched_v(s, TO, wiring_ohm)
    starts, ends = first_v < level_v, last_v < level_v
    if not (starts or ends):
        watches.below_s[watch] = 0.0
        if watched_v(s, DEEP, wiring_ohm) < level_v:
            return _sag_s(now, level_v, delay_s, first_v, last_v, span_s, linear, wiring_ohm)
        return math.inf
    from_s, until_s, before_s = 0.0, span_s, watches.below_s[watch] if starts else 0.0
    if starts != ends:
        there = crossing_s(now, TERMINALS, level_v, 0.0, span_s, first_v - level_v, last_v - level_v, span_s,
                           linear, wiring_ohm)  # fmt: skip
        if ends:
            from_s = there
        else:
            until_s = there
    spent = before_s + until_s - from_s
    watches.below_s[watch] = spent if ends else 0.0
    if spent < delay_s - ROUNDING_S:
        return math.inf
    return min(from_s + delay_s - before_s, span_s)


@compiled
def _sag_s(now: Now, level_v: float, delay_s: float, first_v: float, last_v: float, span_s: float, linear: bool,
           wiring_ohm: float) -> float:  # fmt: skip
    """As `look`, where the voltage is above the level at both ends of the step and may have sagged between them."""
    low_s = sunk_s(now, TERMINALS, level_v, span_s, linear, wiring_ohm)
    if low_s == math.inf:
        return math.inf
    below_v = inside(now, TERMINALS, low_s, span_s, linear, wiring_ohm) - level_v
    from_s = crossing_s(now, TERMINALS, level_v, 0.0, low_s, first_v - level_v, below_v, span_s, linear, wiring_ohm)
    until_s = crossing_s(now, TERMINALS, level_v, low_s, span_s, below_v, last_v - level_v, span_s, linear,
                         wiring_ohm)  # fmt: skip
    return from_s + delay_s if until_s - from_s >= delay_s - ROUNDING_S else math.inf


@unfolded
def worst_of_step(now: Now, linear: bool) -> None:
    """A bound of what the step may have been at its worst, as if each state had been at its worst at once, into DEEP.

    Every state moves one way within a step, so none is ever outside its two ends. Works where the step's middle was.
    """
    for u in range(len(now.unit)):
        before, after = now.state[BEFORE, u], now.state[AFTER, u]
        last, worst = now.instant[END, u], now.instant[MIDDLE, u]
        gap = max(before[GAP_1], after[GAP_1]) + max(before[GAP_2], after[GAP_2])
        usable = min(now.warm[START, u, USABLE], now.warm[END, u, USABLE])
        soc, pairs_v = min(before[SOC], after[SOC]), 0.0
        for p in range(STATES, len(before)):
            pairs_v += max(before[p], after[p])
        worst[PLACE], worst[SEEN] = last[PLACE], last[SEEN]
        if soc < after[SOC] or gap > after[GAP_1] + after[GAP_2] or usable < now.warm[END, u, USABLE]:
            worst[PLACE] = place_on_curve(soc, gap, usable)
            worst[SEEN], _ = look_up(now.curves, int(now.unit[u, ROW]), worst[PLACE])
        worst[EMF], worst[OHM] = worst[SEEN] - pairs_v, max(now.warm[START, u, R0], now.warm[END, u, R0])
        now.tally[u, DEEP_PLACE] = worst[PLACE]
    hardest = FINAL if now.s[FINAL + CURRENT] > now.s[HERE + CURRENT] else HERE
    solve(now.instant[MIDDLE], now.lead_ohm, now.s, hardest, linear, DEEP, now.branch[AT_INSIDE])


@unfolded
def battery_end(numbers: Floats, now: Now, watches: Watches, span_s: float, linear: bool,
                tended: bool) -> tuple[float, int]:  # fmt: skip
    """Seconds into the step at which the battery ends, inf if it does not, and which of END_KINDS.

    tended : an inverter with a cut-out of its own is in use; where a power cannot be served, it is what goes off.
    """
    s = now.s
    low = min(watched_v(s, FROM, 0.0), watched_v(s, TO, 0.0))
    s[LATELY_V] = s[LEAST_V]
    s[LEAST_V] = min(s[LEAST_V], low - (s[TOP] - s[HOLD]) * s[TO + SOURCE_OHM])
    s[LEAST_HEAD] = min(s[LEAST_HEAD], low - numbers[CUTOFF_V])
    when, kind = look(now, watches, CUTOFF, numbers[CUTOFF_V], numbers[CUTOFF_S], span_s, linear, 0.0), 1
    empty = _empty_s(now, span_s, linear)
    if empty < when:
        when, kind = empty, 2
    if not math.isnan(numbers[OPENS_V]):
        s[LEAST_HEAD] = min(s[LEAST_HEAD], low - numbers[OPENS_V])
        opens = look(now, watches, OPENING, numbers[OPENS_V], 0.0, span_s, linear, 0.0)
        if opens < when:
            when, kind = opens, 3
    if not (linear or tended):
        # at most twice the open voltage, and so four times the terminals', between the two squares' roots
        s[LEAST_HEAD] = min(s[LEAST_HEAD], min(s[FROM + SPARE], s[TO + SPARE]) / (4.0 * max(low, 1e-9)))
        unserved = _falls_s(now, SERVED, s[FROM + SPARE], s[TO + SPARE], s[DEEP + SPARE], span_s, linear)
        if unserved < when:
            when, kind = unserved, 4
    return when, kind


@inlined
def _empty_s(now: Now, span_s: float, linear: bool) -> float:
    """Seconds into the step at which the first unit's place on the curve reaches 0; inf where none does."""
    earliest = math.inf
    for u in range(len(now.unit)):
        first, last = now.instant[START, u, PLACE], now.instant[END, u, PLACE]
        now.s[LEAST_PLACE] = min(now.s[LEAST_PLACE], last)
        earliest = min(earliest, _falls_s(now, u, first, last, now.tally[u, DEEP_PLACE], span_s, linear))
    return earliest


@inlined
def _falls_s(now: Now, what: int, first: float, last: float, deep: float, span_s: float, linear: bool) -> float:
    """Seconds into the step at which what is watched first falls to 0; inf if it does not."""
    if first > 0.0 and last > 0.0 and deep > 0.0:
        return math.inf
    return _fallen_s(now, what, first, last, span_s, linear)


@compiled
def _fallen_s(now: Now, what: int, first: float, last: float, span_s: float, linear: bool) -> float:
    if first <= 0.0:
        return 0.0
    low_s, below = span_s, last
    if last > 0.0:
        low_s = sunk_s(now, what, 0.0, span_s, linear, 0.0)
        if low_s == math.inf:
            return math.inf
        below = inside(now, what, low_s, span_s, linear, 0.0)
    return crossing_s(now, what, 0.0, 0.0, low_s, first, below, span_s, linear, 0.0)


@unfolded
def watch_trips(trips: Floats, now: Now, watches: Watches, ends: Floats, c: int, span_s: float) -> None:
    """First moment a branch has carried a trip's current for its time. A step's current stands still: exact."""
    for trip in range(trips.shape[1]):
        for b in range(len(now.lead_ohm)):
            if now.branch[OVER_STEP, b] < trips[0, trip]:
                watches.held_s[trip, b] = 0.0
                continue
            before = watches.held_s[trip, b]
            watches.held_s[trip, b] = before + span_s
            if watches.held_s[trip, b] >= trips[1, trip] - ROUNDING_S:
                into = max(trips[1, trip] - before, 0.0)
                ends[TRIP_S, c] = min(ends[TRIP_S, c], now.s[CLOCK] + into)


@inlined
def tended(pieces: Pieces, watches: Watches, k: int) -> bool:
    """Whether an inverter with a cut-out of its own is on in this piece."""
    for i in range(pieces.inverters.shape[1]):
        load = int(pieces.inverters[LOAD, i])
        if pieces.loads[USES_INVERTER, load, k] != 0.0 and watches.on[load] != 0.0:
            return True
    return False


@compiled
def watch_inverters(pieces: Pieces, now: Now, watches: Watches, cutouts: Floats, c: int, k: int,
                    span_s: float, linear: bool) -> bool:  # fmt: skip
    """Cut-outs at the inverters' own terminals. True when a load went off, or on again, from the next step.

    Without a restart the load goes on being served, so that the same run also tells whether the charge would last;
    the cut-out is only noted.
    """
    changed, wire = False, now.s[WIRING_OHM]
    for i in range(pieces.inverters.shape[1]):
        load, level, restart = (
            int(pieces.inverters[LOAD, i]),
            pieces.inverters[CUTOUT_V, i],
            pieces.inverters[RESTART_V, i],
        )
        if pieces.loads[USES_INVERTER, load, k] == 0.0:
            changed = _rest(watches, cutouts, c, load) or changed
            continue
        first_v, last_v = watched_v(now.s, FROM, wire), watched_v(now.s, TO, wire)
        now.s[LEAST_HEAD] = min(now.s[LEAST_HEAD], min(first_v, last_v) - level)
        fired = math.inf
        if watches.on[load] == 0.0:
            watches.below_s[VOLTAGE_WATCHES + load] = 0.0
        else:
            delay_s = pieces.inverters[CUTOUT_DELAY_S, i]
            fired = look(now, watches, VOLTAGE_WATCHES + load, level, delay_s, span_s, linear, wire)
        if fired < math.inf:
            _note_cutout(now, cutouts, c, load, fired, span_s, math.isnan(restart))
        if not math.isnan(restart):
            changed = _switch(now, watches, load, fired, last_v >= restart) or changed
    return changed


@compiled
def _rest(watches: Watches, cutouts: Floats, c: int, load: int) -> bool:
    """The load is not in use: forget what was counted. True when it was off."""
    watches.below_s[VOLTAGE_WATCHES + load] = 0.0
    if watches.on[load] != 0.0:
        return False
    note_left_off(watches, cutouts, c, load)
    watches.on[load] = 1.0
    return True


@compiled
def note_left_off(watches: Watches, cutouts: Floats, c: int, load: int) -> None:
    """An inverter that could have restarted by itself and did not while it was wanted."""
    if cutouts[LEFT_OFF_S, load, c] == math.inf:
        cutouts[LEFT_OFF_S, load, c] = watches.off_since_s[load]


@compiled
def _note_cutout(now: Now, cutouts: Floats, c: int, load: int, into_s: float, span_s: float,
                 stays_off: bool) -> None:  # fmt: skip
    if cutouts[INVERTER_S, load, c] < math.inf:
        return
    cutouts[INVERTER_S, load, c] = now.s[CLOCK] + into_s
    cutouts[INVERTER_CHARGE_C, load, c] = now.s[CHARGE] + total(now.branch[OVER_STEP]) * into_s
    before, after = mean_of(now.state[BEFORE], SOC), mean_of(now.state[AFTER], SOC)
    cutouts[INVERTER_SOC, load, c] = before + (after - before) * into_s / span_s
    if stays_off:
        cutouts[LEFT_OFF_S, load, c] = cutouts[INVERTER_S, load, c]


@inlined
def total(values: Floats) -> float:
    """Sum of a row."""
    found = 0.0
    for value in values:
        found += value
    return found


@compiled
def mean_of(values: Floats, place: int) -> float:
    """Mean over the units of one place of a table (u, places)."""
    found = 0.0
    for u in range(len(values)):
        found += values[u, place]
    return found / len(values)


@compiled
def _switch(now: Now, watches: Watches, load: int, fired_s: float, voltage_back: bool) -> bool:
    """Go off where it fired, on again where the voltage is back. True when that changed anything."""
    was_on = watches.on[load] != 0.0
    if fired_s < math.inf:
        watches.off_since_s[load] = now.s[CLOCK] + fired_s
    stays_on = fired_s == math.inf and (was_on or voltage_back)
    watches.on[load] = 1.0 if stays_on else 0.0
    return stays_on != was_on  # type: ignore[no-any-return]
