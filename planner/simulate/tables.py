"""What the compiled march reads and writes: plain arrays under names.

u counts units, branch by branch (u = branch * series + place), p RC pairs, c scenarios, k pieces, l loads. All
arrays are C-contiguous, so that there is one compiled form.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


class Pieces(NamedTuple):
    """The outing. table : (PIECE_ROWS, k). spans_s : lengths of steps. loads : (LOAD_ROWS, l, k).

    inverters : (INVERTER_ROWS, inverters). Flags are 0 or 1.
    """

    table: Floats
    spans_s: Floats
    loads: Floats
    inverters: Floats


class Rules(NamedTuple):
    """Batteries, start, surroundings and ends.

    unit : (c, u, PARAMETERS + 2 pairs + 3 bands). start_soc : (c, u). told : (c, TOLD). factor : (l, c) of the loads.
    trips : (2, trips) current and seconds. numbers : (NUMBERS,).
    """

    unit: Floats
    start_soc: Floats
    told: Floats
    factor: Floats
    trips: Floats
    numbers: Floats


class Now(NamedTuple):
    """Where one scenario stands and what it works with; used again for the next. Few arrays: they pass by value.

    curves : (3, rows, grid) voltage, slope and area. unit : (u, ...) as in Rules. state : (3, u, STATES + p) before
    the step, after it, inside it. warm : (3, u, WARMTHS) and instant : (3, u, INSTANTS) at the step's start, middle
    and end.
    tally : (u, TALLIES). branch : (4, branches) current over the step, at its start, its end, inside it.
    faded : (spans, u, 1 + p) factors over half a step, NaN until asked for. lead_ohm : (branches,). s : (PLACES,).
    """

    curves: Floats
    unit: Floats
    state: Floats
    warm: Floats
    instant: Floats
    tally: Floats
    branch: Floats
    faded: Floats
    lead_ohm: Floats
    s: Floats


class Watches(NamedTuple):
    """Seconds below each level (VOLTAGE_WATCHES + l,), above each trip (trips, branches); inverters on, off since."""

    below_s: Floats
    held_s: Floats
    on: Floats
    off_since_s: Floats


class Results(NamedTuple):
    """What became of the scenarios: ends (END_ROWS, c), inverters (CUTOUT_ROWS, l, c), trace (TRACES, steps, c).

    branch_trace : (2, steps, branches) of scenario 0.
    """

    ends: Floats
    inverters: Floats
    trace: Floats
    branch_trace: Floats


# in Rules.unit, then resistance and time constant of each pair, then edge, width and loss of each cold band
CHARGE_C, METAL_OHM, CELL_OHM, TAU_D_WARM, GAP_LAG, ACTIVATION, TAU_ACTIVATION, HEAT_CAPACITY, TO_AIR, ROW = range(10)
PARAMETERS = 10
# in Now.curves
CURVE_V, CURVE_SLOPE, CURVE_AREA = 0, 1, 2
# in Pieces.table, loads, inverters
COUNT, SPAN_OF, STEADY, LINEAR, PIECE_ROWS = range(5)
START_A, END_A, POWER_W, CONDUCTANCE_S, USES_INVERTER, HOLD_A, TOP_A, VARIANCE_A2, LOAD_ROWS = range(9)
LOAD, CUTOUT_V, CUTOUT_DELAY_S, RESTART_V, INVERTER_ROWS = range(5)
# in Rules.told, numbers; OPENS_V is NaN where unknown, MOST_LEAP_V below 0 where no outing may be leapt over
AIR_K, CELL_K, CABLE_OHM, TOLD = range(4)
CUTOFF_V, CUTOFF_S, OPENS_V, MOST_LEAP_V, REFERENCE, OUTING_S, REPEATS, LONGEST_S, NUMBERS = range(9)
# first place of Now.state, warm, instant
BEFORE, AFTER, INSIDE = 0, 1, 2
START, MIDDLE, END = 0, 1, 2
# in Now.state, before the pairs
SOC, GAP_1, GAP_2, TEMP, STATES = 0, 1, 2, 3, 4
# in Now.warm: R0, part of a pair's warm resistance, tau_D, usable part g
R0, CELL, TAU_D, USABLE, WARMTHS = 0, 1, 2, 3, 4
# in Now.instant: voltage behind a resistance, place on the curve, the curve there and at the mean charge
EMF, OHM, PLACE, SEEN, HELD = 0, 1, 2, 3, 4
# of a step as a whole only: place without current and its fall per ampere, voltage of pairs and resistance without the
# curve's part, all means over the step; slope of the curve at the mean place; of the middle what is left of each gap
# state until there, place without current and its fall per ampere
BARE_PLACE, FALL_PER_A, PAIRS_V, BARE_OHM, SLOPE, LEFT_1, LEFT_2, MID_PLACE, MID_FALL, INSTANTS = range(5, 15)
# in Now.tally: charge times gap so far; the same, charge, gap and warmth as the outing began; charge of the last
# outing; lowest place the step may have had
GAP_CHARGE, PASS_GAP, PASS_SOC, PASS_BEHIND, PASS_K, COST_SOC, DEEP_PLACE, TALLIES = 0, 1, 2, 3, 4, 5, 6, 7
# in Now.branch
OVER_STEP, AT_START, AT_END, AT_INSIDE = 0, 1, 2, 3
# in Now.s: what the scenario is told
AMBIENT_K, WIRING_OHM, REFERENCE_K = 0, 1, 2
# moments, each current, voltage, resistance of the source, and the square of a voltage that is below 0 where a power
# cannot be served; DEEP is no moment but the worst that the step may have been
FROM, TO, WITHIN, DEEP = 3, 7, 11, 15
AMPS, VOLTS, SOURCE_OHM, SPARE, MOMENT = 0, 1, 2, 3, 4
# demands, each current, power and conductance
HERE, HALF_WAY, FINAL = 19, 22, 25
CURRENT, POWER, SIEMENS = 0, 1, 2
# what a coarsened piece hides, what the step cost, and the sums
HOLD, TOP, VARIANCE, DELIVERED, LOST, RESISTIVE = range(28, 34)
CLOCK, CHARGE, ENERGY, HEAT, OHMIC, LEAST_HEAD, LEAST_PLACE, LEAST_V, LATELY_V, STORED, LEAPT = range(34, 45)
PASS_CHARGE, PASS_OHMIC, COST_CHARGE, COST_OHMIC, PLACES = range(45, 50)
# in Watches.below_s
CUTOFF, OPENING, VOLTAGE_WATCHES = 0, 1, 2
# in Results.ends, inverters, trace
(END_S, END_KIND, END_CHARGE_C, END_ENERGY_J, END_HEAT_J, STORED_CHANGE_J, END_SOC, MARK_CHARGE_C, MARK_ENERGY_J,
 MARK_TEMP_K, MARK_SOC, MIN_V, TRIP_S, STEPS, END_ROWS) = range(15)  # fmt: skip
INVERTER_S, INVERTER_CHARGE_C, INVERTER_SOC, LEFT_OFF_S, CUTOUT_ROWS = range(5)
TRACE_START_A, TRACE_END_A, TRACE_START_V, TRACE_END_V, TRACE_SOC, TRACE_TEMP, TRACES = range(7)
END_KINDS = ("none", "cutoff", "empty", "undervoltage", "unserved")
