"""Several batteries on one outing: how long each lasts, and the table beside it."""

from __future__ import annotations

from typing import Any

import pandas as pd

from planner.explain.chain_table import ZONES
from planner.explain.chart_look import BLUE, VERMILION, Figure, Spec, field, layer, told, whole
from planner.explain.compare_answer import compare_json, order_told
from planner.explain.next_test_sentences import CHECK_NAMES
from planner.explain.words import chance, hours_at_least
from planner.verdict.compare import Comparison

ROW_PX = 44
# a name is parted at its first comma and each line cut by itself, so that a long one keeps its size in view; rows are
# kept by the whole name, as two names may begin alike
ON_TWO_LINES = (
    "indexof(datum.label, ', ') < 0 ? truncate(datum.label, 22) : [truncate(split(datum.label, ', ')[0], 22), "
    "truncate(substring(datum.label, indexof(datum.label, ', ') + 2, 200), 22)]"
)
MARKS = {"fits": "square", "fits with limits": "diamond", "not proven": "circle", "does not fit": "cross"}
TIPS = [
    told("battery", "Battery"),
    told("verdict", "Verdict"),
    told("low", "At least, nine in ten (h)", ".1f"),
    told("middle", "Middle (h)", ".1f"),
    told("high", "At most, nine in ten (h)", ".1f"),
]


def compare_table(found: Comparison) -> pd.DataFrame:
    """A row a battery, best first, with the numbers of the command's JSON."""
    rows: list[dict[str, Any]] = compare_json(found)["rows"]
    return pd.DataFrame(
        {
            "Battery": [row["battery"] for row in rows],
            "Verdict": [row["verdict"] for row in rows],
            "Decided by": [CHECK_NAMES.get(row["decided_by"] or "", "") for row in rows],
            "At least, in nine of ten (h)": [hours_at_least(row["p10_h"]) for row in rows],
            "Middle (h)": _column(rows, "nominal_h", 1),
            "Measured (Ah)": _column(rows, "charge_Ah", 1),
            "Measured (Wh)": _column(rows, "energy_Wh", 0),
            "Weight (kg)": _column(rows, "mass_kg", 1),
            "Price": _column(rows, "price", 2),
            "Currency": [row["currency"] or "" for row in rows],
            "Price per measured Wh": _column(rows, "price_per_Wh", 2),
            "Price per Wh this outing gets": _column(rows, "price_per_delivered_Wh", 2),
            "Highest current held": [ZONES[row["peak_zone"]] for row in rows],
            "Charging hours lost to cold": _column(rows, "lost_winter_hours", 0),
            "Outlasts the first": [_beside_first(row, rows[0]) for row in rows],
            "Nowhere better than": [", ".join(row["dominated_by"]) for row in rows],
        }
    )


def _column(rows: list[dict[str, Any]], key: str, digits: int) -> list[float | None]:
    """One number of every row to so many decimals."""
    return [None if row[key] is None else round(float(row[key]), digits) for row in rows]


def _beside_first(row: dict[str, Any], first: dict[str, Any]) -> str:
    """How likely a row's battery outlasts the first row's; nothing for the first itself."""
    if row is first:
        return ""
    place = first["outlasts"][[other["battery"] for other in first["outlasts"]].index(row["battery"])]
    return chance(1.0 - float(place["probability"]))


def compare_figure(found: Comparison) -> Figure:
    """Runtime of each battery [h], nine in ten at least to nine in ten at most, beside what is needed."""
    best, table = found.best, compare_table(found)
    title = f"{best.name} comes first" if best else "None of these is shown to fit"
    need = found.outing.duration_s / 3600.0
    rows: list[dict[str, Any]] = compare_json(found)["rows"]
    frame = _times(rows)
    legend = f"Mark: the middle. Bar: eight of ten outings. Dashed: the {need:.3g} h you need."
    legend += f" A missing mark lasts beyond 10,000 h. {order_told(found)}"
    alt = f"{title}. " + " ".join(f"{row['battery']}: {row['verdict']}." for row in rows)
    data = {"times": frame, "need": pd.DataFrame({"need": [need]})}
    return Figure(
        "compare", title, legend, alt, table, whole(title, 110 + ROW_PX * len(frame), _layers(frame), data)
    )


def _times(rows: list[dict[str, Any]]) -> pd.DataFrame:
    """What the chart draws of each battery [h]."""
    return pd.DataFrame(
        [
            {
                "battery": row["battery"],
                "low": row["p10_h"],
                "middle": row["nominal_h"],
                "high": row["p90_h"],
                "verdict": row["verdict"],
            }
            for row in rows
        ]
    )


def _layers(frame: pd.DataFrame) -> list[Spec]:
    """A bar from least to most, a mark of the verdict at the middle, and the line of what is needed."""
    order = frame["battery"].tolist()
    axis = {"labelLimit": 175, "labelExpr": ON_TWO_LINES, "ticks": False}
    y = field("battery", None, "nominal", sort=order, axis=axis)
    x = field("low", "Lasts (h)", scale={"zero": True}, axis={"tickCount": 5})
    bar = {"color": BLUE, "strokeWidth": 5, "opacity": 0.5}
    mark = {"color": BLUE, "filled": True, "size": 130, "opacity": 1.0}
    legend = {"orient": "bottom", "columns": 1, "labelLimit": 0}  # two would be cut beside the names on a phone
    shapes = {"domain": list(MARKS), "range": list(MARKS.values())}
    shape, middle = field("verdict", None, "nominal", scale=shapes, legend=legend), x | {"field": "middle"}
    needed = {"color": VERMILION, "strokeDash": [6, 4], "strokeWidth": 1.5}
    return [
        layer("times", "rule", bar, x=x, x2={"field": "high"}, y=y, tooltip=TIPS),
        layer("times", "point", mark, x=middle, y=y, shape=shape, tooltip=TIPS),
        layer("need", "rule", needed, x=x | {"field": "need"}, tooltip=[told("need", "Needed (h)", ".1f")]),
    ]
