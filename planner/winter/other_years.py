"""Plausible other years from one: a typical year is not a cold one.

From a weather file: blocks of 3 to 10 consecutive days are drawn from the file, each beginning within 15
days of the calendar day it is put at, so the weather keeps its persistence from day to day, its season,
and the link between air and sun. From monthly means, where all days are alike: a daily anomaly with a
stated spread that keeps a stated share from day to day (first-order autoregression), joined by straight
lines from noon to noon. Neither can make a spell harder than the source and these numbers hold.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planner.constants import DAY_ANOMALY_CORRELATION, DAY_ANOMALY_K
from planner.winter.calendar_year import DAYS, HOURS, HOURS_PER_DAY
from planner.winter.weather import Hourly, Weather

SHORTEST_BLOCK_DAYS, LONGEST_BLOCK_DAYS = 3, 10  # of weather that stays together (common practice, no source)
SEASON_DAYS = 15  # how far from its calendar day a block may come (likewise)
_MOST_BLOCKS = -(-DAYS // SHORTEST_BLOCK_DAYS)


@dataclass(frozen=True, slots=True)
class OtherYears:
    """Drawn years. air_k : shape (n, 8760) [K]. source_day : which day of the source each day is, (n, 365)."""

    air_k: Hourly
    source_day: npt.NDArray[np.intp]

    def rearranged(self, hourly: Hourly) -> Hourly:
        """Another hourly quantity of the same source year, (8760,), in the drawn order: (n, 8760)."""
        by_day = np.asarray(hourly).reshape(DAYS, HOURS_PER_DAY)
        return by_day[self.source_day].reshape(len(self.source_day), HOURS)


def plausible_years(weather: Weather, n: int, rng: np.random.Generator) -> OtherYears:
    """Draw n years by the method of this module.

    rng : the caller's generator; one seed, one set of years.
    """
    if weather.synthetic:
        days = np.tile(np.arange(DAYS), (n, 1))
        return OtherYears(weather.air_k + _anomalies_k(n, rng), days)
    days = resampled_days(n, rng)
    air_k = weather.air_k.reshape(DAYS, HOURS_PER_DAY)[days].reshape(n, HOURS)
    return OtherYears(air_k, days)


def resampled_days(n: int, rng: np.random.Generator) -> npt.NDArray[np.intp]:
    """Source day (0 to 364) of each day of n years, shape (n, 365), by blocks of consecutive days."""
    lengths = rng.integers(SHORTEST_BLOCK_DAYS, LONGEST_BLOCK_DAYS + 1, size=(n, _MOST_BLOCKS))
    offsets = rng.integers(-SEASON_DAYS, SEASON_DAYS + 1, size=(n, _MOST_BLOCKS))
    starts = np.cumsum(lengths, axis=1)  # first day of each block but the first
    marks = np.zeros((n, DAYS), dtype=np.intp)
    draw, block = np.nonzero(starts < DAYS)
    marks[draw, starts[draw, block]] = 1
    block_of_day = np.cumsum(marks, axis=1)
    days: npt.NDArray[np.intp] = (np.arange(DAYS) + np.take_along_axis(offsets, block_of_day, axis=1)) % DAYS
    return days


def _anomalies_k(n: int, rng: np.random.Generator) -> Hourly:
    """Daily anomalies [K] about the season, as hours, shape (n, 8760)."""
    from scipy.signal import lfilter

    keep = DAY_ANOMALY_CORRELATION
    noise = rng.normal(0.0, DAY_ANOMALY_K, size=(n, DAYS + 2))
    noise[:, 1:] *= np.sqrt(1.0 - keep**2)  # so that the spread is the same on every day
    daily = lfilter([1.0], [1.0, -keep], noise, axis=1)  # day before, the year, day after
    share = (np.arange(HOURS_PER_DAY) + 0.5) / HOURS_PER_DAY  # noon of one day to noon of the next
    noon_to_noon = daily[:, :-1, np.newaxis] * (1.0 - share) + daily[:, 1:, np.newaxis] * share
    half_day = HOURS_PER_DAY // 2
    hours: Hourly = noon_to_noon.reshape(n, -1)[:, half_day : half_day + HOURS]
    return hours
