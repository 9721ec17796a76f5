"""How long every drawn run lasts, as bars: the spread behind "in nine outings of ten"."""

from __future__ import annotations

import numpy as np

from planner.constants import SECONDS_PER_HOUR
from planner.explain.chart_look import BLUE, GREY, VERMILION, Columns, Figure, Spec, field, layer, told, whole
from planner.explain.words import about_time
from planner.verdict.assess import Assessment

HEIGHT, BARS = 250, 24
LEAST_WIDTH_H = 1.0 / 60.0  # of a bar, where all runs end alike
DRAWN_AS = "Time it lasts"


def runtime_figure(assessment: Assessment) -> Figure:
    """Runs counted by how long they last [h], beside what is needed and what nine in ten reach."""
    run, batch = assessment.runtime, assessment.batch
    lasts_h = batch.runtime_s()[batch.draws] / SECONDS_PER_HOUR
    ended = lasts_h[np.isfinite(lasts_h)]
    beyond, needed_h = len(lasts_h) - len(ended), run.needed_s / SECONDS_PER_HOUR
    title = _finding(lasts_h >= needed_h, run.needed_s)
    columns = _counted(ended)
    legend = "Bars: runs by how long they last. Dashed: what you need."
    if beyond:
        legend += f" {beyond:,} of {len(lasts_h):,} runs last beyond 10,000 h and are not drawn."
    lines: dict[str, Columns] = {"runs": columns, "need": {"at": [needed_h]}}
    if np.isfinite(run.p10_s):
        lines["p10"] = {"at": [run.p10_s / SECONDS_PER_HOUR]}
        legend += " Dotted: nine runs in ten last longer."
    alt = f"{title}. {_spread(ended)}"
    numbers = {"Lasts from (h)": columns["from"], "to (h)": columns["to"], "Runs": columns["runs"]}
    return Figure("runtime", title, legend, alt, numbers, whole(title, HEIGHT, _layers("p10" in lines), lines))


def _finding(enough: np.ndarray, needed_s: float) -> str:
    need, reach, runs = about_time(needed_s, "up"), int(enough.sum()), len(enough)
    if reach == runs:
        return f"All {runs:,} runs last the {need} you need"
    if not reach:
        return f"None of {runs:,} runs lasts the {need} you need"
    return f"{reach:,} of {runs:,} runs last the {need} you need"


def _spread(ended_h: np.ndarray) -> str:
    if not len(ended_h):
        return "No run ends."
    low, high = (about_time(SECONDS_PER_HOUR * float(end), "near") for end in (ended_h.min(), ended_h.max()))
    return f"The shortest lasts {low}, the longest {high}."


def _counted(ended_h: np.ndarray) -> dict[str, list[float]]:
    """Edges of the bars [h] and how many runs end between them."""
    if not len(ended_h):
        return {"from": [], "to": [], "runs": []}
    low, high = float(ended_h.min()), float(ended_h.max())
    high = max(high, low + LEAST_WIDTH_H)
    runs, edges = np.histogram(ended_h, bins=BARS, range=(low, high))
    return {"from": edges[:-1].round(3).tolist(), "to": edges[1:].round(3).tolist(), "runs": runs.tolist()}


def _layers(has_p10: bool) -> list[Spec]:
    x = field("from", f"{DRAWN_AS} (h)", axis={"grid": False, "tickCount": 6}, scale={"zero": False, "nice": False})
    y = field("runs", "Runs", axis={"tickCount": 4, "tickMinStep": 1, "minExtent": 34})
    tips = [told("from", "Lasts from (h)", ".2f"), told("to", "to (h)", ".2f"), told("runs", "Runs", ".0f")]
    look, floor = {"color": BLUE, "opacity": 0.75}, {"datum": 0}  # without it the bars are but dashes
    bars = layer("runs", "rect", look, x=x, x2={"field": "to"}, y=y, y2=floor, tooltip=tips)
    lines = [_line("need", "Needed (h)", VERMILION, [6, 4])]
    if has_p10:
        lines.append(_line("p10", "Nine in ten last longer (h)", GREY, [2, 3]))
    return [bars, *lines]


def _line(data: str, name: str, colour: str, dash: list[int]) -> Spec:
    look = {"color": colour, "strokeDash": dash, "strokeWidth": 2}
    return layer(data, "rule", look, x=field("at", f"{DRAWN_AS} (h)"), tooltip=[told("at", name, ".2f")])
