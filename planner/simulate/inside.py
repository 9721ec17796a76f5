"""When, inside a step, a voltage passes a level: regula falsi on the exact states."""

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
    END,
    FINAL,
    HEAT_CAPACITY,
    HOLD,
    INSIDE,
    MIDDLE,
    OVER_STEP,
    PARAMETERS,
    PLACE,
    REFERENCE_K,
    SOURCE_OHM,
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
from planner.simulate.unit import carry, gap_left, instant, warm_unit

CROSSING_ROUNDS = 12  # Illinois steps at most: a smooth crossing takes two or three, one at a kink more
CROSSING_PLACE = 1e-8  # of the charge
CROSSING_V = 2e-5  # close enough to the level: on the flattest plateau 0.005 % of charge


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
        left_1, left_2 = gap_left(warm[TAU_D], time_s)
        carry(unit, state, warm[TAU_D], amps, time_s, left_1, left_2, there)
        for p in range(pairs):
            fade = math.exp(-time_s / unit[PARAMETERS + 2 * p + 1])
            settled = amps * unit[PARAMETERS + 2 * p] * warm[CELL]
            there[STATES + p] = settled + (state[STATES + p] - settled) * fade
        warm_unit(unit, pairs, now.s[REFERENCE_K], state[TEMP] + warming, warm)
        instant(now.curves, unit, there, warm, now.instant[MIDDLE, u])
    solve(now.instant[MIDDLE], now.lead_ohm, now.s, FINAL, linear, WITHIN, now.branch[AT_INSIDE])
    return watched_v(now.s, WITHIN, wiring_ohm)


@compiled
def crossing_s(now: Now, level_v: float, first_v: float, last_v: float, span_s: float, linear: bool,
               wiring_ohm: float) -> float:  # fmt: skip
    """Seconds into the step at which the voltage passes level_v.

    Illinois variant of regula falsi (Dowell and Jarratt, BIT 11 (1971) 168-174).
    """
    low, high = 0.0, span_s
    f_low, f_high = first_v - level_v, last_v - level_v
    guess = high
    for _ in range(CROSSING_ROUNDS):
        width = 1.0 if f_high == f_low else f_high - f_low
        guess = high - f_high * (high - low) / width
        guess = min(max(guess, min(low, high)), max(low, high))
        value = voltage_inside(now, guess, span_s, linear, wiring_ohm) - level_v
        if abs(value) < CROSSING_V:
            break
        if (value > 0.0) == (f_high > 0.0) and (value < 0.0) == (f_high < 0.0):
            f_low = 0.5 * f_low
        else:
            low, f_low = high, f_high
        high, f_high = guess, value
    return guess


@compiled
def emptied_s(now: Now, u: int, span_s: float, linear: bool) -> float:
    """Seconds into the step at which a unit's place on the curve passes 0, falling; it may have risen before."""
    low, high = 0.0, span_s
    f_low, f_high = now.instant[START, u, PLACE], now.instant[END, u, PLACE]
    guess = high
    for _ in range(CROSSING_ROUNDS):
        guess = high - f_high * (high - low) / (f_high - f_low)
        guess = min(max(guess, min(low, high)), max(low, high))
        voltage_inside(now, guess, span_s, linear, 0.0)
        value = now.instant[MIDDLE, u, PLACE]
        if abs(value) < CROSSING_PLACE:
            break
        if (value > 0.0) == (f_high > 0.0):
            f_low = 0.5 * f_low
        else:
            low, f_low = high, f_high
        high, f_high = guess, value
    return guess
