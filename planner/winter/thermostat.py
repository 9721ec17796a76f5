"""A heater behind its thermostat for an hour, in single numbers and compiled: from one switching to the next."""

from __future__ import annotations

import math
from typing import NamedTuple

from planner.compiled import compiled
from planner.constants import SECONDS_PER_HOUR

MOST_SWITCHINGS = 40  # of the thermostat within an hour; what is left of the hour is then held at target


class Thermostat(NamedTuple):
    """Power [W], where it switches on and where off again [K], conductance to the air [W/K], time constant [s]."""

    power_w: float
    target_k: float
    off_above_k: float
    conductance_w_per_k: float
    tau_s: float


@compiled
def heated_hour(
    cell_k: float, on: bool, air_k: float, may_heat: bool, thermostat: Thermostat
) -> tuple[float, float, bool]:
    """One hour of one battery with a heater and its thermostat, switching at the exact instants.

    cell_k, on : cells [K] and heater on, at the start. air_k : held over the hour [K]. may_heat : heater allowed.
    A thermostat without span (off_above = target) holds the target.
    Returns the cells at the end [K], the energy the heater took [J], whether it is on at the end.
    """
    power_w, target_k, off_above_k, conductance_w_per_k, tau_s = thermostat
    left_s, heated_s = SECONDS_PER_HOUR, 0.0
    on = may_heat and (on or cell_k < target_k) and cell_k < off_above_k
    for _ in range(MOST_SWITCHINGS):
        goal_k = air_k + (power_w / conductance_w_per_k if on else 0.0)
        threshold_k = off_above_k if on else target_k
        heads_there = may_heat and (on or goal_k < threshold_k)  # cells held at target go up with warmer air
        run_s = _time_to_reach(cell_k - goal_k, threshold_k - goal_k, tau_s) if heads_there else math.inf
        switches = run_s < left_s
        run_s = min(run_s, left_s)
        heated_s += run_s if on else 0.0
        left_s -= run_s
        if not switches:
            return goal_k + (cell_k - goal_k) * math.exp(-run_s / tau_s), power_w * heated_s, on
        cell_k = threshold_k  # exactly there, so that rounding switches nothing
        on = not on
        if off_above_k == target_k:
            break
    hold_w = min(max(conductance_w_per_k * (cell_k - air_k), 0.0), power_w)
    return cell_k, power_w * heated_s + hold_w * left_s, False


@compiled
def _time_to_reach(apart_k: float, threshold_k: float, tau_s: float) -> float:
    """Time until the thermostat switches [s]; infinite where it will not.

    apart_k, threshold_k : cells, and the threshold ahead of them, both above where they are bound for [K]. They
    pass it where both lie on one side and the threshold is nearer.
    """
    ratio = apart_k / threshold_k
    return tau_s * math.log(ratio) if 1.0 <= ratio < math.inf else math.inf
