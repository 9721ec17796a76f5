"""The march of each scenario through its outing: steps, watches, ledgers, its end.

Scenarios are independent: none sees another's clock or end. All share the timeline and the cut of its pieces into
steps, so that their traces stand side by side.
"""

from __future__ import annotations

import math

from planner.compiled import compiled, kept, unfolded
from planner.simulate.inside import warmed_share
from planner.simulate.leap import after_pass, begin_pass
from planner.simulate.step import keep_end, refresh, take_step
from planner.simulate.tables import (
    AFTER,
    AIR_K,
    AMBIENT_K,
    AMPS,
    AT_END,
    AT_START,
    BEFORE,
    CABLE_OHM,
    CELL_K,
    CHARGE,
    CHARGE_C,
    CLOCK,
    CONDUCTANCE_S,
    COUNT,
    CURRENT,
    CUTOFF_V,
    DELIVERED,
    END_A,
    END_CHARGE_C,
    END_ENERGY_J,
    END_HEAT_J,
    END_KIND,
    END_S,
    END_SOC,
    ENERGY,
    FINAL,
    FROM,
    HALF_WAY,
    HEAT,
    HERE,
    HOLD,
    HOLD_A,
    LATELY_V,
    LEAST_V,
    LINEAR,
    LOAD,
    LONGEST_S,
    LOST,
    MARK_CHARGE_C,
    MARK_ENERGY_J,
    MARK_SOC,
    MARK_TEMP_K,
    MIN_V,
    MOST_LEAP_V,
    OHMIC,
    OUTING_S,
    OVER_STEP,
    POWER,
    POWER_W,
    REFERENCE,
    REFERENCE_K,
    REPEATS,
    RESISTIVE,
    ROW,
    SIEMENS,
    SOC,
    SPAN_OF,
    START,
    START_A,
    STATES,
    STEADY,
    STEPS,
    STORED,
    STORED_CHANGE_J,
    TEMP,
    TO,
    TOP,
    TOP_A,
    TRACE_END_A,
    TRACE_END_V,
    TRACE_SOC,
    TRACE_START_A,
    TRACE_START_V,
    TRACE_TEMP,
    VARIANCE,
    VARIANCE_A2,
    VOLTS,
    WIRING_OHM,
    Floats,
    Now,
    Pieces,
    Results,
    Rules,
    Watches,
)
from planner.simulate.unit import curve_area, fade_factors, instant, warm_unit
from planner.simulate.watch import (
    battery_end,
    mean_of,
    note_left_off,
    tended,
    total,
    watch_inverters,
    watch_trips,
    worst_of_step,
)


@kept("simulate/*.py", "battery/c*.py")
def march_some(pieces: Pieces, rules: Rules, now: Now, watches: Watches, results: Results, begin: int,
               end: int) -> None:  # fmt: skip
    """Scenarios begin to end, each to its battery's end, or to the outing's where it is not repeated."""
    outing_s = rules.numbers[OUTING_S]
    for c in range(begin, end):
        _begin(rules, now, watches, c)
        first, over = True, False
        while not over:
            begin_pass(now)
            over = _walk_outing(pieces, rules, now, watches, results, c, first)
            if first and not over:
                _mark(now, results.ends, c)
            first = False
            if over or rules.numbers[REPEATS] == 0.0:
                break
            for i in range(pieces.inverters.shape[1]):
                load = int(pieces.inverters[LOAD, i])
                if watches.on[load] == 0.0 and now.s[CLOCK] - watches.off_since_s[load] >= outing_s:
                    note_left_off(watches, results.inverters, c, load)
            after_pass(now, rules.numbers[MOST_LEAP_V], outing_s)
            over = now.s[CLOCK] >= rules.numbers[LONGEST_S]


@compiled
def _fill(values: Floats, value: float) -> None:
    for place in range(len(values)):
        values[place] = value


@compiled
def _begin(rules: Rules, now: Now, watches: Watches, c: int) -> None:
    """A rested battery."""
    s = now.s
    _fill(s, 0.0)
    s[AMBIENT_K], s[WIRING_OHM] = rules.told[c, AIR_K], rules.told[c, CABLE_OHM]
    s[REFERENCE_K] = rules.numbers[REFERENCE]
    s[LEAST_V], s[LATELY_V] = math.inf, math.inf
    _fill(watches.below_s, 0.0)
    _fill(watches.on, 1.0)
    _fill(watches.off_since_s, math.inf)
    for trip in range(len(watches.held_s)):
        _fill(watches.held_s[trip], 0.0)
    for span_of in range(len(now.faded)):
        now.faded[span_of, 0, 0] = math.nan
    for u in range(len(now.unit)):
        for place in range(now.unit.shape[1]):
            now.unit[u, place] = rules.unit[c, u, place]
        state = now.state[BEFORE, u]
        _fill(state, 0.0)
        _fill(now.tally[u], 0.0)
        state[SOC], state[TEMP] = rules.start_soc[c, u], rules.told[c, CELL_K]
        warm_unit(now.unit[u], len(state) - STATES, s[REFERENCE_K], state[TEMP], now.warm[START, u])
        instant(now.curves, now.unit[u], state, now.warm[START, u], now.instant[START, u])
        s[STORED] += now.unit[u, CHARGE_C] * curve_area(now.curves, int(now.unit[u, ROW]), state[SOC])


@unfolded
def _walk_outing(pieces: Pieces, rules: Rules, now: Now, watches: Watches, results: Results, c: int,
                 first: bool) -> bool:  # fmt: skip
    """All pieces of one outing. True when the battery ended."""
    place = 0
    for k in range(pieces.table.shape[1]):
        span_of = int(pieces.table[SPAN_OF, k])
        if math.isnan(now.faded[span_of, 0, 0]):
            for u in range(len(now.unit)):
                fade_factors(now.unit[u], 0.5 * pieces.spans_s[span_of], now.faded[span_of, u])
        if _walk_piece(pieces, rules, now, watches, results, c, k, place if first else -1):
            return True
        place += int(pieces.table[COUNT, k])
    return False


@unfolded
def _walk_piece(pieces: Pieces, rules: Rules, now: Now, watches: Watches, results: Results, c: int, k: int,
                place: int) -> bool:  # fmt: skip
    """All steps of one piece; place : of its first step in the trace, below 0 without one. True at the end."""
    table = pieces.table[:, k]
    count, span_of, linear, ends = int(table[COUNT]), int(table[SPAN_OF]), table[LINEAR] != 0.0, results.ends
    span_s, changed = pieces.spans_s[span_of], True
    for number in range(count):
        if changed or table[STEADY] == 0.0:
            _ask(pieces.loads, rules.factor, now.s, watches.on, c, k, number / count, (number + 1.0) / count)
            refresh(now, linear)
        take_step(now, span_of, span_s, linear)
        worst_of_step(now, linear)
        when, kind = battery_end(rules.numbers, now, watches, span_s, linear, tended(pieces, watches, k))
        changed = False
        if pieces.inverters.shape[1] > 0:
            changed = watch_inverters(pieces, now, watches, results.inverters, c, k, span_s, linear)
        if rules.trips.shape[1] > 0:
            watch_trips(rules.trips, now, watches, ends, c, span_s)
        if place >= 0 and results.trace.shape[1] > 0:
            _trace(now, results, c, place + number)
        _count(now, span_s)
        ends[STEPS, c] += 1.0
        if when < math.inf:
            _close(now, ends, c, when, kind, span_s, rules.numbers[CUTOFF_V])
            return True
        keep_end(now)
        now.s[CLOCK] += span_s
    return False


@unfolded
def _ask(
    loads: Floats, factors: Floats, s: Floats, on: Floats, c: int, k: int, begin: float, end: float
) -> None:
    """What all loads ask at both ends and in the middle of a step, fractions of the piece, and what it hides.

    Conductance and power do not move inside a piece.
    """
    for place in range(HERE, VARIANCE + 1):
        s[place] = 0.0
    for load in range(len(on)):
        factor = factors[load, c] * on[load]
        start, rise = loads[START_A, load, k], loads[END_A, load, k] - loads[START_A, load, k]
        s[HERE + CURRENT] += (start + begin * rise) * factor
        s[HALF_WAY + CURRENT] += (start + 0.5 * (begin + end) * rise) * factor
        s[FINAL + CURRENT] += (start + end * rise) * factor
        s[HERE + POWER] += loads[POWER_W, load, k] * factor
        s[HERE + SIEMENS] += loads[CONDUCTANCE_S, load, k] * factor
        s[HOLD] += (loads[HOLD_A, load, k] - start) * factor
        s[TOP] += (loads[TOP_A, load, k] - start) * factor
        s[VARIANCE] += loads[VARIANCE_A2, load, k] * factor * factor
    for demand in (HALF_WAY, FINAL):
        s[demand + POWER], s[demand + SIEMENS] = s[HERE + POWER], s[HERE + SIEMENS]


@unfolded
def _count(now: Now, span_s: float) -> None:
    """The ledgers after a step."""
    s = now.s
    s[CHARGE] += total(now.branch[OVER_STEP]) * span_s
    s[ENERGY] += s[DELIVERED]
    s[HEAT] += s[LOST]
    s[OHMIC] += s[RESISTIVE]


@compiled
def _trace(now: Now, results: Results, c: int, place: int) -> None:
    s, trace = now.s, results.trace
    trace[TRACE_START_A, place, c], trace[TRACE_END_A, place, c] = s[FROM + AMPS], s[TO + AMPS]
    trace[TRACE_START_V, place, c], trace[TRACE_END_V, place, c] = s[FROM + VOLTS], s[TO + VOLTS]
    trace[TRACE_SOC, place, c] = mean_of(now.state[AFTER], SOC)
    trace[TRACE_TEMP, place, c] = _warmest(now.state[AFTER])
    if c == 0:
        for b in range(len(now.lead_ohm)):
            results.branch_trace[0, place, b] = now.branch[AT_START, b]
            results.branch_trace[1, place, b] = now.branch[AT_END, b]


@compiled
def _warmest(state: Floats) -> float:
    most = -math.inf
    for u in range(len(state)):
        most = max(most, state[u, TEMP])
    return most


@compiled
def _mark(now: Now, ends: Floats, c: int) -> None:
    """The outing's end: what was used by then."""
    ends[MARK_CHARGE_C, c], ends[MARK_ENERGY_J, c] = now.s[CHARGE], now.s[ENERGY]
    ends[MARK_TEMP_K, c], ends[MARK_SOC, c] = _warmest(now.state[BEFORE]), mean_of(now.state[BEFORE], SOC)
    ends[MIN_V, c] = now.s[LEAST_V]


@compiled
def _close(now: Now, ends: Floats, c: int, into_s: float, kind: int, span_s: float, cutoff_v: float) -> None:
    """The battery's end inside the step just taken: everything is told as of that moment."""
    share, s, stored = into_s / span_s, now.s, 0.0
    ends[END_S, c], ends[END_KIND, c] = s[CLOCK] + into_s, kind
    ends[END_CHARGE_C, c] = s[CHARGE] - total(now.branch[OVER_STEP]) * span_s * (1.0 - share)
    ends[END_ENERGY_J, c] = s[ENERGY] - s[DELIVERED] * (1.0 - share)
    ends[END_HEAT_J, c] = s[HEAT] - s[LOST] * (1.0 - share)
    for u in range(len(now.unit)):
        before, after = now.state[BEFORE, u], now.state[AFTER, u]
        warmed = warmed_share(now.unit[u], into_s, span_s)
        after[SOC] = before[SOC] + share * (after[SOC] - before[SOC])
        after[TEMP] = before[TEMP] + warmed * (after[TEMP] - before[TEMP])
        stored += now.unit[u, CHARGE_C] * curve_area(now.curves, int(now.unit[u, ROW]), after[SOC])
    ends[STORED_CHANGE_J, c] = s[STORED] - stored
    ends[END_SOC, c] = mean_of(now.state[AFTER], SOC)
    if math.isnan(ends[MARK_CHARGE_C, c]):
        ends[MARK_CHARGE_C, c], ends[MARK_ENERGY_J, c] = ends[END_CHARGE_C, c], ends[END_ENERGY_J, c]
        ends[MARK_TEMP_K, c], ends[MARK_SOC, c] = _warmest(now.state[AFTER]), ends[END_SOC, c]
        passed_v = s[FROM + VOLTS] + share * (s[TO + VOLTS] - s[FROM + VOLTS])
        ends[MIN_V, c] = min(s[LATELY_V], s[FROM + VOLTS], max(passed_v, cutoff_v))
