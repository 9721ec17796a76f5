"""A bench log as a chart: voltage and current over time, steps marked; and the claims as a table."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pandas as pd

from planner.explain.audit_answer import AGREES
from planner.explain.chart_look import (
    BLUE,
    GREY,
    VERMILION,
    Figure,
    Spec,
    field,
    layer,
    time_unit,
    told,
    whole,
)
from planner.explain.claim_names import claim_name
from planner.explain.words import counted
from planner.record.log_ending import UNTIL
from planner.record.log_summary import LogSummary

HEIGHT, MOST_POINTS, MOST_MARKS = 260, 1200, 200


def log_figure(summary: LogSummary) -> Figure:
    """Voltage [V] over time with the sudden changes of current marked."""
    time_s, volts, amps, _ = summary.outline
    pick = np.unique(np.linspace(0, len(time_s) - 1, MOST_POINTS).astype(np.intp))
    scale, unit = time_unit(summary.duration_s)
    frame = pd.DataFrame({"t": time_s[pick] / scale, "volts": volts[pick], "amps": amps[pick]}).round(4)
    steps = pd.DataFrame(
        [
            (s.start_s / scale, s.first_v, f"{s.from_a:.1f} A to {s.to_a:.1f} A")
            for s in summary.steps[:MOST_MARKS]
        ],
        columns=["t", "volts", "what"],
    ).round(4)
    until = " in all; no discharge found" if summary.ending is None else f" until {UNTIL[summary.ending.kind]}"
    title = (
        f"{summary.discharge.charge_c / 3600.0:.1f} Ah came out{until}; "
        f"{counted(summary.step_count, 'steps')} of current found"
    )
    table = frame.rename(columns={"t": f"Time ({unit})", "volts": "Voltage (V)", "amps": "Current (A)"})
    alt = f"{title}. Voltage from {np.nanmax(volts):.2f} V down to {np.nanmin(volts):.2f} V."
    legend = "Line: voltage. Diamond on a dashed line: the current changed suddenly there."
    return Figure(
        "log", title, legend, alt, table, whole(title, HEIGHT, _layers(unit), {"log": frame, "steps": steps})
    )


def _layers(unit: str) -> list[Spec]:
    """The voltage, the sudden changes of current on it, and what the pointer tells."""
    x = field("t", f"Time from the start ({unit})", axis={"grid": False, "tickCount": 6})
    y = field("volts", "Voltage (V)", scale={"zero": False}, axis={"tickCount": 5, "minExtent": 34})
    tips = [
        told("t", f"After ({unit})", ".2f"),
        told("volts", "Voltage (V)", ".3f"),
        told("amps", "Current (A)", ".2f"),
    ]
    return [
        layer("log", "line", {"color": BLUE, "strokeWidth": 2}, x=x, y=y),
        layer("steps", "rule", {"color": GREY, "strokeDash": [4, 3]}, x=x, tooltip=[told("what", "Step")]),
        layer(
            "steps",
            "point",
            {"color": VERMILION, "shape": "diamond", "size": 90, "filled": True},
            x=x,
            y=y,
            tooltip=[told("what", "Step"), told("t", f"After ({unit})", ".2f")],
        ),
        layer("log", "rule", {"opacity": 0.0, "strokeWidth": 5}, x=x, tooltip=tips),
    ]


def claims_table(audit: dict[str, Any]) -> pd.DataFrame:
    """Claim beside measurement, from the audit's JSON object."""
    claims = audit["claims"]
    return pd.DataFrame(
        {
            "Claim": [claim_name(claim["key"], claim["duration_s"]) for claim in claims],
            "Claimed": [_told(claim["claimed"]) for claim in claims],
            "Measured": [_measured(claim) for claim in claims],
            "Difference (%)": [_difference(claim) for claim in claims],
            "Verdict": [AGREES[claim["agrees"]] if claim["measured"] else "not tested" for claim in claims],
        }
    )


def _measured(claim: dict[str, Any]) -> str:
    """The reading, to the digit in which its expanded uncertainty begins."""
    found, u = claim["measured"], claim["expanded_uncertainty"]
    if found is None or not u:
        return _told(found)
    return f"{found['value']:.{_decimals(u)}f} {found['unit'].replace('degC', '°C')}"


def _difference(claim: dict[str, Any]) -> float | None:
    found, u = claim["difference_percent"], claim["expanded_uncertainty"]
    if found is None:
        return None
    return float(round(found, min(1, _decimals(100.0 * u / claim["claimed"]["value"])) if u else 1))


def _decimals(uncertainty: float) -> int:
    return max(0, -math.floor(math.log10(uncertainty)))


def _told(found: dict[str, Any] | None) -> str:
    return "–" if found is None else f"{found['value']:.4g} {found['unit'].replace('degC', '°C')}"
