"""Temperature of the cells behind the air: one lumped heat capacity and one conductance.

    C dT/dt = P - G (T - T_air),  exact over an hour in which air and power are held.

What is left out: wind and sun on the case; the battery's own heat; the core lagging the case. Measured on
an invented cold year with charging from 9 to 15 o'clock: own heat through 4 mohm changes the blocked hours
not at all at 10 A, and by 12 of 1193 at 30 A in a box; two nodes, case and core, change them by 0 to 2 %.
Both are less than the hourly step itself does (up to 3 %), so one node without own heat is kept.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from planner.constants import SECONDS_PER_HOUR
from planner.winter.calendar_year import window_share
from planner.winter.schema import HeatedHours, Heater

Array = npt.NDArray[np.float64]

MOST_SWITCHINGS = 40  # of the thermostat within an hour; what is left of the hour is then held at target


def time_constant_s(conductance_w_per_k: float, heat_capacity_j_per_k: float) -> float:
    """Thermal time constant C/G [s]."""
    return heat_capacity_j_per_k / conductance_w_per_k


def hourly_decay(tau_s: float) -> float:
    """Share of a temperature difference left after one hour: exp(-1 h / tau)."""
    return math.exp(-SECONDS_PER_HOUR / tau_s)


def cell_temperatures(air_k: Array, decay: float) -> Array:
    """Cell temperature at the start of each hour, without a heater.

    air_k : air around the battery [K], held over each hour, shape (..., hours).
    decay : as `hourly_decay` gives.
    Returns the same shape: T[0] = air[0], T[j+1] = air[j] + (T[j] - air[j]) x decay.
    """
    from scipy.signal import lfilter

    cells: Array = np.empty_like(air_k)
    cells[..., 0] = air_k[..., 0]
    cells[..., 1:], _ = lfilter(
        [1.0 - decay], [1.0, -decay], air_k[..., :-1], axis=-1, zi=decay * air_k[..., :1]
    )
    return cells


def air_around(air_k: Array, heated: Iterable[HeatedHours]) -> Array:
    """Air the battery stands in: the weather's, or a room kept warm in some hours.

    air_k : shape (..., 8760) [K]. A room's heating does not cool: warmer weather stays. An hour the window
    covers in part counts by its share.
    """
    around = air_k
    for room in heated:
        share = window_share(room.window)
        around = around + share * np.maximum(room.air_k - around, 0.0)
    return around


def heated_hour(
    cell_k: Array,
    air_k: Array,
    on: npt.NDArray[np.bool_],
    may_heat: npt.NDArray[np.bool_],
    heater: Heater,
    conductance_w_per_k: float,
    heat_capacity_j_per_k: float,
) -> tuple[Array, Array, npt.NDArray[np.bool_]]:
    """One hour with a heater and its thermostat, switching at the exact instants.

    cell_k, air_k, on, may_heat : cells at the start [K], air [K], heater on, heater allowed; all (n,).
    Returns cells at the end [K], energy the heater took [J], heater on at the end; all (n,).
    A thermostat without span (off_above = target) holds the target.
    """
    tau_s = heat_capacity_j_per_k / conductance_w_per_k
    lift_k = heater.power_w / conductance_w_per_k
    left_s = np.full(cell_k.shape, SECONDS_PER_HOUR)
    energy_j = np.zeros(cell_k.shape)
    on = may_heat & (on | (cell_k < heater.target_k)) & (cell_k < heater.off_above_k)
    for _ in range(MOST_SWITCHINGS):
        goal_k = air_k + np.where(on, lift_k, 0.0)
        threshold_k = np.where(on, heater.off_above_k, heater.target_k)
        run_s = np.minimum(_time_to_reach(cell_k, goal_k, threshold_k, on, may_heat, tau_s), left_s)
        cell_k = goal_k + (cell_k - goal_k) * np.exp(-run_s / tau_s)
        energy_j = energy_j + np.where(on, heater.power_w * run_s, 0.0)
        left_s = left_s - run_s
        switching = left_s > 0.0
        if not switching.any():
            return cell_k, energy_j, on
        cell_k = np.where(switching, threshold_k, cell_k)  # exactly there, so that rounding switches nothing
        on = np.where(switching, ~on, on)
        if heater.off_above_k == heater.target_k:
            break
    hold_w = np.clip(conductance_w_per_k * (cell_k - air_k), 0.0, heater.power_w)
    return cell_k, energy_j + hold_w * left_s, on & (left_s <= 0.0)


def _time_to_reach(
    cell_k: Array,
    goal_k: Array,
    threshold_k: Array,
    on: npt.NDArray[np.bool_],
    may_heat: npt.NDArray[np.bool_],
    tau_s: float,
) -> Array:
    """Time until the thermostat switches [s]; infinite where it will not."""
    crossing = np.where(on, goal_k > threshold_k, may_heat & (goal_k < threshold_k))
    ahead = np.where(on, cell_k <= threshold_k, cell_k >= threshold_k)
    ratio = np.divide(cell_k - goal_k, threshold_k - goal_k, out=np.ones_like(cell_k), where=crossing & ahead)
    return np.where(crossing & ahead, tau_s * np.log(np.maximum(ratio, 1.0)), np.inf)
