"""The charge ledger: what goes in, what is drawn, what the uses lack, hour by hour.

While the gate is open a source feeds the uses first and charges with the rest; the current tapers near
full. While it is shut the battery carries the uses alone: many chargers and most solar controllers stop
when the battery does not take charge. Self-discharge and sleep current are left out of the year (about
0.3 Ah a day together on 100 Ah; see `planner.winter.storage`).

An hour is booked in single numbers and compiled: arrays of twenty weather years are too short for numpy to pay.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planner.compiled import compiled, kept
from planner.constants import CHARGE_EFFICIENCY, CHARGE_TAPER_S, SECONDS_PER_HOUR
from planner.winter.calendar_year import HOURS_PER_DAY

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Bands = tuple[tuple[float, float, float], ...]

DARK_C = 1e-6  # lacking charge below it is rounding, not darkness [C]
CHARGE, TAKEN, DRAWN, UNSERVED, DAYS_DARK, DARK_TODAY = range(6)  # the books


@dataclass(frozen=True, slots=True)
class Ledger:
    """Running books of many batteries at once.

    books : shape (6, rows, n), in the order of `CHARGE` and the names beside it: charge in the cells [C]; put into
    them since the start; drawn from them; what the uses lacked; days with any lack; whether this day has any.
    """

    capacity_c: float
    books: Array

    @classmethod
    def opened(cls, capacity_c: float, charge_c: Array) -> Ledger:
        """Empty books. charge_c : in the cells at the start [C], shape (rows, n)."""
        books = np.zeros((6, *charge_c.shape))
        books[CHARGE] = charge_c
        return cls(capacity_c, books)

    def keep(
        self, offered_a: Array, use_a: Array, is_open: Flags, cell_k: Array, bands: Bands, soc: Array | None
    ) -> None:
        """All hours, from midnight.

        offered_a : current of the sources [A], (hours, 1 or n). use_a : of the uses [A], (hours,). is_open : the gate,
        (hours, rows, n). cell_k : cells [K], (hours, 1 or rows, n). bands : (from K, until K, largest charge current
        A). soc : left with the state of charge at the end of each hour, (hours, first rows, n).
        """
        course = np.empty((0, 0, 0)) if soc is None else soc
        _keep(self.books, self.capacity_c, offered_a, use_a, is_open, cell_k, band_table(bands), course)


def band_table(bands: Bands) -> Array:
    """The maker's bands as an array of shape (bands, 3)."""
    return np.array(bands, dtype=np.float64).reshape(-1, 3)


@compiled
def accepted_a(cell_k: float, bands: Array) -> float:
    """Largest charge current at a cell temperature [A]: of the band it lies in; no band, no limit.

    bands : as `band_table` gives; where two meet or overlap the smaller current counts.
    """
    limit_a = math.inf
    for band in range(bands.shape[0]):
        if bands[band, 0] <= cell_k <= bands[band, 1]:
            limit_a = min(limit_a, bands[band, 2])
    return limit_a


@compiled
def book_hour(
    books: Array,
    row: int,
    i: int,
    capacity_c: float,
    offered_a: float,
    use_a: float,
    is_open: bool,
    most_a: float,
) -> None:
    """One hour of one battery. most_a : largest charge current allowed at this temperature [A]."""
    net_a = (offered_a if is_open else 0.0) - use_a
    if net_a > 0.0:
        taken_c = _taken_c(min(net_a, most_a), capacity_c - books[CHARGE, row, i])
        books[CHARGE, row, i] += taken_c
        books[TAKEN, row, i] += taken_c
        return
    need_c = -net_a * SECONDS_PER_HOUR
    drawn_c = min(need_c, books[CHARGE, row, i])
    books[CHARGE, row, i] -= drawn_c
    books[DRAWN, row, i] += drawn_c
    if need_c > drawn_c:
        books[UNSERVED, row, i] += need_c - drawn_c
        if need_c - drawn_c > DARK_C:
            books[DARK_TODAY, row, i] = 1.0


@compiled
def close_hour(books: Array, row: int, i: int, hour: int) -> None:
    """At midnight the day counts as dark where anything was lacking in it."""
    if hour % HOURS_PER_DAY == HOURS_PER_DAY - 1:
        books[DAYS_DARK, row, i] += books[DARK_TODAY, row, i]
        books[DARK_TODAY, row, i] = 0.0


@compiled
def _taken_c(current_a: float, room_c: float) -> float:
    """Charge put into the cells in one hour [C], tapering once the room is below 900 s of current."""
    into_c_per_s = CHARGE_EFFICIENCY * current_a
    if room_c <= 0.0 or into_c_per_s <= 0.0:
        return 0.0
    steady_s = min(max(room_c / into_c_per_s - CHARGE_TAPER_S, 0.0), SECONDS_PER_HOUR)
    steady_c = into_c_per_s * steady_s
    # Tapering fills the rest of the room; where the knee is not reached steady_s is the whole hour.
    return steady_c - (room_c - steady_c) * math.expm1((steady_s - SECONDS_PER_HOUR) / CHARGE_TAPER_S)


@kept("winter/*.py")
def _keep(
    books: Array, capacity_c: float, offered_a: Array, use_a: Array, is_open: Flags, cell_k: Array, bands: Array,
    soc: Array,
) -> None:  # fmt: skip
    """As `Ledger.keep`; soc without hours is not written."""
    for hour in range(is_open.shape[0]):
        for row in range(books.shape[1]):
            for i in range(books.shape[2]):
                offered = offered_a[hour, i if offered_a.shape[1] > 1 else 0]
                most_a = accepted_a(cell_k[hour, row if cell_k.shape[1] > 1 else 0, i], bands)
                book_hour(books, row, i, capacity_c, offered, use_a[hour], is_open[hour, row, i], most_a)
                close_hour(books, row, i, hour)
                if row < soc.shape[1]:
                    soc[hour, row, i] = books[CHARGE, row, i] / capacity_c
