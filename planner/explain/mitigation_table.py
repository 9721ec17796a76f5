"""What each change of place or equipment gains through the year, as tables and a sentence."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from planner.constants import JOULE_PER_WH
from planner.explain.words import MONTHS, month_names, rounded, span_of
from planner.winter.mitigation import VariantResult
from planner.winter.winter_json import PERCENTILES

if TYPE_CHECKING:
    import pandas as pd

NAMES = {
    "as_is": "As it is",
    "box": "An insulated box around it",
    "heater": "A fitted heater, run by the charger",
    "box_and_heater": "Box and heater",
    "indoors": "Brought indoors 3 h before charging",
    "larger_panel": "Twice the solar panel",
    "other_charger": "A charger of twice the current",
    "second_battery": "A second battery beside it",
}
LEAST_GAIN_H = 0.5  # less is nothing
WH_PER_KWH = 1000.0
LINE = 76


def mitigation_table(results: Sequence[VariantResult]) -> pd.DataFrame:
    """A row a change: hours gained, dark days saved, the heater's energy; least and most of both ends."""
    import pandas as pd

    rows = []
    for result in results:
        gained, saved = np.sort(result.open_hours_gained.sum(axis=1)), np.sort(result.dark_days_saved)
        rows.append(
            {
                "Change": NAMES[result.variant.id],
                "Hours gained, at least (h)": rounded(float(gained[0]), 1.0, "near"),
                "Hours gained, at most (h)": rounded(float(gained[1]), 1.0, "near"),
                "Dark days saved, at least": float(saved[0]),
                "Dark days saved, at most": float(saved[1]),
                "Heater (kWh a year)": round(float(result.heater_j.max()) / JOULE_PER_WH / WH_PER_KWH, 1),
            }
        )
    return pd.DataFrame(rows)


def mitigation_lines(results: Sequence[VariantResult]) -> list[str]:
    """A line a change for plain text, at most 78 columns, then which gains most."""
    lines = [f"{'':<36}{'hours gained':>13}{'dark days saved':>16}{'heater':>11}"]
    for result in results[1:]:
        gained, saved = result.open_hours_gained.sum(axis=1), result.dark_days_saved
        heat = float(result.heater_j.max()) / JOULE_PER_WH / WH_PER_KWH
        lines.append(
            f"{NAMES[result.variant.id]:<36}{_both(gained):>13}{_both(saved):>16}"
            f"{f'{heat:.1f} kWh' if heat else '-':>11}"
        )
    worse = any((result.open_hours_gained.sum(axis=1) < -LEAST_GAIN_H).any() for result in results)
    finding = f"{mitigation_sentence(results)}{' A minus means that it makes things worse.' if worse else ''}"
    return [*lines, *textwrap.wrap(finding, LINE)]


def _both(ends: npt.NDArray[np.float64]) -> str:
    low, high = sorted(int(rounded(float(end), 1.0, "near")) for end in ends)
    return f"{low:,} to {high:,}" if low != high else f"{low:,}"


def mitigation_json(results: Sequence[VariantResult]) -> list[dict[str, Any]]:
    """A change an object: medians of what it gains and costs, and its own spread over the drawn years."""
    return [
        {
            "id": result.variant.id,
            "hours_gained": _ends(result.open_hours_gained.sum(axis=1)),
            "hours_gained_by_month": [
                _ends(result.open_hours_gained[:, month]) for month in range(len(MONTHS))
            ],
            "dark_days_saved": _ends(result.dark_days_saved),
            "heater_kWh": _ends(result.heater_j / JOULE_PER_WH / WH_PER_KWH),
            "years": {
                f"p{share}": {
                    "hours_blocked": _ends(result.totals.percentile(share).hours_blocked[:, 0]),
                    "days_dark": _ends(result.totals.percentile(share).days_dark[:, 0]),
                }
                for share in PERCENTILES
            },
        }
        for result in results
    ]


def _ends(values: npt.NDArray[np.float64]) -> dict[str, float]:
    """The lower thresholds' end and the upper one's, in order of size."""
    low, high = sorted(float(value) for value in values)
    return {"low": low, "high": high}


def months_gained_table(results: Sequence[VariantResult]) -> pd.DataFrame:
    """Hours more in each month with the upper switching temperature [h], a row a change."""
    import pandas as pd

    rows = [
        {"Change": NAMES[result.variant.id]}
        | {
            f"{name[:3]} (h)": round(float(result.open_hours_gained[1, m]), 1)
            for m, name in enumerate(MONTHS)
        }
        for result in results[1:]
    ]
    return pd.DataFrame(rows)


def mitigation_sentence(results: Sequence[VariantResult]) -> str:
    """Which change gains most, and in which months."""
    best = max(results, key=lambda result: float(result.open_hours_gained.sum()))
    low, high = best.open_hours_gained.sum(axis=1)
    if max(low, high) < LEAST_GAIN_H:
        return "None of the usual changes gains hours of charging here."
    months = tuple(int(m) + 1 for m in np.flatnonzero(best.open_hours_gained.max(axis=0) >= LEAST_GAIN_H))
    name = NAMES[best.variant.id]
    hours = span_of(min(low, high), max(low, high), "hours")
    text = f"{name} gains most: {hours} of charging more in a middling year, in {month_names(months)}."
    return (
        text
        if best.heater_j.max() <= 0.0
        else text + " Use only a heater that was fitted and tested with the unit."
    )
