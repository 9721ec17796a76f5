"""A year of weather, hour by hour: from a weather file, or from monthly means.

Row j is the hour from j to j+1 o'clock of local standard time. Files are read by position: an EPW row
stamped hour 1 and a TMY3 row stamped 01:00 are both the hour from 0 to 1 o'clock, and the last stamp of a
typical year belongs to the next one, so grouping by stamp would move an hour between months.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from planner.winter.calendar_year import HOURS

Hourly = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Sun:
    """Irradiance of each hour [W/m2], shape (8760,): global horizontal, direct normal, diffuse horizontal."""

    ghi_w_m2: Hourly
    dni_w_m2: Hourly
    dhi_w_m2: Hourly

    def __post_init__(self) -> None:
        for name in ("ghi_w_m2", "dni_w_m2", "dhi_w_m2"):
            object.__setattr__(self, name, _frozen(getattr(self, name)))


@dataclass(frozen=True, slots=True)
class Weather:
    """One year of weather.

    source : file name, or "monthly means". air_k : dry bulb [K], shape (8760,), read-only.
    sun, wind_m_per_s : None when the source has none.
    utc_offset_h : of local standard time. synthetic : made of monthly means, so every day of a season is
    alike and other years need invented anomalies.
    """

    source: str
    air_k: Hourly
    sun: Sun | None = None
    wind_m_per_s: Hourly | None = None
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    utc_offset_h: float = 0.0
    synthetic: bool = False
    warnings: tuple[str, ...] = field(default=())

    def __post_init__(self) -> None:
        for name in ("air_k", "wind_m_per_s"):
            value = getattr(self, name)
            if value is not None:
                object.__setattr__(self, name, _frozen(value))


def _frozen(values: Hourly) -> Hourly:
    """A read-only copy of one year; a frozen dataclass does not freeze its arrays."""
    copy = np.array(values, dtype=np.float64)
    if copy.shape != (HOURS,):
        raise ValueError(f"a year has {HOURS} hours, not shape {copy.shape}")
    copy.flags.writeable = False
    return copy
