"""Several batteries on several outings: an object, a page of text, a table and a chart with the same numbers."""

from __future__ import annotations

from typing import Any

import pandas as pd

from planner.explain.answer import runtime_json
from planner.explain.chart_look import (
    BLUE,
    GREEN,
    GREY,
    ORANGE,
    VERMILION,
    Figure,
    Spec,
    field,
    layer,
    told,
    whole,
)
from planner.explain.compare_answer import compare_json, comparison_warnings, outlasting
from planner.explain.layout import Page
from planner.explain.next_test_sentences import CHECK_NAMES
from planner.explain.words import hours_at_least
from planner.verdict.compare import Choice
from planner.verdict.compare_across import Across, Matrix

COLOURS = {"fits": GREEN, "fits with limits": BLUE, "not proven": ORANGE, "does not fit": VERMILION}
SIGNS = {"fits": "✓", "fits with limits": "✓ with limits", "not proven": "?", "does not fit": "✗"}
ROW_PX, SHORT, WIDE = 40, 22, 26


def across_json(found: Matrix) -> dict[str, Any]:
    """What `compare --also` adds: every outing's comparison, and each battery over all of them."""
    best = found.best
    return {
        "best": best.name if best else None,
        "outings": [compare_json(one) for one in found.comparisons],
        "batteries": [_battery(found, one) for one in found.batteries],
    }


def _battery(found: Matrix, one: Across) -> dict[str, Any]:
    return {
        "battery": one.name,
        "worst_verdict": one.worst,
        "outings_fitted": one.good,
        "dominated_by": list(one.dominated_by),
        "each": [
            {"outing": outing.outing.name, "verdict": choice.answer.verdict,
             "p10_h": runtime_json(choice.answer)["p10_h"], "needed_h": outing.outing.duration_s / 3600.0,
             "decided_by": _decided_by(choice)}
            for outing, choice in zip(found.comparisons, one.choices, strict=True)
        ],
    }  # fmt: skip


def _decided_by(choice: Choice) -> str | None:
    return choice.answer.deciding[0].id if choice.answer.deciding else None


def across_text(found: Matrix) -> str:
    """The table for reading, the best over all outings first; then what is beaten, and which lasts longer on each."""
    page, best, count = Page(), found.best, len(found.comparisons)
    head = (
        f"BEST for all {count} outings: {best.name}"
        if best
        else f"NONE of these is shown to fit all {count} outings."
    )
    page.title(head, [f"Outing {place}: {one.outing.name}" for place, one in enumerate(found.comparisons, 1)])
    for place, one in enumerate(found.comparisons, 1):
        needed = one.outing.duration_s / 3600.0
        page.part(f"Outing {place}, {needed:.3g} h", [_line(battery, place - 1) for battery in found.batteries],
                  wrap=False)  # fmt: skip
    page.part("Beaten on every outing", [
        f"{one.name}: on no outing better, and somewhere worse, than {', '.join(one.dominated_by)}."
        for one in found.batteries if one.dominated_by
    ])  # fmt: skip
    for place, one in enumerate(found.comparisons, 1):
        page.part(f"Which one lasts longer on outing {place}", outlasting(one))
    page.part("Beside this answer", shared_warnings(found))
    return page.text()


def shared_warnings(found: Matrix) -> list[str]:
    """What weakens the answer to every outing alike, and where the rest is told."""
    each = [comparison_warnings(one) for one in found.comparisons]
    shared = [text for text in each[0] if all(text in others for others in each[1:])]
    own = [text for text in shared if not any(text.startswith(one.name) for one in found.batteries)]
    return [*own, "What else weakens the answer to one outing stands beside its own comparison."]


def _line(one: Across, place: int) -> str:
    choice = one.choices[place]
    p10, decides = runtime_json(choice.answer)["p10_h"], _decided_by(choice)
    name = one.name if len(one.name) < WIDE else one.name[: WIDE - 4] + "..."
    lasts = "-" if p10 is None else f"{p10:.2f} h"
    why = "" if decides is None else CHECK_NAMES.get(decides, decides)
    return f"{name:<{WIDE}}{choice.answer.verdict:<17}{lasts:>9}  {why}"


def across_table(found: Matrix) -> pd.DataFrame:
    """A row for each battery on each outing, the best battery first."""
    rows = [(one, row) for one in found.batteries for row in _battery(found, one)["each"]]
    return pd.DataFrame(
        {
            "Battery": [one.name for one, _ in rows],
            "Outing": [row["outing"] for _, row in rows],
            "Verdict": [row["verdict"] for _, row in rows],
            "Decided by": [CHECK_NAMES.get(row["decided_by"] or "", "") for _, row in rows],
            "At least, in nine of ten (h)": [hours_at_least(row["p10_h"]) for _, row in rows],
            "Needed (h)": [round(row["needed_h"], 1) for _, row in rows],
            "Nowhere better than, over all": [", ".join(one.dominated_by) for one, _ in rows],
        }
    )


def across_figure(found: Matrix) -> Figure:
    """A square for each battery on each outing: its verdict, and how many times the needed time it lasts."""
    best, table = found.best, across_table(found)
    title = (
        f"{best.name} fits all {len(found.comparisons)} outings"
        if best
        else "None of these is shown to fit them all"
    )
    frame = pd.DataFrame(
        [
            {"battery": _short(one.name), "name": one.name, "outing": _short(row["outing"]), "long": row["outing"],
             "verdict": row["verdict"], "sign": SIGNS[row["verdict"]], "p10": row["p10_h"], "need": row["needed_h"],
             "share": None if row["p10_h"] is None else min(row["p10_h"] / row["needed_h"], 99.0)}
            for one in found.batteries for row in _battery(found, one)["each"]
        ]
    )  # fmt: skip
    legend = "Each square: the verdict, and how many times the outing's own length the battery lasts in nine of ten."
    alt = f"{title}. " + " ".join(
        f"{row['name']} on {row['long']}: {row['verdict']}." for row in frame.to_dict("records")
    )
    return Figure("across", title, legend, alt, table,
                  whole(title, 90 + ROW_PX * len(found.batteries), _layers(frame), {"cells": frame}))  # fmt: skip


def _layers(frame: pd.DataFrame) -> list[Spec]:
    y = field("battery", None, "nominal", sort=list(dict.fromkeys(frame["battery"])),
              axis={"labelLimit": 175, "labelExpr": "split(datum.label, ', ')", "ticks": False})  # fmt: skip
    x = field("outing", None, "nominal", sort=list(dict.fromkeys(frame["outing"])),
              axis={"orient": "top", "labelAngle": 0, "labelLimit": 150, "ticks": False})  # fmt: skip
    colour = field("verdict", None, "nominal", scale={"domain": list(COLOURS), "range": list(COLOURS.values())},
                   legend={"orient": "bottom", "columns": 2, "labelLimit": 0})  # fmt: skip
    tips = [
        told("name", "Battery"), told("long", "Outing"), told("verdict", "Verdict"),
        told("p10", "At least, nine in ten (h)", ".2f"), told("need", "Needed (h)", ".2f"),
    ]  # fmt: skip
    look = {"stroke": GREY, "fillOpacity": 0.25, "strokeWidth": 1}
    return [
        layer("cells", "rect", look, x=x, y=y, color=colour, tooltip=tips),
        layer("cells", "text", {"dy": -7}, x=x, y=y, text=field("sign", None, "nominal")),
        layer("cells", "text", {"dy": 8}, x=x, y=y, text=field("share", None, "quantitative", format=".2~f")),
    ]  # fmt: skip


def _short(name: str) -> str:
    return name if len(name) <= SHORT else name[:SHORT] + "…"
