"""The year as the JSON section `winter`: plain numbers, each named with its unit."""

from __future__ import annotations

from typing import Any

from planner.constants import COULOMB_PER_AH, JOULE_PER_WH, ZERO_CELSIUS_K
from planner.winter.judge import months_by_need
from planner.winter.outlook import Outlook
from planner.winter.year import Array, YearTotals

PERCENTILES = (10, 50, 90)


def as_json(outlook: Outlook) -> dict[str, Any]:
    """Everything of the section but verdict, checks and warnings.

    The numbers are those of the year as given; `years` holds P10, P50 and P90 of each quantity over the
    drawn years, None when none were drawn.
    """
    section = _numbers(outlook.given)
    section["months"] = [_month(outlook.given, month) for month in range(12)]
    section["months_without_change"] = list(months_by_need(outlook.given)[1])
    section["years"] = _years(outlook.drawn)
    return section


def _years(drawn: YearTotals | None) -> dict[str, Any] | None:
    if drawn is None:
        return None
    found: dict[str, Any] = {"draws": drawn.years}
    for share in PERCENTILES:
        found[f"p{share}"] = _numbers(drawn.percentile(share))
    return found


def _numbers(totals: YearTotals) -> dict[str, Any]:
    """The yearly quantities of the first column."""
    return {
        "hours_offered": _plain(totals.hours_offered[0]),
        "hours_blocked": _ends(totals.hours_blocked),
        "charge_lost_Ah": _ends(totals.charge_lost_c, COULOMB_PER_AH),
        "charge_missed_Ah": _ends(totals.charge_missed_c, COULOMB_PER_AH),
        "unserved_Ah": _ends(totals.unserved_c, COULOMB_PER_AH),
        "exposed_hours": _ends(totals.exposed_hours),
        "coldest_cell_degC": float(totals.coldest_cell_k[0]) - ZERO_CELSIUS_K,
        "days_dark": _ends(totals.days_dark),
        "hours_hot": None if totals.hours_hot is None else _plain(totals.hours_hot[0]),
        "heater_Wh": _ends(totals.heater_j, JOULE_PER_WH),
    }


def _month(totals: YearTotals, month: int) -> dict[str, Any]:
    return {
        "hours_offered": _plain(totals.offered_m[month, 0]),
        "hours_blocked": _ends(totals.blocked_m[:, month]),
        "charge_lost_Ah": _ends(totals.lost_c_m[:, month], COULOMB_PER_AH),
        "exposed_hours": _ends(totals.exposed_m[:, month]),
    }


def _ends(values: Array, unit: float | None = None) -> dict[str, float]:
    """{low, high} of the first column; divided by a unit it is a float, else a count."""
    if unit is not None:
        return {"low": float(values[0, 0]) / unit, "high": float(values[1, 0]) / unit}
    return {"low": _plain(values[0, 0]), "high": _plain(values[1, 0])}


def _plain(count: float) -> float:
    """A count as an int; a percentile of counts may lie between two."""
    value = float(count)
    return int(value) if value.is_integer() else value
