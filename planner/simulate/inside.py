"""When, inside a step, what is watched passes a level, by the exact states; and whether it may have sagged between."""

from __future__ import annotations

import math

from planner.compiled import compiled, inlined
from planner.simulate.network import solve
from planner.simulate.tables import (
    AFTER,
    AMPS,
    AT_INSIDE,
    BEFORE,
    CELL,
    FINAL,
    GAP_LAG,
    HEAT_CAPACITY,
    HOLD,
    INSIDE,
    MIDDLE,
    OVER_STEP,
    PARAMETERS,
    PLACE,
    REFERENCE_K,
    SOURCE_OHM,
    SPARE,
    START,
    STATES,
    TAU_D,
    TEMP,
    TO_AIR,
    VOLTS,
    WITHIN,
    Floats,
    Now,
)
from planner.simulate.unit import carry, gap_left, instant, pair_v, warm_unit

CROSSING_ROUNDS = 12  # Illinois steps at most: a smooth crossing takes two or three, one at a kink more
CROSSING_PLACE = 1e-8  # of the charge
CROSSING_V = 2e-5  # close enough to the level: on the flattest plateau 0.005 % of charge

TERMINALS, SERVED = -1, -2  # what is watched, beside the place of each unit
HALVINGS = 10  # to a thousandth of the step: within a second of the longest
GOLDEN, GOLDEN_ROUNDS = 0.6180339887498949, 10  # to a hundredth of the part that is left


@inlined
def watched_v(s: Floats, moment: int, wiring_ohm: float) -> float:
    """Voltage at the battery, or behind wiring_ohm, less what a coarsened piece's hidden current costs."""
    hidden_a = s[HOLD]
    return (  # type: ignore[no-any-return]
        s[moment + VOLTS] - hidden_a * s[moment + SOURCE_OHM] - (s[moment + AMPS] + hidden_a) * wiring_ohm
    )


@inlined
def warmed_share(unit: Floats, time_s: float, span_s: float) -> float:
    """Of a step's change of temperature, what has come time_s into it: an exponential towards the air."""
    per_s = unit[TO_AIR] / unit[HEAT_CAPACITY]
    whole = math.expm1(-span_s * per_s)
    return math.expm1(-time_s * per_s) / whole if whole != 0.0 else time_s / span_s


@compiled
def voltage_inside(now: Now, time_s: float, span_s: float, linear: bool, wiring_ohm: float) -> float:
    """Voltage time_s into the step just taken, by the exact states. Works where the step's middle was."""
    pairs, series = now.state.shape[2] - STATES, len(now.unit) // len(now.lead_ohm)
    for u in range(len(now.unit)):
        unit, state, there, warm = (
            now.unit[u],
            now.state[BEFORE, u],
            now.state[INSIDE, u],
            now.warm[MIDDLE, u],
        )
        amps = now.branch[OVER_STEP, u // series]
        warming = (now.state[AFTER, u, TEMP] - state[TEMP]) * warmed_share(unit, time_s, span_s)
        warm_unit(unit, pairs, now.s[REFERENCE_K], state[TEMP] + 0.5 * warming, warm)
        left_1, left_2 = gap_left(warm[TAU_D] * unit[GAP_LAG], time_s)
        carry(unit, state, warm[TAU_D], amps, time_s, left_1, left_2, there)
        warm_unit(unit, pairs, now.s[REFERENCE_K], state[TEMP] + warming, warm)
        for p in range(pairs):
            tau_s = unit[PARAMETERS + 2 * p + 1]
            there[STATES + p] = pair_v(state[STATES + p], amps * unit[PARAMETERS + 2 * p], now.warm[START, u, CELL],
                                       warm[CELL], math.exp(-time_s / tau_s), tau_s / time_s)  # fmt: skip
        instant(now.curves, unit, there, warm, now.instant[MIDDLE, u])
    solve(now.instant[MIDDLE], now.lead_ohm, now.s, FINAL, linear, WITHIN, now.branch[AT_INSIDE])
    return watched_v(now.s, WITHIN, wiring_ohm)


@compiled
def inside(now: Now, what: int, time_s: float, span_s: float, linear: bool, wiring_ohm: float) -> float:
    """What is watched, time_s into the step: TERMINALS, SERVED, or from 0 on the place of a unit on its curve."""
    volts = voltage_inside(now, time_s, span_s, linear, wiring_ohm)
    if what == TERMINALS:
        return volts
    return now.s[WITHIN + SPARE] if what == SERVED else now.instant[MIDDLE, what, PLACE]  # type: ignore[no-any-return]


@compiled
def crossing_s(now: Now, what: int, level: float, low: float, high: float, f_low: float, f_high: float,
               span_s: float, linear: bool, wiring_ohm: float) -> float:  # fmt: skip
    """Seconds into the step, between low and high, at which what is watched passes a level.

    f_low, f_high : how far above the level it is at both. Illinois variant of regula falsi (Dowell and Jarratt, BIT 11
    (1971) 168-174).
    """
    close = CROSSING_PLACE if what >= 0 else CROSSING_V
    guess = high
    for _ in range(CROSSING_ROUNDS):
        width = 1.0 if f_high == f_low else f_high - f_low
        guess = high - f_high * (high - low) / width
        guess = min(max(guess, min(low, high)), max(low, high))
        value = inside(now, what, guess, span_s, linear, wiring_ohm) - level
        if abs(value) < close:
            break
        if (value > 0.0) == (f_high > 0.0) and (value < 0.0) == (f_high < 0.0):
            f_low = 0.5 * f_low
        else:
            low, f_low = high, f_high
        high, f_high = guess, value
    return guess


@compiled
def sunk_s(now: Now, what: int, level: float, span_s: float, linear: bool, wiring_ohm: float) -> float:
    """A moment inside the step at which what is watched is below a level that both ends are above; inf if none.

    It may sag and come back: cold cells under a load warm, and a gap that a surge left recovers. Steps of time that
    double, as the shares of a sag do, then a golden section about the lowest.
    """
    best, lowest = span_s, math.inf
    for halvings in range(1, HALVINGS + 1):
        time_s = span_s * 0.5**halvings
        value = inside(now, what, time_s, span_s, linear, wiring_ohm)
        if value < level:
            return time_s
        if value < lowest:
            best, lowest = time_s, value
    low, high = 0.5 * best, min(2.0 * best, span_s)
    for _ in range(GOLDEN_ROUNDS):
        one, other = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
        first = inside(now, what, one, span_s, linear, wiring_ohm)
        second = inside(now, what, other, span_s, linear, wiring_ohm)
        if min(first, second) < level:
            return one if first < second else other
        if first < second:
            high = other
        else:
            low = one
    return math.inf
