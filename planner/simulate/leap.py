"""Whole outings skipped while nothing can happen in them.

A light load repeats its outing hundreds of times. Once an outing has been walked and the cells' temperature and gap
come back to where they were, the next outings cost the same charge but for the slow fall of the voltage. So each
scenario leaps as many as its lowest voltage and its lowest place on the curve leave room for, and the outing after the
leap corrects the charge by the trapezoid of the two (second order). A bank leaps only as far as its units' charges
would not drift apart by more than DRIFT_SOC.
"""

from __future__ import annotations

import math

from planner.battery.curve import GRID
from planner.compiled import compiled
from planner.outing.timeline import Timeline
from planner.simulate.setup import LONGEST_RUN_S
from planner.simulate.tables import (
    BEFORE,
    CHARGE,
    CHARGE_C,
    CLOCK,
    COST_CHARGE,
    COST_OHMIC,
    COST_SOC,
    CURVE_V,
    ENERGY,
    GAP_1,
    GAP_2,
    GAP_CHARGE,
    HEAT,
    LEAPT,
    LEAST_HEAD,
    LEAST_PLACE,
    OHMIC,
    PASS_BEHIND,
    PASS_CHARGE,
    PASS_GAP,
    PASS_K,
    PASS_OHMIC,
    PASS_SOC,
    ROW,
    SOC,
    START,
    TEMP,
    USABLE,
    Floats,
    Now,
)
from planner.simulate.unit import curve_area, instant, look_up, place_on_curve

HEAD_SHARE = 0.8  # of the voltage still above the nearest level that a leap may use up
LEAP_V = 0.03  # most voltage a leap may use up when the current depends on it: good to 1e-3 across a knee
CHARGE_SHARE = 0.9  # of the charge to that voltage
STEADY_GAP = 0.02  # growth of the gap over an outing, part of its charge, below which it counts as repeating
STEADY_K = 0.05  # change of cell temperature over an outing below which it counts as repeating
RISE_OF_POWER = 1.3  # a power load's current may rise this much as the voltage falls
DRIFT_SOC = 0.01  # of charge that units may drift apart in one leap


def may_leap(timeline: Timeline, largest_a: float, trips: tuple[tuple[float, float], ...]) -> bool:
    """Whether outings may be skipped at all: power draws more as the voltage falls, so a trip might be met later."""
    return not (timeline.power_w.any() and any(RISE_OF_POWER * largest_a >= a for a, _ in trips))


def most_leap_v(timeline: Timeline, largest_a: float, trips: tuple[tuple[float, float], ...]) -> float:
    """Most voltage a leap may use up [V]; below 0 where nothing may be leapt over."""
    if not may_leap(timeline, largest_a, trips):
        return -1.0
    return LEAP_V if timeline.power_w.any() or timeline.conductance_s.any() else math.inf


@compiled
def begin_pass(now: Now) -> None:
    """Note the start of an outing, and begin its lowest headroom and its lowest place on a curve anew."""
    s = now.s
    s[LEAST_HEAD], s[LEAST_PLACE], s[PASS_CHARGE], s[PASS_OHMIC] = math.inf, math.inf, s[CHARGE], s[OHMIC]
    for u in range(len(now.unit)):
        tally, state = now.tally[u], now.state[BEFORE, u]
        tally[PASS_GAP], tally[PASS_SOC], tally[PASS_K] = tally[GAP_CHARGE], state[SOC], state[TEMP]
        tally[PASS_BEHIND] = state[GAP_1] + state[GAP_2]


@compiled
def after_pass(now: Now, most_v: float, outing_s: float) -> None:
    """Correct the last leap by the outing just walked, then leap again where there is room."""
    if most_v < 0.0:
        return
    s = now.s
    charge, ohmic, half = s[CHARGE] - s[PASS_CHARGE], s[OHMIC] - s[PASS_OHMIC], 0.5 * s[LEAPT]
    for u in range(len(now.unit)):
        cost = now.tally[u, PASS_SOC] - now.state[BEFORE, u, SOC]
        _take_out(now, u, half * (cost - now.tally[u, COST_SOC]), cost)
        now.tally[u, COST_SOC] = cost
    _pay(s, half * (charge - s[COST_CHARGE]), half * (ohmic - s[COST_OHMIC]))
    count = _room(now, most_v, outing_s)
    for u in range(len(now.unit)):
        _take_out(now, u, count * now.tally[u, COST_SOC], now.tally[u, COST_SOC])
    _pay(s, count * charge, count * ohmic)
    for u in range(len(now.unit)):
        instant(now.curves, now.unit[u], now.state[BEFORE, u], now.warm[START, u], now.instant[START, u])
    s[CLOCK] += count * outing_s
    s[LEAPT], s[COST_CHARGE], s[COST_OHMIC] = count, charge, ohmic


@compiled
def _pay(s: Floats, charge_c: float, ohmic_j: float) -> None:
    """Charge and heat of resistances of outings that were leapt over."""
    s[CHARGE] += charge_c
    s[ENERGY] -= ohmic_j
    s[HEAT] += ohmic_j


@compiled
def _take_out(now: Now, u: int, soc: float, cost_soc: float) -> None:
    """Take charge out of a unit without walking.

    What the curve gives up is delivered, but for the resistances' heat and for what gap and cold hide: charge leaves
    the curve where the terminals see it, not at soc, the gap averaged over the charge of the outing just walked.
    """
    charge_c, row, curves = now.unit[u, CHARGE_C], int(now.unit[u, ROW]), now.curves
    gap = 0.0
    if abs(cost_soc * charge_c) > 0.0:
        gap = (now.tally[u, GAP_CHARGE] - now.tally[u, PASS_GAP]) / (cost_soc * charge_c)
    held, usable = now.state[BEFORE, u, SOC], now.warm[START, u, USABLE]
    seen, falls_to = place_on_curve(held, gap, usable), place_on_curve(held - soc, gap, usable)
    given = charge_c * (curve_area(curves, row, held) - curve_area(curves, row, held - soc))
    got = charge_c * usable * (curve_area(curves, row, seen) - curve_area(curves, row, falls_to))
    now.state[BEFORE, u, SOC] = held - soc
    now.s[ENERGY] += got
    now.s[HEAT] += given - got


@compiled
def _room(now: Now, most_v: float, outing_s: float) -> float:
    """How many outings may be skipped: a whole number."""
    fits, least_cost, most_cost = math.inf, math.inf, -math.inf
    series = len(now.unit) // len(now.lead_ohm)
    for u in range(len(now.unit)):
        state, cost, usable = now.state[BEFORE, u], now.tally[u, COST_SOC], now.warm[START, u, USABLE]
        if abs(state[TEMP] - now.tally[u, PASS_K]) >= STEADY_K:
            return 0.0
        gap = state[GAP_1] + state[GAP_2]
        if abs(gap - now.tally[u, PASS_BEHIND]) > STEADY_GAP * abs(cost):
            return 0.0
        row = int(now.unit[u, ROW])
        x_now = place_on_curve(state[SOC], gap, usable)
        volts, _ = look_up(now.curves, row, x_now)
        # the headroom may be that of the outing's beginning: the next one begins lower by this outing's fall
        began, _ = look_up(now.curves, row, x_now + cost / usable)
        head_v = now.s[LEAST_HEAD] / series - max(began - volts, 0.0)
        spare = min(HEAD_SHARE * max(head_v, 0.0), most_v)
        falls = min(x_now - soc_at(now.curves[CURVE_V, row], volts - spare), max(now.s[LEAST_PLACE], 0.0))
        room = falls * usable * CHARGE_SHARE
        if cost > 0.0:
            fits = min(fits, room / cost - 1.0)
        least_cost, most_cost = min(least_cost, cost), max(most_cost, cost)
    if most_cost > least_cost:
        fits = min(fits, DRIFT_SOC / (most_cost - least_cost))
    most = max(LONGEST_RUN_S - now.s[CLOCK], 0.0) / outing_s + 1.0
    return math.floor(max(min(fits, most), 0.0))  # type: ignore[no-any-return]


@compiled
def soc_at(table: Floats, volts: float) -> float:
    """Charge at which a curve has the voltage; 0 or 1 beyond its ends."""
    if volts <= table[0]:
        return 0.0
    if volts >= table[GRID]:
        return 1.0
    cell, above = 0, GRID
    while above - cell > 1:
        middle = (cell + above) // 2
        if table[middle] <= volts:
            cell = middle
        else:
            above = middle
    return (cell + (volts - table[cell]) / (table[cell + 1] - table[cell])) / GRID  # type: ignore[no-any-return]
