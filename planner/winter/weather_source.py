"""The weather a climate speaks of."""

from __future__ import annotations

from planner.errors import InputRefused, Problem
from planner.winter.monthly import weather_from_months
from planner.winter.schema import Climate
from planner.winter.weather import Weather
from planner.winter.weather_file import read_weather


def load_weather(climate: Climate) -> Weather:
    """The climate's weather file, or its monthly means made into hours.

    Raises InputRefused when the file cannot be used, or has no sun although a panel is charging.
    """
    if climate.monthly is not None:
        return weather_from_months(climate.monthly, climate.latitude_deg)
    if climate.weather is None:
        raise ValueError("a climate has a weather file or monthly means")
    weather = read_weather(climate.weather)
    if weather.sun is None and any(charge.kind == "solar" for charge in climate.charges):
        allowed = "a file with direct and diffuse irradiance, as a panel is charging"
        fix = "Use another weather file, or remove the solar source."
        raise InputRefused([Problem(weather.source, "irradiance", "missing", allowed, fix)])
    return weather
