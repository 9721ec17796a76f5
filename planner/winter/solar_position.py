"""Where the sun stands in each hour of the year, by pvlib, taken in the middle of the hour.

A file's irradiance is the sum over the hour, so the sun belongs 30 minutes before the stamp's end.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from planner.winter.calendar_year import HOURS
from planner.winter.weather import Hourly

ANY_COMMON_YEAR = 2001  # without 29 February; the sun's place of a day shifts by minutes between years
PLACES = 16  # whose sun is remembered, 140 kB each


@dataclass(frozen=True, slots=True)
class Place:
    """Latitude and longitude [deg], north and east positive, and the zone of local standard time [h]."""

    latitude_deg: float
    longitude_deg: float
    utc_offset_h: float


@lru_cache(maxsize=PLACES)
def sun_position(place: Place) -> tuple[Hourly, Hourly]:
    """Apparent zenith and azimuth (from north over east) of the sun [deg], each of shape (8760,), read-only.

    Source: NREL's solar position algorithm, Reda & Andreas, Solar Energy 76 (2004) 577, by pvlib.
    """
    import pandas as pd
    import pvlib

    start = pd.Timestamp(year=ANY_COMMON_YEAR, month=1, day=1, hour=0, minute=30, tz="UTC")
    times = pd.date_range(start, periods=HOURS, freq="h") - pd.Timedelta(hours=place.utc_offset_h)
    found = pvlib.solarposition.get_solarposition(times, place.latitude_deg, place.longitude_deg)
    zenith: Hourly = found["apparent_zenith"].to_numpy(dtype=np.float64, copy=True)
    azimuth: Hourly = found["azimuth"].to_numpy(dtype=np.float64, copy=True)
    zenith.flags.writeable = azimuth.flags.writeable = False
    return zenith, azimuth


def sun_zenith_rad(place: Place) -> Hourly:
    """Apparent zenith angle [rad], shape (8760,)."""
    return np.radians(sun_position(place)[0])
