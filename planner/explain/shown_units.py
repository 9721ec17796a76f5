"""The units that numbers are shown in, and every number changed into them: one function for pages, charts and sheet.

Answers are made in degrees Celsius, metres, kilograms and square millimetres, as the files and the JSON have them.
What is shown is rewritten at the last moment, so no number underneath changes.
"""

from __future__ import annotations

from planner import units
from planner.install.conductor import STANDARD_AWG, awg_area_m2, awg_name

_OTHERS: dict[str, tuple[str, ...]] = {
    "temperature": ("°C", "°F"),
    "temperature_difference": ("delta_degC", "delta_degF"),
    "length": ("m", "ft"),
    "mass": ("kg", "lb"),
    "speed": ("km/h", "mph", "kn"),
    "energy": ("Wh",),
    "charge": ("Ah",),
    "current": ("A",),
    "power": ("W",),
    "voltage": ("V",),
    "resistance": ("mohm",),
    "force": ("N", "lbf"),
}
_SAID = {"delta_degC": "°C apart", "delta_degF": "°F apart"}
LONG_M = 1000.0  # from here on a length is told in kilometres and miles


def in_other_units(text: str, kind: str) -> str:
    """A typed quantity in the other usual units: "8 h" gives "480 min, 28,800 s"; empty for what is no quantity."""
    try:
        value = units.to_si(text, kind)
    except units.UnitError:
        return ""
    if kind == "area":
        return f"{value * 1e6:.3g} mm²" if "AWG" in text.upper() else f"{_nearest_gauge(value)}"
    if kind == "duration":
        return _other_time(text, value)
    others = ("km", "mi", "nmi") if kind == "length" and abs(value) >= LONG_M else _OTHERS.get(kind, ())
    typed = text.strip().split()[-1] if " " in text.strip() else text
    same = {"degC": "°C", "degF": "°F"}.get(typed, typed)
    shown = [
        _plain(units.from_si(value, unit)) + " " + _SAID.get(unit, unit) for unit in others if unit != same
    ]
    return ", ".join(shown[:2])


def _other_time(text: str, value_s: float) -> str:
    """Hours for minutes and seconds, minutes for hours."""
    if value_s == 0.0:
        return ""
    minutes = _plain(value_s / 60.0) + " min"
    if "h" in text and "min" not in text:
        return minutes
    return (
        _plain(value_s / 3600.0) + " h"
        if value_s >= 600.0
        else minutes
        if "min" not in text
        else _plain(value_s) + " s"
    )


def _plain(number: float) -> str:
    return f"{number:,.0f}" if abs(number) >= 1000.0 else f"{number:.4g}"


def _nearest_gauge(area_m2: float) -> str:
    """The thickest gauge of the table that is no thicker: a cable is never called thicker than it is."""
    within = [number for number in STANDARD_AWG if awg_area_m2(number) <= area_m2 * 1.0001]
    return f"at least {awg_name(min(within))}" if within else ""
