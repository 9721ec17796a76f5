"""Quantities typed by people, to SI floats and back. The only module that knows pint.

pint never sees a user's number or expression: its parser turns "12,5 V" into 125 V and "5 C" into
coulombs, and works for hours on "9**9**9 W". Here a bounded pattern splits number and unit, float()
reads the number, and the unit is looked up in a short list. Factors that SI defines outright stand
in that list; those of other units are asked of pint once, on first use, because importing pint and
building its registry costs about 0.6 s (measured), which a file written in SI units need not pay.
"""

from __future__ import annotations

import functools
import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from planner.constants import ZERO_CELSIUS_K
from planner.unit_list import EXAMPLE, LIKELY, UNITS_OF

if TYPE_CHECKING:
    from collections.abc import Iterable

KINDS = tuple(UNITS_OF)
LONGEST_TEXT = 40  # characters; a quantity is a number and a unit, not a document
_LONGEST_NUMBER_DIGITS = "at most 9 digits before the point and 17 after it"

_NUMBER = r"[+-]?[0-9]{1,9}(?:\.[0-9]{1,17})?(?:[eE][+-]?[0-9]{1,2})?"
_QUANTITY = re.compile(rf"({_NUMBER})\s{{0,4}}([^\s0-9+.,-]\S{{0,11}})")
_BARE_NUMBER = re.compile(_NUMBER)
_LONG_NUMBER = re.compile(r"[+-]?[0-9.]+(?:[eE][+-]?[0-9]+)?\s*\S{0,12}")
_NO_LEADING_ZERO = re.compile(r"([+-]?)(\.[0-9]{1,17})\s{0,4}([^\s0-9.,+-]\S{0,11})?")
_WITH_COMMA = re.compile(r"([+-]?)([0-9][0-9.,]{0,30})\s{0,4}([^\s0-9.,+-]\S{0,11})?")
_DECIMAL_COMMA = re.compile(r"(?:[0-9]{1,9}|[0-9]{1,3}(?:\.[0-9]{3}){1,2}),[0-9]{1,9}")
_THOUSANDS_COMMA = re.compile(r"[1-9][0-9]{0,2}(?:,[0-9]{3}){1,2}(?:\.[0-9]{1,9})?")
_GROUPED = re.compile(r"([+-]?[0-9]{1,3}(?:[ '\u2019_][0-9]{3}){1,3}(?:\.[0-9]{1,9})?)\s{0,4}(\S{0,12})")
_CLOCK = re.compile(r"([0-9]{1,3}):([0-5][0-9])(?::([0-5][0-9]))?(?:\s*(?:h|hours?|min|s|sec))?")
_DEGREES = re.compile(rf"({_NUMBER})\s{{0,4}}([CF])")
# kinds that may be written in several parts, and how
_IN_PARTS = {
    "duration": "hours, minutes, seconds in this order",
    "mass": "the larger unit first, such as 13 lb 11 oz",
    "length": "the larger unit first, such as 5 ft 6 in",
}
_SAME_LOOKING = str.maketrans(
    {
        "\u2212": "-",
        "\u00a0": " ",
        "\u202f": " ",
        "\u2009": " ",
        "\u2126": "Ω",
        "\u03bc": "µ",
        "℃": "°C",
        "℉": "°F",
    }
)


class UnitError(ValueError):
    """A text is not a usable quantity.

    value : the text as typed, shortened to 40 characters.
    allowed : what is accepted.
    fix : how to mend it.
    """

    def __init__(self, value: str, allowed: str, fix: str) -> None:
        self.value = value
        self.allowed = allowed
        self.fix = fix
        super().__init__(f"{value!r}; accepted: {allowed}. {fix}")


@dataclass(frozen=True, slots=True)
class _Unit:
    """One spelling of a unit. factor None: pint knows it under `pint_name`. offset_k: zero of the scale."""

    kind: str
    pint_name: str
    factor: float | None
    offset_k: float | None = 0.0


def to_si(text: str, kind: str) -> float:
    """The quantity as typed, in SI.

    text : number and unit, such as "12.5 V", "-2 degC", "2 %"; a duration, a mass and a length may have several
        parts falling in size ("5 h 10 min", "13 lb 11 oz"); an area may be a gauge ("AWG 4"); C and F are degrees
        where a temperature is wanted.
    kind : what is wanted, one of KINDS.
    Returns a finite float in the SI unit of the kind (kelvin for temperatures, fraction for per cent,
    A s for charge, J for energy).
    Raises UnitError when the text is anything else, saying what was probably meant.
    """
    clean = _cleaned(text, kind)
    if kind == "area" and "AWG" in clean.upper():
        return _gauge_area_m2(text, clean)
    parts = _parts(clean) if kind in _IN_PARTS else None
    if parts is not None:
        return _summed(text, kind, parts)
    if kind == "duration" and (clock := _CLOCK.fullmatch(clean)):
        raise UnitError(_short(text), accepted_form(kind), _without_colon(clock))
    match = _QUANTITY.fullmatch(clean)
    if match is None:
        raise _not_a_quantity(text, clean, kind)
    return _finite(text, kind, _number_to_si(float(match[1]), _unit_of_kind(text, match[1], match[2], kind)))


def split_quantity(text: str, kind: str | None = None) -> tuple[float, str]:
    """Number and unit of a quantity as typed: "12.5 V" -> (12.5, "V"). Raises UnitError.

    kind : where it is known, by which "20 C" is (20.0, "degC").
    """
    clean = _cleaned(text, kind)
    match = _QUANTITY.fullmatch(clean)
    if match is None or match[2] not in _UNITS:
        raise UnitError(
            _short(text), 'a number and a unit, such as "12.5 V"', "Write the unit after the number."
        )
    return float(match[1]), match[2]


def from_si(value: float, unit: str) -> float:
    """An SI value in `unit`, any spelling `to_si` accepts. Raises UnitError for an unknown unit."""
    found = _UNITS.get(unit)
    if found is None:
        raise UnitError(_short(unit), "a unit such as A, V, Ah, min, degC", "Write one of these units.")
    factor, offset = _scale(found)
    if _divides(factor):
        return (value - offset) * round(1.0 / factor)
    return (value - offset) / factor


def accepted_units(kind: str) -> tuple[str, ...]:
    """The units accepted for a kind, the usual one first, each in its first spelling only."""
    first_spellings = {name: spelling for spelling, (name, _) in reversed(UNITS_OF[kind].items())}
    spellings = tuple(spelling for spelling in UNITS_OF[kind] if spelling in first_spellings.values())
    return spellings + (("K",) if kind == "temperature_difference" else ())


def example(kind: str) -> str:
    """How a quantity of this kind is written, for messages."""
    return EXAMPLE[kind]


def _cleaned(text: str, kind: str | None) -> str:
    """The text with look-alike characters replaced; UnitError when it cannot be a quantity at all."""
    clean = text[: LONGEST_TEXT + 1].translate(_SAME_LOOKING).strip()
    if len(text) > LONGEST_TEXT:
        raise UnitError(_short(text), f"at most {LONGEST_TEXT} characters", _write(kind))
    if kind == "temperature":  # nobody means coulomb or farad there
        return _DEGREES.sub(r"\1 deg\2", clean) if _DEGREES.fullmatch(clean) else clean
    return clean


def _short(text: str) -> str:
    return text if len(text) <= LONGEST_TEXT else text[:LONGEST_TEXT] + "…"


def accepted_form(kind: str) -> str:
    """What is accepted for a kind, in words, for messages."""
    units = ", ".join(accepted_units(kind))
    return (
        f"a gauge such as AWG 4, or a number and one of {units}"
        if kind == "area"
        else f"a number and one of {units}"
    )


def _write(kind: str | None) -> str:
    return f'Write a number and a unit, such as "{EXAMPLE[kind or "voltage"]}".'


def _unit_of_kind(text: str, number: str, unit: str, kind: str) -> _Unit:
    """The unit as looked up; UnitError naming the likely reading when it is not one of the kind."""
    if unit in UNITS_OF[kind]:
        return _UNITS[unit]
    if unit == "K" and kind == "temperature_difference":
        return _KELVIN_DIFFERENCE
    likely = LIKELY.get((kind, unit))
    if likely is None:
        same = [known for known in UNITS_OF[kind] if known.casefold() == unit.casefold()]
        if same:
            likely = f'Write "{number} {same[0]}": capitals matter.'
        elif unit in _UNITS:
            likely = f"{unit} is a unit of {_UNITS[unit].kind.replace('_', ' ')}. {_write(kind)}"
        else:
            likely = f"The unit {unit!r} is not known here. {_write(kind)}"
    raise UnitError(_short(text), accepted_form(kind), likely.replace("{n}", number))


def unit_missing(number: float, written: str, kind: str) -> str:
    """How to mend a number without a unit; a fraction of one is told in per cent, as it is nearly always meant."""
    if kind == "fraction" and 0.0 < abs(number) <= 1.0:
        return f'Per cent is wanted: write "{100.0 * number:g} %" if {written} is meant as a fraction.'
    return f'The unit is missing: write "{written} {accepted_units(kind)[0]}" if that is meant.'


def _not_a_quantity(text: str, clean: str, kind: str) -> UnitError:
    """Why the text is no quantity, with the text that would be one where that can be told."""
    fix = _write(kind)
    if "," in clean:
        fix = _without_comma(clean, kind)
    elif grouped := _GROUPED.fullmatch(clean):
        joined = re.sub(r"[ '\u2019_]", "", grouped[1])
        fix = f'Write the number in one piece: "{joined} {grouped[2] or accepted_units(kind)[0]}".'
    elif _BARE_NUMBER.fullmatch(clean):
        if kind == "area":
            fix = f'It might be AWG or mm^2: write "AWG {clean}" or "{clean} mm^2".'
        else:
            fix = unit_missing(float(clean), clean, kind)
    elif clean.upper().startswith("SAE"):
        fix = 'SAE wire has less copper than AWG of the same number: write its area, such as "25 mm^2".'
    elif clean.casefold() in {"", "n/a", "na", "not tested", "none", "unknown", "-", "?"}:
        fix = "Leave the key out when it was not measured: absent means unknown, never zero."
    elif pointed := _NO_LEADING_ZERO.fullmatch(clean):
        unit = pointed[3] or accepted_units(kind)[0]
        fix = f'Write the zero before the point: "{pointed[1]}0{pointed[2]} {unit}".'
    elif _LONG_NUMBER.fullmatch(clean):
        fix = f"A number has {_LONGEST_NUMBER_DIGITS}. {_write(kind)}"
    return UnitError(_short(text), accepted_form(kind), fix)


def _without_comma(clean: str, kind: str) -> str:
    """How to mend a text with a comma: every number it can stand for, written with a point or in one piece."""
    match = _WITH_COMMA.fullmatch(clean)
    sign, digits, unit = (match[1], match[2], match[3]) if match else ("", "", None)
    decimal = thousands = None
    if _DECIMAL_COMMA.fullmatch(digits):
        decimal = sign + digits.replace(".", "").replace(",", ".")
    if _THOUSANDS_COMMA.fullmatch(digits):
        thousands = sign + digits.replace(",", "")
    if decimal is None and thousands is None:
        return f"A number is written without comma. {_write(kind)}"
    if unit is None and kind == "fraction" and decimal is not None and thousands is None:
        return f"A decimal comma is not accepted. {unit_missing(float(decimal), decimal, kind)}"
    unit = unit or accepted_units(kind)[0]
    if decimal is None:
        return f'If the comma groups thousands, write "{thousands} {unit}".'
    grouped = "" if thousands is None else f' or, if the comma groups thousands, "{thousands} {unit}"'
    return f'A decimal comma is not accepted: write "{decimal} {unit}"{grouped}.'


def _without_colon(clock: re.Match[str]) -> str:
    """How to mend "5:07", which is hours and minutes to one and minutes and seconds to another."""
    first, second = int(clock[1]), int(clock[2])
    if clock[3] is not None:
        return f'Write "{first} h {second} min {int(clock[3])} s".'
    return f'Write "{first} h {second} min" or "{first} min {second} s", whichever is meant.'


def _parts(clean: str) -> list[tuple[str, str]] | None:
    """Parts of "5 h 10 min" as (number, unit) texts; None when the text is not of that form."""
    matches = list(re.finditer(rf"({_NUMBER})\s{{0,4}}([^\W\d_]{{1,8}})(?:\s+|$)", clean))
    if not 2 <= len(matches) <= 4 or "".join(match[0] for match in matches) != clean:
        return None
    return [(match[1], match[2]) for match in matches]


def _summed(text: str, kind: str, parts: Iterable[tuple[str, str]]) -> float:
    """Sum of the parts in SI; each is smaller in unit than the one before and none is negative."""
    total, smallest = 0.0, math.inf
    for number, unit in parts:
        factor = _scale(_unit_of_kind(text, number, unit, kind))[0]
        if factor >= smallest or number.startswith(("-", "+")):
            raise UnitError(_short(text), _IN_PARTS[kind], _write(kind))
        total, smallest = total + float(number) * factor, factor
    return _finite(text, kind, total)


def _gauge_area_m2(text: str, clean: str) -> float:
    match = re.fullmatch(r"(?:AWG\s{0,4})?([0-9]{1,2}|0{1,4}|[1-4]/0)(?:\s{0,4}AWG)?", clean, re.IGNORECASE)
    if match is None or clean.upper().count("AWG") != 1:
        raise UnitError(_short(text), "AWG 36 to AWG 4/0, or an area in mm^2", 'Write "AWG 4" or "AWG 2/0".')
    size = match[1]
    if "/" in size:
        number = 1 - int(size[0])
    elif set(size) == {"0"}:
        number = 1 - len(size)
    else:
        number = int(size)
    if number > 36:
        raise UnitError(_short(text), "AWG 36 to AWG 4/0, or an area in mm^2", "Write the area in mm^2.")
    diameter_m: float = 0.127e-3 * 92.0 ** ((36 - number) / 39)  # ASTM B258
    return math.pi / 4.0 * diameter_m**2


def _number_to_si(number: float, unit: _Unit) -> float:
    factor, offset = _scale(unit)
    if _divides(factor):
        # 11 mA is 0.011 A exactly as typed only when divided by 1000; times 1e-3 leaves a stray digit.
        return number / round(1.0 / factor) + offset
    return number * factor + offset


def _divides(factor: float) -> bool:
    return factor < 1.0 and (1.0 / factor).is_integer()


def _finite(text: str, kind: str, value: float) -> float:
    if not math.isfinite(value):
        raise UnitError(_short(text), accepted_form(kind), _write(kind))
    return value


def _scale(unit: _Unit) -> tuple[float, float]:
    """(factor, offset) of a unit: SI value = number x factor + offset."""
    if unit.factor is not None and unit.offset_k is not None:
        return unit.factor, unit.offset_k
    return _scale_from_pint(unit.pint_name)


@functools.cache
def _scale_from_pint(name: str) -> tuple[float, float]:
    """(factor, offset) of a unit that is not a plain SI one, from pint's registry, asked once a unit."""
    registry = _registry()
    zero = float(registry.Quantity(0.0, name).to_base_units().magnitude)
    if name == "degF":
        # The slope taken as a difference of two temperatures would lose four digits.
        return float(registry.Quantity(1.0, "delta_degF").to_base_units().magnitude), zero
    return float(registry.Quantity(1.0, name).to_base_units().magnitude), zero


@functools.cache
def _registry() -> Any:
    import pint  # here, not above: see the module's docstring

    return pint.UnitRegistry()


def _all_units() -> dict[str, _Unit]:
    offsets: dict[str, float | None] = {"degC": ZERO_CELSIUS_K, "degF": None}
    return {
        spelling: _Unit(kind, name, factor, offsets.get(name, 0.0))
        for kind, spellings in UNITS_OF.items()
        for spelling, (name, factor) in spellings.items()
    }


_UNITS = _all_units()
_KELVIN_DIFFERENCE = _Unit("temperature_difference", "kelvin", 1.0)
