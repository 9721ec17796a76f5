"""Numbers of the verdict room as JSON: units in the names, nothing that is not finite."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from planner.battery.current_evidence import Pass, Trip
from planner.constants import COULOMB_PER_AH, JOULE_PER_WH, SECONDS_PER_HOUR, ZERO_CELSIUS_K
from planner.explain.sentences import sentence
from planner.verdict.check import Amount, Check, Told

NONE = "–"  # where there is no number
LONGEST_HOURS = 10_000.0  # beyond it a runtime is not stated

# SI suffix of a part's name -> (suffix in JSON, divisor, offset)
_SUFFIXES = {
    "_c": ("_Ah", COULOMB_PER_AH, 0.0),
    "_a": ("_A", 1.0, 0.0),
    "_v": ("_V", 1.0, 0.0),
    "_k": ("_degC", 1.0, ZERO_CELSIUS_K),
    "_s": ("_s", 1.0, 0.0),
}
_UNITS = {
    "Ah": (COULOMB_PER_AH, 0.0),
    "Wh": (JOULE_PER_WH, 0.0),
    "A": (1.0, 0.0),
    "V": (1.0, 0.0),
    "K": (1.0, 0.0),
    "h": (SECONDS_PER_HOUR, 0.0),
    "degC": (1.0, ZERO_CELSIUS_K),
}


def finite(value: float | None) -> float | None:
    """The number, or None where JSON has no word for it."""
    return None if value is None or not math.isfinite(value) else float(value)


def hours(duration_s: float | None) -> float | None:
    """Hours; None beyond 10,000."""
    if duration_s is None or not math.isfinite(duration_s) or duration_s > LONGEST_HOURS * SECONDS_PER_HOUR:
        return None
    return duration_s / SECONDS_PER_HOUR


def watt_hours(energy_j: float) -> float | None:
    """Watt-hours."""
    return finite(energy_j / JOULE_PER_WH)


def amount(found: Amount | None) -> dict[str, Any] | None:
    """{"value", "unit"} in the unit it is told in; None when there is no finite number."""
    if found is None or not math.isfinite(found.value_si):
        return None
    divisor, offset = _UNITS[found.unit]
    return {"value": (found.value_si - offset) / divisor, "unit": found.unit}


def check_json(check: Check) -> dict[str, Any]:
    """One check: the contract's keys, and beside them the figures its sentences are made of."""
    return {
        "id": check.id,
        "verdict": check.verdict,
        "evidence": check.evidence,
        "need": amount(check.need),
        "capability": amount(check.capability),
        "capability_centre": amount(check.capability_centre),
        "margin": amount(check.margin),
        "reason": sentence(check.reason),
        "limit": _said(check.limit),
        "settled_by": _said(check.settled_by),
        "figures": {
            key: value
            for told in (check.settled_by, check.limit, check.reason)
            if told is not None
            for key, value in figures(told.parts).items()
        },
    }


def _said(told: Told | None) -> str | None:
    return None if told is None else sentence(told)


def figures(parts: Mapping[str, Any]) -> dict[str, Any]:
    """The parts of a sentence under names that end in their unit."""
    found: dict[str, Any] = {}
    for name, value in parts.items():
        shown = _shown(name, value)
        if shown is not None:
            found.update(shown)
    return found


def _shown(name: str, value: Any) -> dict[str, Any] | None:
    """One part; None where it is told elsewhere in the answer (branches and losses of a bank)."""
    if isinstance(value, Pass | Trip):
        return {name: _entry(value)}
    if isinstance(value, bool | str) or value is None:
        return {name: value}
    if isinstance(value, Mapping):
        return {name: figures(value)}
    if isinstance(value, int | float):
        for suffix, (unit, divisor, offset) in _SUFFIXES.items():
            if name.endswith(suffix):
                number = finite(float(value))
                return {
                    name.removesuffix(suffix) + unit: None if number is None else (number - offset) / divisor
                }
        return {name: finite(float(value))}
    if isinstance(value, tuple):
        if all(isinstance(entry, Pass | Trip) for entry in value):
            return {name: [_entry(entry) for entry in value]}
        if all(isinstance(entry, str | int) for entry in value):
            return {name: list(value)}
    return None


def _entry(found: Pass | Trip) -> dict[str, Any]:
    """A test that shows or condemns, as it was read."""
    kind = found.kind if isinstance(found, Pass) else "trip"
    return {
        "test": found.source,
        "kind": kind,
        "current_A": found.current_a,
        "error_A": found.limit_a,
        "duration_s": found.duration_s,
    }


def number_text(found: Amount | None) -> str:
    """A number with its unit for the evidence, four digits."""
    return figure_text(amount(found))


def figure_text(told: Mapping[str, Any] | None) -> str:
    """The same of a number that is already in its unit."""
    if told is None:
        return NONE
    value = float(told["value"])
    text = f"{value:,.0f}" if abs(value) >= 1000.0 and math.isfinite(value) else f"{value:.4g}"
    return f"{text} {unit_sign(told['unit'])}"


def unit_sign(unit: str) -> str:
    """A unit as it is printed."""
    return "°C" if unit == "degC" else str(unit)
