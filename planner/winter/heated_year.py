"""A year with a heater, hour after hour, compiled: fed by the charger beside the cells, or by the battery itself."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from planner.compiled import compiled, kept
from planner.constants import NOMINAL_UNIT_V, SECONDS_PER_HOUR
from planner.winter.gate_hours import gate_step
from planner.winter.ledger import CHARGE, accepted_a, book_hour, close_hour
from planner.winter.thermostat import Thermostat, heated_hour

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


@kept("winter/*.py")
def heated_by_charger(
    cell_k: Array, heat_j: Array, air_k: Array, offered_a: Array, thermostat: Thermostat
) -> None:
    """The cells do not depend on the charge: left with their temperature and the heater's energy.

    cell_k : at the start of each hour [K]; heat_j : taken in each [J]; air_k [K]; all (hours, n). offered_a :
    current of the sources [A], (hours, 1 or n); the heater runs where they carry it.
    """
    for i in range(air_k.shape[1]):
        cells_k, on = air_k[0, i], False
        for hour in range(air_k.shape[0]):
            cell_k[hour, i] = cells_k
            offered_w = offered_a[hour, i if offered_a.shape[1] > 1 else 0] * NOMINAL_UNIT_V
            cells_k, heat_j[hour, i], on = heated_hour(
                cells_k, on, air_k[hour, i], offered_w >= thermostat.power_w, thermostat
            )


@kept("winter/*.py")
def heated_by_battery(
    books: Array, cell_k: Array, is_open: Flags, heat_j: Array, soc: Array, air_k: Array, offered_a: Array,
    use_a: Array, pairs: Array, bands: Array, capacity_c: float, thermostat: Thermostat,
) -> None:  # fmt: skip
    """Cells, gate and charge depend on each other; all are left as the year goes.

    books : as `Ledger` has them. cell_k : at the start of each hour [K]; is_open : (hours, rows, n). heat_j : sum over
    the year [J], (rows, n). soc : at the end of each hour, (hours, first rows or none, n). air_k (hours, n);
    offered_a (hours, 1 or n); use_a (hours,). pairs : block and resume threshold of each row [K], (rows, 2).
    bands : as `band_table` gives.
    """
    for row in range(books.shape[1]):
        for i in range(books.shape[2]):
            cells_k, on, opened = air_k[0, i], False, False
            for hour in range(air_k.shape[0]):
                opened = gate_step(opened, cells_k, pairs[row, 0], pairs[row, 1])
                cell_k[hour, row, i], is_open[hour, row, i] = cells_k, opened
                most_a = accepted_a(cells_k, bands)
                may_heat = _carries_an_hour(books[CHARGE, row, i], thermostat)
                cells_k, taken_j, on = heated_hour(cells_k, on, air_k[hour, i], may_heat, thermostat)
                heat_j[row, i] += taken_j
                need_a = use_a[hour] + taken_j / (SECONDS_PER_HOUR * NOMINAL_UNIT_V)
                offered = offered_a[hour, i if offered_a.shape[1] > 1 else 0]
                book_hour(books, row, i, capacity_c, offered, need_a, opened, most_a)
                close_hour(books, row, i, hour)
                if row < soc.shape[1]:
                    soc[hour, row, i] = books[CHARGE, row, i] / capacity_c


@compiled
def _carries_an_hour(charge_c: float, thermostat: Thermostat) -> bool:
    """Whether the battery can feed the heater for a whole hour."""
    return charge_c * NOMINAL_UNIT_V >= thermostat.power_w * SECONDS_PER_HOUR
