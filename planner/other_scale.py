"""A temperature that is far more usual in degrees Fahrenheit: told, never turned."""

from __future__ import annotations

import math

from planner import units
from planner.constants import ZERO_CELSIUS_K

# Air is seldom hotter anywhere, and batteries are seldom tested hotter (common practice, no source). The hottest air
# ever measured is 56.7 °C (World Meteorological Organization, from memory).
HOT_K = ZERO_CELSIUS_K + 45.0


def other_scale(key: str, kelvin: float) -> str | None:
    """A warning where air or cells are unusually hot, with what the same number is in degrees Fahrenheit."""
    if not (math.isfinite(kelvin) and kelvin > HOT_K):
        return None
    number = f"{kelvin - ZERO_CELSIUS_K:.4g}"
    meant = units.to_si(f"{number} degF", "temperature") - ZERO_CELSIUS_K
    return (
        f"{key} is {number} °C, which is unusually hot. If it was read in degrees Fahrenheit, write "
        f'"{number} degF": that is {meant:.2g} °C'
    )
