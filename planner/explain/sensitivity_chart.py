"""Bars of how far each input moves the runtime, the longest on top."""

from __future__ import annotations

from typing import Any

from planner.constants import SECONDS_PER_HOUR
from planner.explain.chart_look import BLUE, GREY, ORANGE, VERMILION, Figure, field, layer, told, whole
from planner.explain.sensitivity_answer import SMALL_H, in_short, sensitivity_json, sentence_of_most
from planner.verdict.sensitivity import Sensitivity

ROW_PX, MOST_ROWS, LONGEST_LABEL = 30, 10, 26
MOVES, STAYS, OPEN = "another verdict at one end", "the same verdict at both ends", "verdict not judged"


def _numbers(found: Sensitivity) -> dict[str, list[Any]]:
    """A row an input, largest swing first, with the numbers of the command's JSON."""
    rows: list[dict[str, Any]] = sensitivity_json(found)["inputs"]

    def rounded(name: str) -> list[float | None]:
        return [None if row[name] is None else round(row[name], 3) for row in rows]

    return {
        "Input": [row["name"] for row in rows],
        "Known by": [row["evidence"] for row in rows],
        "Lasts at its low end (h)": rounded("runtime_low_h"),
        "Lasts at its high end (h)": rounded("runtime_high_h"),
        "Swing (h)": rounded("swing_h"),
        "Verdict at its low end": [row["verdict_low"] or "not judged" for row in rows],
        "Verdict at its high end": [row["verdict_high"] or "not judged" for row in rows],
        "Share of the spread": rounded("variance_share"),
    }


def sensitivity_figure(found: Sensitivity) -> Figure:
    """Runtime [h] at both ends of the inputs that move it most, beside the centre's and what is needed."""
    shown = [one for one in found.swings if SMALL_H * SECONDS_PER_HOUR <= one.swing_s < float("inf")][
        :MOST_ROWS
    ]
    swings = {
        "input": [_label(in_short(one.input)) for one in shown],
        "low": [min(one.runtime_s) / SECONDS_PER_HOUR for one in shown],
        "high": [max(one.runtime_s) / SECONDS_PER_HOUR for one in shown],
        "effect": [OPEN if one.verdicts is None else MOVES if found.moves(one) else STAYS for one in shown],
    }
    lines = {"need": [found.base.runtime.needed_s / SECONDS_PER_HOUR]}
    colour = {"domain": [MOVES, STAYS, OPEN], "range": [VERMILION, BLUE, ORANGE]}
    y = field("input", None, "nominal", sort=swings["input"], axis={"labelLimit": 190, "ticks": False})
    x = field("low", "Lasts (h)", scale={"zero": False}, axis={"tickCount": 5})
    tips = [told("input", "Input"), told("low", "At least (h)", ".2f"), told("high", "At most (h)", ".2f"),
            told("effect", "Effect")]  # fmt: skip
    layers = [
        layer("swings", "bar", {"height": 14}, x=x, x2={"field": "high"}, y=y, tooltip=tips,
              color=field("effect", None, "nominal", scale=colour,
                          legend={"orient": "bottom", "columns": 1, "labelLimit": 0})),
        layer("need", "rule", {"color": GREY, "strokeDash": [6, 4], "strokeWidth": 1.5},
              x=x | {"field": "need"}, tooltip=[told("need", "Needed (h)", ".2f")]),
    ]  # fmt: skip
    title = "What moves the time it lasts" if shown else "Nothing here moves the time it lasts"
    legend = "Bar: from the low to the high end of that input alone. Dashed: what you need."
    alt = f"{title}. {sentence_of_most(found)}"
    spec = whole(title, 110 + ROW_PX * len(shown), layers, {"swings": swings, "need": lines})
    return Figure("sensitivity", title, legend, alt, _numbers(found), spec)


def _label(text: str) -> str:
    return text if len(text) <= LONGEST_LABEL else text[:LONGEST_LABEL].rstrip() + "…"
