"""The units that numbers are shown in, and every number changed into them: one place for pages, charts and sheet.

Answers are made in degrees Celsius, metres, kilograms and the cable's size as entered, as the files and the JSON
have them. What is shown is rewritten at the last moment, so no number underneath changes.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from planner import units
from planner.explain.chart_look import Figure
from planner.install.conductor import STANDARD_AWG, awg_area_m2, awg_name

if TYPE_CHECKING:
    import pandas as pd

CHOICES: dict[str, tuple[str, ...]] = {
    "temperature": ("°C", "°F"),
    "length": ("m", "ft"),
    "distance": ("km", "mi", "nmi"),
    "mass": ("kg", "lb"),
    "conductor": ("as entered", "mm²", "AWG"),
}
LONGEST_CURRENCY = 8
CM_PER_INCH = 2.54  # exact
CURRENCY = re.compile(r"[^\W\d_]{1,8}|[€£¥$]")  # short, as it stands in heads, and no digit to be read with a price


@dataclass(frozen=True, slots=True)
class ShownUnits:
    """One unit for each kind of quantity, out of CHOICES. currency : told where a record states none."""

    temperature: str = "°C"
    length: str = "m"
    distance: str = "km"
    mass: str = "kg"
    conductor: str = "as entered"
    currency: str = ""


AS_MADE = ShownUnits()
US = ShownUnits("°F", "ft", "mi", "lb", "AWG")

_NUMBER = r"[-−]?\d[\d,]*(?:\.\d+)?"
_BEFORE = r"(?<![\w.,])"  # not inside a word or a longer number
_PAIR = rf"{_BEFORE}({_NUMBER})(?:(\s(?:to|and|or)\s|\s?–\s?)({_NUMBER}))?"
_TEMPERATURE = re.compile(rf"{_PAIR}(\s*)(?:°C|degC)\b")
_DIFFERENCE = re.compile(rf"{_PAIR}(\s+)K\b")
_SPEED = re.compile(rf"{_PAIR}(\s+)km/h\b")
_MEASURES = re.compile(rf"{_PAIR}(\s+)(km|kg|m)\b(?!/)")
_CENTIMETRES = re.compile(rf"{_PAIR}(\s+)cm\b")
_FORCE = re.compile(rf"{_PAIR}(\s+)N\b(?![·*])")
_AREA = re.compile(rf"{_BEFORE}({_NUMBER})\s*(?:mm²|mm\^2|mm2)")
_GAUGE = re.compile(r"\bAWG ([1-4]/0|\d{1,2})\b")
_HEAD = re.compile(r"\((°C|kg|km|m)\)")
_BARE_C = re.compile(r"\(°C\)")


def in_units(text: str, shown: ShownUnits) -> str:
    """A text of ours with every temperature, length, weight, speed and cable size in the units shown."""
    text = text.replace(" degC", " °C")  # as files write it
    if shown == AS_MADE:
        return text
    if shown.temperature == "°F":
        text = _TEMPERATURE.sub(lambda m: _pair(m, _fahrenheit, "°F"), text)
        text = _DIFFERENCE.sub(lambda m: _pair(m, lambda x, _: _short(1.8 * x), "°F"), text)
    if shown.length == "ft":
        text = _CENTIMETRES.sub(lambda m: _pair(m, lambda x, _: _short(x / CM_PER_INCH), "in"), text)
    if shown.mass == "lb":
        text = _FORCE.sub(lambda m: _pair(m, lambda x, _: _short(units.from_si(x, "lbf")), "lbf"), text)
    text = _MEASURES.sub(lambda m: _measure(m, shown), text)
    if shown.distance != "km":
        speed = "kn" if shown.distance == "nmi" else "mph"
        text = _SPEED.sub(lambda m: _pair(m, lambda x, _: _short(units.from_si(x / 3.6, speed)), speed), text)
    if shown.conductor == "AWG":
        return _AREA.sub(lambda m: _as_gauge(_value(m[1]) * 1e-6), text)
    if shown.conductor == "mm²":
        return _GAUGE.sub(lambda m: f"{_short(units.to_si(m[0], 'area') * 1e6)} mm²", text)
    return text


def table_in_units(table: pd.DataFrame, shown: ShownUnits) -> pd.DataFrame:
    """A table of ours, units in its heads, in the units shown."""
    if shown == AS_MADE:
        return table
    import pandas as pd

    # a head over a price that a record states in its own currency must not call it another
    stated = "Currency" not in table or bool(set(table["Currency"]) - {"", shown.currency})
    shown_heads = replace(shown, currency="") if stated else shown
    heads = {}
    columns: dict[str, Any] = {}
    for name in table.columns:
        head, change = _head(str(name), shown_heads)
        heads[name] = head
        column = table[name]
        if change is not None and pd.api.types.is_numeric_dtype(column):
            columns[head] = column.map(lambda x, change=change: x if x != x else round(change(x), 3))
        else:
            columns[head] = column.map(lambda x: in_units(x, shown) if isinstance(x, str) else x)
    found = pd.DataFrame(columns, index=table.index)
    if shown.currency and "Currency" in found:
        found["Currency"] = found["Currency"].replace("", shown.currency)
    return found


def figure_in_units(figure: Figure, shown: ShownUnits) -> Figure:
    """A chart, its words and its table in the units shown."""
    if shown == AS_MADE:
        return figure
    fahrenheit = _fields_in_celsius(figure.made) if shown.temperature == "°F" else set()
    return replace(
        figure,
        title=in_units(figure.title, shown),
        legend=in_units(figure.legend, shown),
        alt=in_units(figure.alt, shown),
        numbers=table_in_units(figure.table, shown),
        made=_spec(figure.spec, shown, fahrenheit),
    )


def in_other_units(text: str, kind: str) -> str:
    """A typed quantity in another usual unit: "8 h" gives "480 min"; empty for what is no quantity."""
    try:
        value = units.to_si(text, kind)
    except units.UnitError:
        return ""
    if kind == "area":
        return f"{value * 1e6:.3g} mm²" if "AWG" in text.upper() else _gauge_only(value)
    if kind == "duration":
        return _other_time(text, value)
    others = _OTHERS.get(kind, ())
    if kind == "length" and not SHORT_M < abs(value) < LONG_M:
        others = ("km", "mi", "nmi") if abs(value) >= LONG_M else ("cm", "in")
    typed = text.strip().lstrip("+-0123456789.eE ")
    same = _SAME.get(typed, typed)
    return ", ".join(
        f"{_grouped(units.from_si(value, unit))} {_SAID.get(unit, unit)}" for unit in others if unit != same
    )


_OTHERS: dict[str, tuple[str, ...]] = {
    "temperature": ("°C", "°F"),
    "temperature_difference": ("delta_degC", "delta_degF"),
    "length": ("m", "ft"),
    "mass": ("kg", "lb"),
    "speed": ("km/h", "mph", "kn"),
    "force": ("N", "lbf"),
    "energy": ("Wh",),
    "charge": ("Ah",),
    "current": ("A",),
    "power": ("W",),
    "voltage": ("V",),
    "resistance": ("mohm",),
}
_SAID = {"delta_degC": "°C apart", "delta_degF": "°F apart", "mohm": "mΩ"}
_SAME = {"degC": "°C", "C": "°C", "degF": "°F", "F": "°F", "mΩ": "mohm", "milliohm": "mohm", "mOhm": "mohm"}
SHORT_M = 0.3  # up to here one is told in centimetres and inches
SHORT_S, DAY_S = 60.0, 86400.0  # a shorter time is told in seconds alone, a longer one in days
_IN_SECONDS = re.compile(r"[\d\s]s(?:ec)?\s*$")
LONG_M = 1000.0  # from here on a length is told in kilometres and miles


def _gauge_only(area_m2: float) -> str:
    found = _as_gauge(area_m2)
    return found.partition(" (")[2].rstrip(")") or found


def _other_time(text: str, value_s: float) -> str:
    """Hours for minutes and seconds, minutes for hours, days for many of them, seconds for less than a minute."""
    if value_s < SHORT_S:
        # "0.01667 min" helps nobody to see what 1 s is
        return "" if value_s == 0.0 or _IN_SECONDS.search(text) else _grouped(value_s) + " s"
    minutes = _grouped(value_s / 60.0) + " min"
    if "h" in text and "min" not in text:
        return _grouped(value_s / DAY_S) + " d" if value_s >= DAY_S else minutes
    if value_s >= 600.0:
        return _grouped(round(value_s / 3600.0, 3)) + " h"
    return minutes if "min" not in text else _grouped(value_s) + " s"


def _pair(match: re.Match[str], change: Callable[[float, int], str], unit: str) -> str:
    """One number, or two joined by a word, in another unit."""
    first = change(_value(match[1]), _digits(match[1]))
    second = "" if match[3] is None else match[2] + change(_value(match[3]), _digits(match[3]))
    return f"{first}{second}{match[4]}{unit}"


def _measure(match: re.Match[str], shown: ShownUnits) -> str:
    old = match[5]
    new = {"km": shown.distance, "m": shown.length, "kg": shown.mass}[old]
    return match[0] if new == old else _pair(match, lambda x, _: _short(_changed(x, old, new)), new)


def _changed(value: float, old: str, new: str) -> float:
    kind = "mass" if old == "kg" else "length"
    return units.from_si(units.to_si(f"{value:.9f} {old}", kind), new)


def _fahrenheit(celsius: float, digits: int) -> str:
    """As many decimals as the degrees Celsius have; a whole degree Fahrenheit is finer than one of those."""
    shown = f"{1.8 * celsius + 32.0:.{digits}f}"
    return shown.lstrip("-") if float(shown) == 0.0 else shown


def _as_gauge(area_m2: float) -> str:
    """A gauge for an area that is one; else the area between the two gauges, so that none is called thicker."""
    thinner = [number for number in STANDARD_AWG if awg_area_m2(number) <= area_m2 * 1.005]
    thicker = [number for number in STANDARD_AWG if awg_area_m2(number) > area_m2 * 1.005]
    if thinner and abs(awg_area_m2(min(thinner)) / area_m2 - 1.0) < 0.005:
        return awg_name(min(thinner))
    size = f"{area_m2 * 1e6:.3g} mm²"
    if not thinner:
        return f"{size} (thinner than {awg_name(max(thicker))})"
    if not thicker:
        return f"{size} (thicker than {awg_name(min(thinner))})"
    return f"{size} (between {awg_name(min(thinner))} and {awg_name(max(thicker))})"


def _head(name: str, shown: ShownUnits) -> tuple[str, Callable[[float], float] | None]:
    """A column's head in the units shown, and what changes its numbers."""
    if shown.currency and name.startswith("Price"):
        return f"{name} ({shown.currency})" if name == "Price" else f"{name}, {shown.currency}", None
    match = _HEAD.search(name)
    if match is None:
        return name, None
    old = match[1]
    new = {"°C": shown.temperature, "kg": shown.mass, "km": shown.distance, "m": shown.length}[old]
    if new == old:
        return name, None
    head = name.replace(match[0], f"({new})")
    if old == "°C":
        return head, lambda celsius: 1.8 * celsius + 32.0
    return head, lambda value: _changed(value, old, new)


def _fields_in_celsius(part: Any) -> set[str]:
    """Fields of a chart whose axis or tooltip says that they are temperatures."""
    if isinstance(part, list):
        return set().union(*(_fields_in_celsius(inner) for inner in part))
    if not isinstance(part, dict):
        return set()
    found = set().union(*(_fields_in_celsius(inner) for key, inner in part.items() if key != "datasets"))
    if isinstance(part.get("title"), str) and _BARE_C.search(part["title"]) and "field" in part:
        found.add(part["field"])
    return found


def _spec(part: Any, shown: ShownUnits, fahrenheit: set[str], in_data: bool = False) -> Any:
    if isinstance(part, list):
        return [_spec(inner, shown, fahrenheit, in_data) for inner in part]
    if isinstance(part, dict):
        return {
            key: 1.8 * inner + 32.0
            if in_data and key in fahrenheit and isinstance(inner, int | float)
            else inner
            if key == "field"
            else _spec(inner, shown, fahrenheit, in_data or key == "datasets")
            for key, inner in part.items()
        }
    if isinstance(part, str):
        return in_units(_BARE_C.sub(f"({shown.temperature})", part), shown)
    return part


def _value(text: str) -> float:
    return float(text.replace("−", "-").replace(",", ""))


def _digits(text: str) -> int:
    return len(text.partition(".")[2])


def _short(number: float) -> str:
    """Three figures, whole numbers from a hundred on."""
    return f"{number:,.0f}" if abs(number) >= 100.0 else f"{number:.3g}"


def _grouped(number: float) -> str:
    return f"{number:,.0f}" if abs(number) >= 1000.0 else f"{number:.4g}"
