"""One unit at one moment and over one step, in single numbers: the circuit's laws, compiled."""

from __future__ import annotations

import math

from planner.battery.circuit import GAP_GAIN, GAP_TAU, LEAST_COLD_FRACTION
from planner.battery.circuit import arrhenius as _arrhenius
from planner.battery.circuit import copper as _copper
from planner.battery.circuit import place_on_curve as _place_on_curve
from planner.battery.curve import GRID
from planner.compiled import compiled, inlined
from planner.simulate.tables import (
    ACTIVATION,
    AFTER,
    AMBIENT_K,
    BARE_OHM,
    BARE_PLACE,
    BEFORE,
    CELL,
    CELL_OHM,
    CHARGE_C,
    CURVE_AREA,
    CURVE_SLOPE,
    CURVE_V,
    EMF,
    END,
    FALL_PER_A,
    GAP_1,
    GAP_2,
    GAP_LAG,
    HEAT_CAPACITY,
    HELD,
    LEFT_1,
    LEFT_2,
    METAL_OHM,
    MID_FALL,
    MID_PLACE,
    MIDDLE,
    OHM,
    PAIRS_V,
    PARAMETERS,
    PLACE,
    R0,
    REFERENCE_K,
    ROW,
    SEEN,
    SLOPE,
    SOC,
    START,
    STATES,
    TAU_ACTIVATION,
    TAU_D,
    TAU_D_WARM,
    TEMP,
    TO_AIR,
    USABLE,
    Floats,
    Now,
)

K_1, K_2 = GAP_GAIN
TAU_1, TAU_2 = GAP_TAU

arrhenius, copper, place_on_curve = inlined(_arrhenius), inlined(_copper), inlined(_place_on_curve)


@inlined
def look_up(curves: Floats, row: int, soc: float) -> tuple[float, float]:
    """Voltage and slope of a curve at soc, held at its ends."""
    place = min(max(soc, 0.0), 1.0) * GRID
    cell = int(place)
    slope = curves[CURVE_SLOPE, row, cell]
    return curves[CURVE_V, row, cell] + (place - cell) * (1.0 / GRID) * slope, slope


@compiled
def curve_area(curves: Floats, row: int, soc: float) -> float:
    """Exact integral of a curve from 0 to soc; an overdrawn one goes on at its lowest voltage."""
    place = min(max(soc, 0.0), 1.0) * GRID
    cell = min(int(place), GRID - 1)
    part = (place - cell) / GRID
    low = curves[CURVE_V, row, cell]
    inside = part * (low + 0.5 * curves[CURVE_SLOPE, row, cell] * part)
    return curves[CURVE_AREA, row, cell] + inside + (soc * low if soc < 0.0 else 0.0)  # type: ignore[no-any-return]


@inlined
def warm_unit(unit: Floats, pairs: int, reference_k: float, temp_k: float, warm: Floats) -> None:
    """Resistance, part of pairs' resistance, tau_D and usable part at temp_k, into warm (WARMTHS,)."""
    cell = arrhenius(unit[ACTIVATION], temp_k, reference_k)
    warm[R0] = unit[METAL_OHM] * copper(temp_k) + unit[CELL_OHM] * cell
    warm[CELL] = cell
    warm[TAU_D] = unit[TAU_D_WARM] * arrhenius(unit[TAU_ACTIVATION], temp_k, reference_k)
    fallen = 0.0
    for band in range(PARAMETERS + 2 * pairs, len(unit), 3):
        fallen += unit[band + 2] * min(max(unit[band] - temp_k, 0.0), unit[band + 1])
    warm[USABLE] = max(1.0 - fallen, LEAST_COLD_FRACTION)


@inlined
def instant(curves: Floats, unit: Floats, state: Floats, warm: Floats, found: Floats) -> None:
    """The unit at this moment: open-circuit voltage less pair voltages, behind R0. Into found (INSTANTS,)."""
    row = int(unit[ROW])
    x = place_on_curve(state[SOC], state[GAP_1] + state[GAP_2], warm[USABLE])
    seen, _ = look_up(curves, row, x)
    held, _ = look_up(curves, row, state[SOC])
    pairs = 0.0
    for p in range(STATES, len(state)):
        pairs += state[p]
    found[EMF], found[OHM], found[PLACE], found[SEEN], found[HELD] = seen - pairs, warm[R0], x, seen, held


@inlined
def ahead(unit: Floats, state: Floats, warm: Floats, faded: Floats, half_s: float, found: Floats) -> None:
    """What the unit does in a step of 2 half_s that does not depend on its current, into found (INSTANTS,).

    Means over the step, exact for constant resistance, and the place in the middle. faded : (1 + p,) over half_s.
    """
    tau_d, per_s, usable_c = warm[TAU_D], 0.5 / half_s, unit[CHARGE_C] * warm[USABLE]
    lag_s = tau_d * unit[GAP_LAG]
    left_1, left_2 = gap_left(lag_s, half_s)
    mean_1, mean_2 = TAU_1 * lag_s * per_s * (1.0 - left_1**2), TAU_2 * lag_s * per_s * (1.0 - left_2**2)
    pairs, pair_ohm = 0.0, 0.0
    for p in range(len(state) - STATES):
        mean = unit[PARAMETERS + 2 * p + 1] * per_s * (1.0 - faded[1 + p] ** 2)
        pairs += state[STATES + p] * mean
        pair_ohm += unit[PARAMETERS + 2 * p] * warm[CELL] * (1.0 - mean)
    found[BARE_PLACE] = place_on_curve(state[SOC], state[GAP_1] * mean_1 + state[GAP_2] * mean_2, warm[USABLE])
    found[FALL_PER_A] = (half_s + tau_d * (K_1 * (1.0 - mean_1) + K_2 * (1.0 - mean_2))) / usable_c
    found[MID_PLACE] = place_on_curve(state[SOC], state[GAP_1] * left_1 + state[GAP_2] * left_2, warm[USABLE])
    found[MID_FALL] = (half_s + tau_d * (K_1 * (1.0 - left_1) + K_2 * (1.0 - left_2))) / usable_c
    found[PAIRS_V], found[BARE_OHM] = pairs, warm[R0] + pair_ohm
    found[LEFT_1], found[LEFT_2] = left_1, left_2


@inlined
def tangent(curves: Floats, unit: Floats, amps: float, found: Floats) -> bool:
    """V = EMF - I * OHM as the curve has it where amps lead, into found; True when that moved the slope."""
    before = found[SLOPE]
    found[PLACE] = found[BARE_PLACE] - amps * found[FALL_PER_A]
    found[SEEN], found[SLOPE] = look_up(curves, int(unit[ROW]), found[PLACE])
    rise = found[SLOPE] * found[FALL_PER_A]
    found[EMF], found[OHM] = found[SEEN] + rise * amps - found[PAIRS_V], found[BARE_OHM] + rise
    return found[SLOPE] != before  # type: ignore[no-any-return]


@inlined
def gap_left(lag_s: float, time_s: float) -> tuple[float, float]:
    """What is left of each gap state after time_s [s]; lag_s : tau_D, times what the gap lags behind it."""
    turns = time_s / lag_s
    return math.exp(turns * (-1.0 / TAU_1)), math.exp(turns * (-1.0 / TAU_2))


@inlined
def carry(unit: Floats, state: Floats, tau_d_s: float, amps: float, time_s: float, left_1: float, left_2: float,
          after: Floats) -> None:  # fmt: skip
    """Charge and gap after time_s [s] of a constant current, exact, into after. left_* : as `gap_left` tells."""
    charge_c = unit[CHARGE_C]
    gain = amps * tau_d_s / charge_c
    after[SOC] = state[SOC] - amps * time_s / charge_c
    after[GAP_1] = state[GAP_1] * left_1 + gain * K_1 * (1.0 - left_1)
    after[GAP_2] = state[GAP_2] * left_2 + gain * K_2 * (1.0 - left_2)


@inlined
def pair_v(volts: float, warm_v: float, first: float, last: float, fade: float, share: float) -> float:
    """Voltage of a pair after a time, its resistance on the way from `first` to `last` times the warm one: exact.

    warm_v : current times the warm resistance. fade : what is left of a voltage. share : time constant over the time.
    A pair that is quick beside a step follows the cells as they warm.
    """
    lag_v = warm_v * (last - first) * share
    return warm_v * last - lag_v + (volts - warm_v * first + lag_v) * fade


@inlined
def advance(now: Now, u: int, faded: Floats, span_s: float, amps: float, heat_w: float) -> None:
    """The unit's state after a step at constant current and heat, exact for both."""
    unit, state, after, warm = now.unit[u], now.state[BEFORE, u], now.state[AFTER, u], now.warm[MIDDLE, u]
    still = now.s[AMBIENT_K] + heat_w / unit[TO_AIR]
    after[TEMP] = still + (state[TEMP] - still) * faded[0] ** 2
    warm_unit(unit, len(state) - STATES, now.s[REFERENCE_K], after[TEMP], now.warm[END, u])
    left_1, left_2 = now.instant[MIDDLE, u, LEFT_1] ** 2, now.instant[MIDDLE, u, LEFT_2] ** 2
    carry(unit, state, warm[TAU_D], amps, span_s, left_1, left_2, after)
    for p in range(len(state) - STATES):
        share = unit[PARAMETERS + 2 * p + 1] / span_s
        after[STATES + p] = pair_v(state[STATES + p], amps * unit[PARAMETERS + 2 * p], now.warm[START, u, CELL],
                                   now.warm[END, u, CELL], faded[1 + p] ** 2, share)  # fmt: skip


@compiled
def fade_factors(unit: Floats, half_s: float, faded: Floats) -> None:
    """Factors over half_s that do not depend on temperature, into faded (1 + p,): air, then pairs."""
    faded[0] = math.exp(-half_s * unit[TO_AIR] / unit[HEAT_CAPACITY])
    for p in range(len(faded) - 1):
        faded[1 + p] = math.exp(-half_s / unit[PARAMETERS + 2 * p + 1])
