"""One step of one scenario: who carries how much, and what it costs.

Within a step every branch carries a constant current; the states answer exactly. A pure current load on one branch
needs no solution; anything else is solved for the mean voltage of the step, so that a power gets its energy also where
the voltage has settled long before the step is over. The step is second order (checked against LSODA in the tests).
Resistances are those of the middle of the step, its temperature foreseen from the heat at
its start. The ledger integrates delivered energy and heat apart: Simpson's rule on the open-circuit voltages, the exact
mean of the exponential pair voltages.
"""

from __future__ import annotations

from planner.compiled import unfolded
from planner.simulate.network import solve
from planner.simulate.tables import (
    AFTER,
    AMBIENT_K,
    AT_END,
    AT_START,
    BARE_OHM,
    BARE_PLACE,
    BEFORE,
    CHARGE_C,
    CURRENT,
    DELIVERED,
    EMF,
    END,
    FINAL,
    FROM,
    GAP_1,
    GAP_2,
    GAP_CHARGE,
    HALF_WAY,
    HELD,
    HERE,
    LOST,
    MID_FALL,
    MID_PLACE,
    MIDDLE,
    MOMENT,
    OHM,
    OVER_STEP,
    PAIRS_V,
    R0,
    REFERENCE_K,
    RESISTIVE,
    ROW,
    SEEN,
    SIEMENS,
    SOC,
    SOURCE_OHM,
    START,
    STATES,
    TEMP,
    TO,
    TO_AIR,
    VARIANCE,
    WARMTHS,
    WITHIN,
    Now,
)
from planner.simulate.unit import advance, ahead, instant, look_up, tangent, warm_unit

MOST_ROUNDS = 6  # of Newton's rule: one is the usual, two where a unit passes into another cell of its curve


@unfolded
def refresh(now: Now, linear: bool) -> None:
    """The start of a step: terminals under the demand that begins; units stand as the step before left them."""
    solve(now.instant[START], now.lead_ohm, now.s, HERE, linear, FROM, now.branch[AT_START])


@unfolded
def take_step(now: Now, span_of: int, span_s: float, linear: bool) -> None:
    """Advance by span_s, with both ends, branch currents and the step's ledger beside it."""
    faded, branches = now.faded[span_of], len(now.lead_ohm)
    series, pairs = len(now.unit) // branches, now.state.shape[2] - STATES
    for u in range(len(now.unit)):
        amps, first = now.branch[AT_START, u // series], now.instant[START, u]
        heat_w = amps * (first[HELD] - first[EMF] + amps * first[OHM])
        still = now.s[AMBIENT_K] + heat_w / now.unit[u, TO_AIR]
        temp_k = still + (now.state[BEFORE, u, TEMP] - still) * faded[u, 0]
        warm_unit(now.unit[u], pairs, now.s[REFERENCE_K], temp_k, now.warm[MIDDLE, u])
    _branch_currents(now, span_of, 0.5 * span_s, linear)
    for u in range(len(now.unit)):
        amps, mid = now.branch[OVER_STEP, u // series], now.instant[MIDDLE, u]
        heat_w = amps * (mid[HELD] - mid[EMF] + amps * mid[OHM])
        heat_w += now.warm[MIDDLE, u, R0] * now.s[VARIANCE] / branches**2
        advance(now, u, faded[u], span_s, amps, heat_w)
    _ledger(now, span_s, linear)


@unfolded
def _branch_currents(now: Now, span_of: int, half_s: float, linear: bool) -> None:
    """The constant currents of the step, the mean of the units over it and their curve at its middle.

    The curve is straight in each cell of its table: where the currents found lead to other cells than those assumed,
    they are found again with those (Newton's rule, exact once no cell changes).
    """
    direct = len(now.lead_ohm) == 1 and linear and now.s[HALF_WAY + SIEMENS] == 0.0
    series = len(now.unit) // len(now.lead_ohm)
    for u in range(len(now.unit)):
        ahead(now.unit[u], now.state[BEFORE, u], now.warm[MIDDLE, u], now.faded[span_of, u], half_s,
              now.instant[MIDDLE, u])  # fmt: skip
        guess = now.s[HALF_WAY + CURRENT] if direct else now.branch[AT_START, u // series]
        tangent(now.curves, now.unit[u], guess, now.instant[MIDDLE, u])
    if direct:
        now.branch[OVER_STEP, 0] = now.s[HALF_WAY + CURRENT]
    else:
        for _ in range(MOST_ROUNDS):
            solve(now.instant[MIDDLE], now.lead_ohm, now.s, HALF_WAY, linear, WITHIN, now.branch[OVER_STEP])
            moved = False
            for u in range(len(now.unit)):
                amps = now.branch[OVER_STEP, u // series]
                moved = tangent(now.curves, now.unit[u], amps, now.instant[MIDDLE, u]) or moved
            if not moved:
                break
    for u in range(len(now.unit)):
        amps, row, mid = now.branch[OVER_STEP, u // series], int(now.unit[u, ROW]), now.instant[MIDDLE, u]
        mid[SEEN], _ = look_up(now.curves, row, mid[MID_PLACE] - amps * mid[MID_FALL])
        mid[HELD], _ = look_up(now.curves, row, now.state[BEFORE, u, SOC] - amps * half_s / now.unit[u, CHARGE_C])


@unfolded
def _ledger(now: Now, span_s: float, linear: bool) -> None:
    """The end of the step, and delivered energy, heat and heat of resistances over it."""
    series = len(now.unit) // len(now.lead_ohm)
    lead = now.s[VARIANCE] * now.s[FROM + SOURCE_OHM]
    for b in range(len(now.lead_ohm)):
        lead += now.branch[OVER_STEP, b] ** 2 * now.lead_ohm[b]
    delivered, lost, ohmic = -lead, lead, lead
    for u in range(len(now.unit)):
        amps, before, after = now.branch[OVER_STEP, u // series], now.state[BEFORE, u], now.state[AFTER, u]
        first, mid, last = now.instant[START, u], now.instant[MIDDLE, u], now.instant[END, u]
        inside = amps * (mid[BARE_OHM] * amps + mid[PAIRS_V])
        instant(now.curves, now.unit[u], after, now.warm[END, u], last)
        seen = amps * (first[SEEN] + 4.0 * mid[SEEN] + last[SEEN]) / 6.0
        held = amps * (first[HELD] + 4.0 * mid[HELD] + last[HELD]) / 6.0
        delivered += seen - inside
        lost += held - seen + inside
        ohmic += inside
        gap = before[GAP_1] + before[GAP_2] + after[GAP_1] + after[GAP_2]
        now.tally[u, GAP_CHARGE] += 0.5 * amps * gap * span_s
    solve(now.instant[END], now.lead_ohm, now.s, FINAL, linear, TO, now.branch[AT_END])
    now.s[DELIVERED], now.s[LOST], now.s[RESISTIVE] = delivered * span_s, lost * span_s, ohmic * span_s


@unfolded
def keep_end(now: Now) -> None:
    """The end of the step just taken is the start of the next."""
    for u in range(len(now.unit)):
        for place in range(now.state.shape[2]):
            now.state[BEFORE, u, place] = now.state[AFTER, u, place]
        for place in range(WARMTHS):
            now.warm[START, u, place] = now.warm[END, u, place]
        for place in range(BARE_PLACE):
            now.instant[START, u, place] = now.instant[END, u, place]
    for place in range(MOMENT):
        now.s[FROM + place] = now.s[TO + place]
    for b in range(len(now.lead_ohm)):
        now.branch[AT_START, b] = now.branch[AT_END, b]
