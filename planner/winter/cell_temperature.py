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

from planner.compiled import kept
from planner.constants import SECONDS_PER_HOUR
from planner.winter.calendar_year import window_share
from planner.winter.schema import HeatedHours

Array = npt.NDArray[np.float64]


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
    rows = np.ascontiguousarray(air_k).reshape(-1, air_k.shape[-1])
    cells: Array = np.empty_like(rows)
    _lag(cells, rows, decay)
    return cells.reshape(air_k.shape)


@kept("winter/cell_temperature.py")
def _lag(cells: Array, air_k: Array, decay: float) -> None:
    """As `cell_temperatures`, row by row; cells is filled."""
    for row in range(air_k.shape[0]):
        cell_k = air_k[row, 0]
        for hour in range(air_k.shape[1]):
            cells[row, hour] = cell_k
            cell_k = air_k[row, hour] + (cell_k - air_k[row, hour]) * decay


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
