"""Reads a climate file (TOML) into a Climate, reporting everything wrong with it at once."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path

from planner.constants import SECONDS_PER_DAY, SECONDS_PER_HOUR, ZERO_CELSIUS_K
from planner.other_scale import other_scale
from planner.toml_table import Table, read_toml
from planner.winter.schema import (
    ALL_MONTHS,
    CHARGE_KINDS,
    HEATER_FEEDS,
    PLACES,
    ChargeSource,
    Climate,
    DayWindow,
    HeatedHours,
    Heater,
    Indoors,
    MonthlyClimate,
    SteadyUse,
    StoragePlan,
)

COLDEST_K, HOTTEST_K = ZERO_CELSIUS_K - 70.0, ZERO_CELSIUS_K + 70.0  # the range an EPW file allows
WEATHER_ENDINGS = (".epw", ".csv", ".tm2")


def read_climate(path: Path, named: Mapping[str, Path] | None = None) -> Climate:
    """The climate file at `path`.

    named : of an upload, the only files it may name, by the last part of the name as written.

    Raises InputRefused with every problem of the file. The weather file it names is only looked for,
    not opened: `planner.winter.weather.load_weather` does that.
    """
    return climate_from_table(read_toml(path, named), Path(path))


def climate_from_table(top: Table, path: Path | None = None) -> Climate:
    """A climate from a table already opened, an upload for instance. Raises InputRefused."""
    weather = top.path("weather")
    monthly = _monthly(top)
    if weather is not None and weather.suffix.lower() not in WEATHER_ENDINGS:
        top.problem("weather", weather.name, "an .epw, .csv (TMY3) or .tm2 file", "Name such a file.")
    if top.has("weather") == top.has("monthly"):
        found = "both" if top.has("weather") else "absent"
        fix = "Give exactly one of weather and monthly."
        top.problem("weather", found, "a weather file, or monthly = 12 rows", fix)
    latitude = top.number("latitude", low=-66.0, high=66.0)
    longitude = top.number("longitude", low=-180.0, high=180.0)
    _tell_unused(top, weather, latitude, longitude)
    charges = tuple(_charge(table) for table in top.tables("charge"))
    _check_sun(top, charges, monthly, latitude)
    climate = Climate(
        name=top.text("name", required=True) or "",
        weather=weather,
        monthly=monthly,
        place=top.choice("place", PLACES, default="outdoors"),
        conductance_w_per_k=top.quantity("thermal_conductance", "thermal_conductance", above=0.0, high=1e3),
        heat_capacity_j_per_k=top.quantity("heat_capacity", "heat_capacity", above=0.0, high=1e7),
        start_soc=top.quantity("start_charge", "fraction", low=0.0, high=1.0, default=1.0),
        use_per_day_c=top.quantity("use_per_day", "charge", low=0.0, high=1e9),
        heated=tuple(_heated(table) for table in top.tables("heated")),
        heater=_heater(top.table("heater")),
        charges=charges,
        uses=tuple(_use(table) for table in top.tables("use")),
        storage=_storage(top.table("standing")),
        indoors=_indoors(top.table("indoors")),
        latitude_deg=latitude,
        longitude_deg=longitude,
        path=path,
        files=top.files,
        warnings=top.warnings,
    )
    top.finish()
    return climate


def _tell_unused(top: Table, weather: Path | None, latitude: float | None, longitude: float | None) -> None:
    """Warn of a place that changes nothing."""
    if weather is not None and latitude is not None:
        top.warn("latitude is not used: the weather file states its own place.")
    if weather is not None and longitude is not None:
        top.warn("longitude is not used: the weather file states its own place.")
    elif longitude is not None:
        top.warn("longitude is not used: the hours of monthly means are those of the sun.")


def _monthly(top: Table) -> MonthlyClimate | None:
    """`monthly` and `sun_hours`; None when there are no monthly means."""
    rows = top.pairs(
        "monthly",
        ("temperature", "temperature_difference"),
        limits=((COLDEST_K, HOTTEST_K), (0.0, 50.0)),
    )
    sun_s = top.quantity_list("sun_hours", "duration", low=0.0, high=SECONDS_PER_DAY / 2.0)
    if top.has("sun_hours") and len(sun_s) != len(ALL_MONTHS):
        top.problem("sun_hours", f"{len(sun_s)} usable entries", "12 entries", "Give one a month.")
    if not top.has("monthly"):
        if sun_s:
            top.problem(
                "sun_hours", "without monthly", "only beside monthly", "The weather file has the sun."
            )
        return None
    top.warn_if(other_scale("the warmest mean of monthly", max((row[0] for row in rows), default=0.0)))
    if len(rows) != len(ALL_MONTHS):
        fix = 'Give one row a month, January first, such as ["-10 degC", "10 delta_degC"].'
        top.problem("monthly", f"{len(rows)} usable rows", "12 rows of mean and daily swing", fix)
    mean_k, swing_k = tuple(row[0] for row in rows), tuple(row[1] for row in rows)
    return MonthlyClimate(mean_k, swing_k, sun_s or None)


def _window(table: Table) -> DayWindow:
    """`from`, `until` and `months` of one entry."""
    from_s = table.quantity("from", "duration", low=0.0, high=SECONDS_PER_DAY, required=True)
    until_s = table.quantity("until", "duration", low=0.0, high=SECONDS_PER_DAY, required=True)
    if from_s == until_s or (from_s == SECONDS_PER_DAY and until_s == 0.0):
        fix = 'For the whole day write from = "0 h" and until = "24 h".'
        table.problem("until", f"{until_s / SECONDS_PER_HOUR:g} h", "another hour than from", fix)
    months = tuple(int(month) for month in table.number_list("months", low=1, high=12, whole=True))
    if table.has("months") and not months:
        table.problem("months", "empty", "month numbers such as [11, 12, 1]", "Leave it out for the year.")
    return DayWindow(from_s, until_s, tuple(sorted(set(months))) or ALL_MONTHS)


def _heated(table: Table) -> HeatedHours:
    air_k = table.quantity("air", "temperature", low=COLDEST_K, high=HOTTEST_K, required=True)
    return HeatedHours(_window(table), air_k)


def _use(table: Table) -> SteadyUse:
    return SteadyUse(_window(table), table.quantity("current", "current", low=0.0, high=1e4, required=True))


def _heater(table: Table | None) -> Heater | None:
    if table is None:
        return None
    power_w = table.quantity("power", "power", above=0.0, high=1e4, required=True)
    target_k = table.quantity("target", "temperature", low=COLDEST_K, high=HOTTEST_K, required=True)
    off_k = table.quantity("off_above", "temperature", low=COLDEST_K, high=HOTTEST_K, default=target_k)
    if off_k < target_k:
        fix = "The heater goes on below target and off above off_above."
        table.problem("off_above", f"{off_k - ZERO_CELSIUS_K:g} degC", "target or warmer", fix)
    return Heater(power_w, target_k, off_k, table.choice("fed_by", HEATER_FEEDS, default="charger"))


def _storage(table: Table | None) -> StoragePlan:
    plan = StoragePlan()
    if table is None:
        return plan
    from_soc = table.quantity("from_charge", "fraction", low=0.0, high=1.0, default=plan.from_soc)
    to_soc = table.quantity("to_charge", "fraction", low=0.0, high=1.0, default=plan.to_soc)
    if from_soc < to_soc:
        table.problem(
            "to_charge", f"{100.0 * to_soc:g} %", "from_charge or less", "Storage runs down: swap the two."
        )
    parasite_a = table.quantity("parasite", "current", low=0.0, high=10.0, default=0.0)
    return StoragePlan(from_soc, to_soc, parasite_a, stated=True)


def _indoors(table: Table | None) -> Indoors:
    if table is None:
        return Indoors()
    air_k = table.quantity("air", "temperature", low=COLDEST_K, high=HOTTEST_K, required=True)
    humidity = table.quantity("humidity", "fraction", above=0.0, high=1.0, default=Indoors().humidity)
    return Indoors(air_k, humidity, stated=True)


def _charge(table: Table) -> ChargeSource:
    kind = table.choice("kind", CHARGE_KINDS, required=True)
    solar = kind == "solar"
    days = table.number("days_per_week", low=1, high=7, whole=True, default=7)
    current_a = table.quantity("current", "current", above=0.0, high=1e4)
    peak_power_w = table.quantity("peak_power", "power", above=0.0, high=1e6)
    tilt_rad = table.quantity("tilt", "angle", low=0.0, high=math.pi / 2.0, default=0.0)
    azimuth_rad = table.quantity("azimuth", "angle", low=0.0, high=2.0 * math.pi)
    controller_a = table.quantity("controller_current", "current", above=0.0, high=1e4)
    if solar and peak_power_w is None:
        table.problem("peak_power", "absent", "the panel's power", 'Write peak_power = "100 W".')
    if not solar and current_a is None:
        table.problem("current", "absent", "the charger's current", 'Write current = "10 A".')
    for key in ("current",) if solar else ("peak_power", "tilt", "azimuth", "controller_current"):
        if table.has(key):
            fix = (
                "Remove it; the panel's current comes from its power and the sun." if solar else "Remove it."
            )
            table.problem(key, "present", f"not with kind = {kind}", fix)
    return ChargeSource(
        kind=kind,
        window=_solar_window(table) if solar else _window(table),
        current_a=current_a,
        days_per_week=int(days),
        peak_power_w=peak_power_w,
        tilt_deg=math.degrees(tilt_rad),
        azimuth_deg=None if azimuth_rad is None else math.degrees(azimuth_rad),
        controller_current_a=controller_a,
    )


def _solar_window(table: Table) -> DayWindow:
    """A panel is there all day when no hours are given: the sun sets them."""
    if table.has("from") or table.has("until"):
        return _window(table)
    months = tuple(int(month) for month in table.number_list("months", low=1, high=12, whole=True))
    return DayWindow(0.0, SECONDS_PER_DAY, tuple(sorted(set(months))) or ALL_MONTHS)


def _check_sun(
    top: Table, charges: tuple[ChargeSource, ...], monthly: MonthlyClimate | None, latitude: float | None
) -> None:
    """A panel needs a sun: with monthly means that is `sun_hours` and `latitude`."""
    if monthly is None or all(charge.kind != "solar" for charge in charges):
        return
    if monthly.sun_s is None:
        fix = 'Add sun_hours = 12 mean full-sun hours a day, such as "2.5 h", or name a weather file.'
        top.problem("sun_hours", "absent", "12 durations, as a panel is charging", fix)
    if latitude is None:
        top.problem("latitude", "absent", "degrees, south negative", "Add latitude = 46.0 for your place.")
