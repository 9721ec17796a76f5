"""The year of 365 days every computation here runs through: which hour belongs to which day and month.

Hour j is the hour from j to j+1 o'clock of local standard time, counted from 1 January, 0 o'clock.
Only the position of an hour counts, never a time stamp: typical years are put together from months of
different calendar years, and their last stamp belongs to the next year.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from planner.constants import SECONDS_PER_HOUR
from planner.winter.schema import DayWindow

DAYS = 365
HOURS_PER_DAY = 24
HOURS = DAYS * HOURS_PER_DAY
DAYS_IN_MONTH = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
MONTH_FIRST_DAY = np.concatenate(([0], np.cumsum(DAYS_IN_MONTH)[:-1]))
MONTH_FIRST_HOUR = MONTH_FIRST_DAY * HOURS_PER_DAY
MONTH_OF_DAY = np.repeat(np.arange(12), DAYS_IN_MONTH)  # 0 is January
MONTH_OF_HOUR = np.repeat(MONTH_OF_DAY, HOURS_PER_DAY)
HOUR_OF_DAY = np.tile(np.arange(HOURS_PER_DAY), DAYS)
DAY_OF_HOUR = np.repeat(np.arange(DAYS), HOURS_PER_DAY)
for _table in (DAYS_IN_MONTH, MONTH_FIRST_DAY, MONTH_FIRST_HOUR, MONTH_OF_DAY, MONTH_OF_HOUR):
    _table.flags.writeable = False
HOUR_OF_DAY.flags.writeable = False
DAY_OF_HOUR.flags.writeable = False


def window_share(window: DayWindow) -> npt.NDArray[np.float64]:
    """Share of each hour of the year that lies in the window, shape (8760,), 0 to 1.

    An hour cut by the window's edge has the share that is inside. A window over midnight counts by the
    month of each hour, not of the day it began.
    """
    start, end = window.from_s / SECONDS_PER_HOUR, window.until_s / SECONDS_PER_HOUR
    pieces = [(start, end)] if start < end else [(start, float(HOURS_PER_DAY)), (0.0, end)]
    hour = np.arange(HOURS_PER_DAY)
    day = np.zeros(HOURS_PER_DAY)
    for first, last in pieces:
        day += np.clip(np.minimum(hour + 1, last) - np.maximum(hour, first), 0.0, 1.0)
    in_month = np.isin(MONTH_OF_HOUR + 1, window.months)
    return np.where(in_month, np.tile(day, DAYS), 0.0)


def by_month(hourly: npt.NDArray[np.generic]) -> npt.NDArray[np.float64]:
    """Sum over each month: (8760, ...) -> (12, ...)."""
    return np.add.reduceat(hourly, MONTH_FIRST_HOUR, axis=0, dtype=np.float64)
