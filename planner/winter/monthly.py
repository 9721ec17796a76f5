"""A year of hours made of twelve monthly means and daily swings, where there is no weather file.

Method: the seasonal mean is a periodic cubic spline through mid-month points, the points moved so that
every month's mean comes out as stated. On it rides a cosine of the stated swing, highest in the hour from
14 to 15 o'clock; the swing is linear between mid-months and constant within a day. All days of a season are
alike: there are no cold spells in it (`planner.winter.other_years` adds them).
"""

from __future__ import annotations

from calendar import month_name

import numpy as np
import numpy.typing as npt

from planner.constants import SECONDS_PER_HOUR
from planner.winter.calendar_year import (
    DAYS,
    DAYS_IN_MONTH,
    HOUR_OF_DAY,
    HOURS,
    HOURS_PER_DAY,
    MONTH_FIRST_DAY,
    MONTH_OF_DAY,
    by_month,
)
from planner.winter.schema import MonthlyClimate
from planner.winter.solar_position import Place, sun_zenith_rad
from planner.winter.weather import Hourly, Sun, Weather

HOTTEST_HOUR = 14  # the hour from 14 to 15 o'clock, the usual time of the day's maximum (from memory)
FULL_SUN_W_M2 = 1000.0  # what "full-sun hours" are counted in
HAURWITZ_W_M2, HAURWITZ_K = 1098.0, 0.057  # clear-sky global, B. Haurwitz, J. Meteorology 2 (1945) 154
# Erbs, Klein & Duffie, Solar Energy 28 (1982) 293, diffuse share of a day's or hour's global irradiance.
ERBS = (0.9511, -0.1604, 4.388, -16.638, 12.336)
ABOVE_CLEAR = 1.2  # of the clear-sky sum at sea level; a high place comes near it (common practice, no source)
SOLAR_CONSTANT_W_M2 = 1361.0  # Kopp & Lean, Geophys. Res. Lett. 38 (2011) L01706, rounded


def weather_from_months(monthly: MonthlyClimate, latitude_deg: float | None) -> Weather:
    """Hours of a year with the stated monthly means and swings, and the sun if it is stated.

    latitude_deg : needed for the sun only; hours are then mean solar time.
    """
    sun = None
    warnings = ["Weather made of monthly means: every day of a season is alike, without cold spells."]
    if monthly.sun_s is not None and latitude_deg is not None:
        sun = _sun_from_months(np.array(monthly.sun_s), latitude_deg)
        warnings += _too_sunny(np.array(monthly.sun_s), latitude_deg)
    return Weather(
        source="monthly means",
        air_k=air_from_months(monthly.mean_k, monthly.swing_k),
        sun=sun,
        latitude_deg=latitude_deg,
        longitude_deg=None if latitude_deg is None else 0.0,
        synthetic=True,
        warnings=tuple(warnings),
    )


def air_from_months(mean_k: tuple[float, ...], swing_k: tuple[float, ...]) -> Hourly:
    """Air temperature of each hour [K], shape (8760,), from 12 means [K] and 12 daily swings [K]."""
    hour = HOUR_OF_DAY - HOTTEST_HOUR
    cosine = 0.5 * np.cos(2.0 * np.pi * hour / HOURS_PER_DAY)
    middle = MONTH_FIRST_DAY + DAYS_IN_MONTH / 2.0
    daily_swing = np.interp(np.arange(DAYS) + 0.5, middle, swing_k, period=DAYS)
    return mean_preserving_season(np.array(mean_k)) + np.repeat(daily_swing, HOURS_PER_DAY) * cosine


def mean_preserving_season(means: npt.NDArray[np.float64]) -> Hourly:
    """A smooth periodic curve over the hours of a year, shape (8760,), whose monthly means are as given.

    means : shape (12,). The spline is linear in its twelve points, so they follow from a 12 x 12 system.
    """
    from scipy.interpolate import CubicSpline

    middle = (MONTH_FIRST_DAY + DAYS_IN_MONTH / 2.0) * HOURS_PER_DAY
    knots = np.append(middle, middle[0] + HOURS)
    basis = CubicSpline(knots, np.vstack([np.eye(12), np.eye(12)[:1]]), bc_type="periodic")
    hourly: Hourly = basis(np.arange(HOURS) + 0.5)
    monthly_means = by_month(hourly) / (DAYS_IN_MONTH * HOURS_PER_DAY)[:, np.newaxis]
    return hourly @ np.linalg.solve(monthly_means, means)


def _sun_from_months(sun_s: npt.NDArray[np.float64], latitude_deg: float) -> Sun:
    """Irradiance with the stated monthly means: a clear-sky day scaled, split by Erbs' diffuse share.

    sun_s : full-sun time a day on level ground [s], shape (12,).
    """
    cosine, clear = _clear_sky(latitude_deg)
    clear_days = by_month(clear) / DAYS_IN_MONTH
    wanted = sun_s / SECONDS_PER_HOUR * FULL_SUN_W_M2
    scale = np.divide(wanted, clear_days, out=np.zeros(12), where=clear_days > 0.0)
    ghi = clear * np.repeat(scale[MONTH_OF_DAY], HOURS_PER_DAY)
    top = np.maximum(SOLAR_CONSTANT_W_M2 * cosine, 1e-9)
    kt = np.clip(ghi / top, 0.0, 1.0)
    share = np.where(kt <= 0.22, 1.0 - 0.09 * kt, np.where(kt > 0.80, 0.165, np.polyval(ERBS[::-1], kt)))
    dhi = ghi * share
    dni = np.divide(ghi - dhi, cosine, out=np.zeros(HOURS), where=cosine > 0.05)
    return Sun(ghi, dni, ghi - dni * cosine)


def _clear_sky(latitude_deg: float) -> tuple[Hourly, Hourly]:
    """Cosine of the sun's zenith angle, 0 below the horizon, and global irradiance without clouds [W/m2]."""
    cosine = np.maximum(np.cos(sun_zenith_rad(Place(latitude_deg, 0.0, 0.0))), 0.0)
    return cosine, HAURWITZ_W_M2 * cosine * np.exp(-HAURWITZ_K / np.maximum(cosine, 1e-3))


def _too_sunny(sun_s: npt.NDArray[np.float64], latitude_deg: float) -> list[str]:
    """A warning where more sun is stated than a cloudless sky gives: hours of daylight taken for full-sun hours."""
    clear_s = by_month(_clear_sky(latitude_deg)[1]) / DAYS_IN_MONTH / FULL_SUN_W_M2 * SECONDS_PER_HOUR
    beyond = np.flatnonzero(sun_s > ABOVE_CLEAR * clear_s)
    if not beyond.size:
        return []
    worst = int(beyond[np.argmax(sun_s[beyond] - clear_s[beyond])])
    stated_h, clear_h = sun_s[worst] / SECONDS_PER_HOUR, clear_s[worst] / SECONDS_PER_HOUR
    return [
        f"sun_hours is above what a cloudless sky gives in {beyond.size} of 12 months, most in "
        f"{month_name[worst + 1]}: {stated_h:.3g} h a day where {clear_h:.2g} h is the most. Full-sun hours are meant, "
        "a day's energy on level ground over 1000 W/m², not hours of daylight; with these the panel's charge comes out "
        "too high."
    ]
