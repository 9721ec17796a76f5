"""What charges the battery: shore, alternator through a charger, solar; and what it has to feed.

Currents are at the battery's terminals, hour by hour, before the gate and before the acceptance.
"""

from __future__ import annotations

import math

import numpy as np

from planner.constants import (
    CHARGE_EFFICIENCY,
    CHARGE_TAIL,
    CHARGE_TAPER_S,
    GROUND_ALBEDO,
    PANEL_POWER_PER_K,
    SECONDS_PER_DAY,
    SOLAR_CHARGE_V,
    SOLAR_PATH_EFFICIENCY,
    ZERO_CELSIUS_K,
)
from planner.winter.calendar_year import DAY_OF_HOUR, HOURS, window_share
from planner.winter.schema import ChargeSource, Climate
from planner.winter.solar_position import Place, sun_position
from planner.winter.weather import Hourly, Weather

DAYS_PER_WEEK = 7
CALM_M_PER_S = 1.0  # wind at a panel when the file has none, 1 m/s, common practice, no source


def offered_clock_a(climate: Climate) -> Hourly:
    """Current offered by shore and alternator [A], shape (8760,): by the clock, whatever the weather."""
    total = np.zeros(HOURS)
    for source in climate.charges:
        if source.kind != "solar" and source.current_a is not None:
            total += source.current_a * window_share(source.window) * _present_days(source)
    return total


def offered_sun_a(climate: Climate, weather: Weather) -> Hourly:
    """Current offered by all panels [A], shape (8760,), for the weather's own days.

    Raises ValueError when a panel is there but the weather has no sun or no place; reading the climate
    has refused that before.
    """
    total = np.zeros(HOURS)
    for source in climate.charges:
        if source.kind == "solar":
            total += solar_current_a(source, weather) * window_share(source.window) * _present_days(source)
    return total


def _present_days(source: ChargeSource) -> Hourly:
    """1 in the hours of the first `days_per_week` days of each week of the year, else 0."""
    present: Hourly = (DAY_OF_HOUR % DAYS_PER_WEEK < source.days_per_week).astype(np.float64)
    return present


def solar_current_a(source: ChargeSource, weather: Weather) -> Hourly:
    """Charge current of a panel [A], shape (8760,), limited by its controller.

    Panel power by pvlib's PVWatts model at a cell temperature by Faiman's, from the irradiance in its
    plane; turned into current at 13.6 V behind controller, cable and dirt of 90 %, handbook.
    """
    import pvlib

    if source.peak_power_w is None:
        raise ValueError("a panel has a peak power")
    plane = plane_of_array_w_m2(weather, source.tilt_deg, source.azimuth_deg)
    wind = np.full(HOURS, CALM_M_PER_S) if weather.wind_m_per_s is None else weather.wind_m_per_s
    panel_c = pvlib.temperature.faiman(plane, weather.air_k - ZERO_CELSIUS_K, wind)
    power_w = pvlib.pvsystem.pvwatts_dc(plane, panel_c, source.peak_power_w, PANEL_POWER_PER_K)
    limit_a = math.inf if source.controller_current_a is None else source.controller_current_a
    current: Hourly = np.clip(power_w * SOLAR_PATH_EFFICIENCY / SOLAR_CHARGE_V, 0.0, limit_a)
    return current


def plane_of_array_w_m2(
    weather: Weather, tilt_deg: float, azimuth_deg: float | None, sky: str = "haydavies"
) -> Hourly:
    """Irradiance in the plane of a panel [W/m2], shape (8760,).

    azimuth_deg : where it faces, from north over east; None: towards the equator.
    sky : pvlib's name of the model for the diffuse sky, "haydavies" or "isotropic".
    Source: Hay & Davies 1980 by pvlib, the sun taken in the middle of the hour; ground albedo 0.2.
    """
    import pvlib

    if weather.sun is None or weather.latitude_deg is None or weather.longitude_deg is None:
        raise ValueError(f"{weather.source} has no sun or no place")
    zenith, azimuth = sun_position(Place(weather.latitude_deg, weather.longitude_deg, weather.utc_offset_h))
    if azimuth_deg is None:
        azimuth_deg = 180.0 if weather.latitude_deg >= 0.0 else 0.0
    sun = weather.sun
    found = pvlib.irradiance.get_total_irradiance(
        tilt_deg,
        azimuth_deg,
        zenith,
        azimuth,
        sun.dni_w_m2,
        sun.ghi_w_m2,
        sun.dhi_w_m2,
        dni_extra=_extraterrestrial_w_m2(),
        albedo=GROUND_ALBEDO,
        model=sky,
    )
    plane: Hourly = np.nan_to_num(np.asarray(found["poa_global"], dtype=np.float64), nan=0.0)
    return plane


def _extraterrestrial_w_m2() -> Hourly:
    """Direct normal irradiance above the air [W/m2], shape (8760,). Source: Spencer 1971 by pvlib."""
    import pvlib

    extra: Hourly = np.asarray(pvlib.irradiance.get_extra_radiation(DAY_OF_HOUR + 1), dtype=np.float64)
    return extra


def use_a(climate: Climate) -> Hourly:
    """Current the uses draw [A], shape (8760,): `use_per_day` spread over the day, and every [[use]]."""
    per_day_c = climate.use_per_day_c or 0.0
    total = np.full(HOURS, per_day_c / SECONDS_PER_DAY)
    for use in climate.uses:
        total += use.current_a * window_share(use.window)
    return total


def use_notes(climate: Climate) -> tuple[str, ...]:
    """A warning when nothing says what is used: no use is not an answer to "will it run dark"."""
    if climate.use_per_day_c is None and not climate.uses:
        return ("No use is stated (use_per_day or [[use]]): dark days are counted without any use.",)
    return ()


def time_to_full_s(capacity_c: float, from_soc: float, current_a: float) -> float:
    """Time a charger needs until its current has fallen to 5 % [s], from a state of charge.

    The current is constant until the room left is what 900 s of it fill, then falls with that time
    constant, as the ledger of the year has it. Charge efficiency 99 %.
    """
    room_s = capacity_c * (1.0 - from_soc) / (CHARGE_EFFICIENCY * current_a)
    steady_s = max(room_s - CHARGE_TAPER_S, 0.0)
    share_at_knee = min(room_s / CHARGE_TAPER_S, 1.0)
    return steady_s + CHARGE_TAPER_S * max(math.log(share_at_knee / CHARGE_TAIL), 0.0) if room_s else 0.0


def stored_c(current_a: float, duration_s: float, derating: float = 1.0) -> float:
    """Charge stored by a charger with room to spare [C]. derating : share of its current when hot."""
    return current_a * derating * duration_s * CHARGE_EFFICIENCY
