"""Charts of charging through the year: month by month, and the worst fortnight with the thresholds drawn."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from planner.constants import ZERO_CELSIUS_K
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
from planner.explain.words import MONTHS, degrees, span_of
from planner.explain.year_course import FORTNIGHT_DAYS, YearCourse, day_name, worst_fortnight
from planner.winter.calendar_year import HOURS_PER_DAY

Floats = NDArray[np.float64]

HEIGHT = 250
TRACE_HEIGHT = 420  # five lines of legend take some 150 of it
SURE, PERHAPS, FREE = "blocked", "perhaps blocked", "charges"
KINDS, TINTS = (FREE, PERHAPS, SURE), (BLUE, ORANGE, VERMILION)
OPACITIES = (0.3, 0.6, 1.0)  # lightness tells them apart where colour does not


def months_figure(course: YearCourse) -> Figure:
    """Hours with a charger in each month: charging, perhaps blocked, blocked for certain [h]."""
    offered, blocked = course.given.offered_m[:, 0], course.given.blocked_m[:, :, 0]
    title = _months_finding(offered, blocked)
    frame = _month_parts(offered, blocked)
    words = "From the bottom of each bar: blocked whichever switching temperature is true, then blocked only with the "
    legend_text = words + "upper one, then charging. The whole bar is the time with a charger."
    alt = f"{title}. " + " ".join(
        f"{MONTHS[m]}: {span_of(blocked[0, m], blocked[1, m], 'hours')} of {offered[m]:,.0f}."
        for m in range(12)
        if offered[m] > 0.0
    )
    return Figure(
        "months",
        title,
        legend_text,
        alt,
        _months_table(course),
        whole(title, HEIGHT, [_bars()], {"parts": frame}),
    )


def _bars() -> Spec:
    """A bar a month, its parts one upon the other."""
    scale = {"domain": list(KINDS), "range": list(TINTS)}
    legend = {"orient": "bottom", "columns": 2, "labelLimit": 0, "symbolStrokeWidth": 0}
    names = [name[:3] for name in MONTHS]
    x = field(
        "month",
        None,
        "ordinal",
        sort=names,
        axis={"labelAngle": 0, "labelFontSize": 10, "labelPadding": 6, "labelOverlap": False, "ticks": False},
    )
    y = field("from", "Hours with a charger (h)", axis={"tickCount": 5, "minExtent": 34})
    tips = [
        told("name", "Month"),
        told("what", "Part"),
        told("hours", "Hours", ".0f"),
        told("text", "Blocked"),
    ]
    return layer(
        "parts",
        "bar",
        {"stroke": GREY, "strokeWidth": 0.8},
        x=x,
        y=y,
        y2={"field": "to"},
        color=field("what", None, "nominal", scale=scale, legend=legend),
        opacity=field(
            "what", None, "nominal", legend=None, scale={"domain": list(KINDS), "range": list(OPACITIES)}
        ),
        tooltip=tips,
    )


def _months_table(course: YearCourse) -> pd.DataFrame:
    offered, blocked = course.given.offered_m[:, 0], course.given.blocked_m[:, :, 0]
    return pd.DataFrame(
        {
            "Month": list(MONTHS),
            "Hours with a charger (h)": offered.round(1),
            "Blocked at least (h)": blocked[0].round(1),
            "Blocked at most (h)": blocked[1].round(1),
            "Charging while too cold, at least (h)": course.given.exposed_m[0, :, 0].round(1),
            "Charging while too cold, at most (h)": course.given.exposed_m[1, :, 0].round(1),
        }
    )


def _months_finding(offered: Floats, blocked: Floats) -> str:
    if not offered.any():
        return "Nothing charges the battery here"
    worst = int(np.argmax(blocked[1] + 1e-6 * blocked[0]))
    if blocked[1, worst] <= 0.0:
        return "In no month is charging blocked"
    hours = span_of(float(blocked[0, worst]), float(blocked[1, worst]), "hours")
    return f"{MONTHS[worst]} is the worst month: {hours} of {offered[worst]:,.0f} without charge"


def _month_parts(offered: Floats, blocked: Floats) -> pd.DataFrame:
    rows = []
    for month, name in enumerate(MONTHS):
        low, high, whole_h = float(blocked[0, month]), float(blocked[1, month]), float(offered[month])
        text = f"{span_of(low, high, 'hours')} of {whole_h:,.0f}"
        for what, start, end in ((SURE, 0.0, low), (PERHAPS, low, high), (FREE, high, whole_h)):
            if end > start:
                rows.append((name[:3], name, what, start, end, end - start, text))
    return pd.DataFrame(rows, columns=["month", "name", "what", "from", "to", "hours", "text"])


def fortnight_figure(course: YearCourse) -> Figure:
    """Battery inside and the air around it [degC] through the worst fortnight, thresholds drawn across."""
    first = worst_fortnight(course)
    hours = slice(first * HOURS_PER_DAY, (first + FORTNIGHT_DAYS) * HOURS_PER_DAY)
    cell_c = course.cell_k[hours] - ZERO_CELSIUS_K
    air_c = course.air_k[hours] - ZERO_CELSIUS_K
    lowest = float(cell_c.min()) + ZERO_CELSIUS_K
    span = f"{day_name(first)} to {day_name(first + FORTNIGHT_DAYS - 1)}"
    title = f"In the worst fortnight, {span}, the battery inside gets down to {degrees(lowest, 'down')}"
    data, levels = _fortnight_frames(course, hours, cell_c, air_c), _levels(course)
    day = np.arange(len(air_c)) / HOURS_PER_DAY
    x = field("day", "Days", axis={"tickCount": 7, "grid": False}, scale={"domain": [0.0, FORTNIGHT_DAYS]})
    y = field("cell", "Temperature (°C)", axis={"tickCount": 6, "minExtent": 34}, scale={"zero": False})
    layers = _fortnight_layers(x, y)
    if len(levels):
        data["levels"] = levels
        layers.append(_level_lines(y))
    layers.append(_pointer(x))
    levels_text = " ".join(f"{row.what}: {row.value:.1f} °C." for row in levels.itertuples())
    legend = (
        "Full line: battery inside. Dotted line: air around it. Tinted: hours with a charger. "
        + _without(course)
    )
    alt = (
        f"{title}. {levels_text} The air gets down to {degrees(float(air_c.min()) + ZERO_CELSIUS_K, 'down')}."
    )
    table = pd.DataFrame(
        {
            "Day and hour": data["course"]["when"],
            "Day of the fortnight": day.round(3),
            "Battery inside (°C)": cell_c[:, 1].round(2),
            "Air around it (°C)": air_c.round(2),
            "Charging": data["course"]["state"],
        }
    )
    return Figure("fortnight", title, legend, alt, table, whole(title, TRACE_HEIGHT, layers, data))


def _fortnight_frames(
    course: YearCourse, hours: slice, cell_c: Floats, air_c: Floats
) -> dict[str, pd.DataFrame]:
    start = hours.start
    when = [f"{day_name((start + j) // HOURS_PER_DAY)}, {j % HOURS_PER_DAY}:00" for j in range(len(air_c))]
    frame = pd.DataFrame(
        {
            "day": (np.arange(len(air_c)) / HOURS_PER_DAY).round(4),
            "cell": cell_c[:, 1].round(2),
            "air": air_c.round(2),
            "when": when,
            "state": course.states()[hours],
        }
    )
    offered = course.offered[hours].astype(np.int8)
    turns = np.flatnonzero(np.diff(np.concatenate(([0], offered, [0]))))
    spans = pd.DataFrame({"day": turns[::2] / HOURS_PER_DAY, "until": turns[1::2] / HOURS_PER_DAY})
    return {"course": frame, "offered": spans.round(4)}


def _level_lines(y: Spec) -> Spec:
    """A line across at each threshold."""
    words = [told("what", "Line"), told("value", "At (°C)", ".1f")]
    dash = field(
        "what",
        None,
        "nominal",
        legend={
            "orient": "bottom",
            "columns": 1,
            "labelLimit": 0,
            "symbolType": "stroke",
            "symbolSize": 300,
            "symbolStrokeWidth": 2,
        },
    )
    return layer(
        "levels",
        "rule",
        {"color": VERMILION, "strokeWidth": 1.5},
        y=y | {"field": "value"},
        strokeDash=dash,
        tooltip=words,
    )


def _pointer(x: Spec) -> Spec:
    """What is told of an hour the pointer is on."""
    return layer(
        "course",
        "rule",
        {"opacity": 0.0, "strokeWidth": 3},
        x=x,
        tooltip=[
            told("when", "When"),
            told("cell", "Battery inside (°C)", ".1f"),
            told("air", "Air around it (°C)", ".1f"),
            told("state", "Charging"),
        ],
    )


def _fortnight_layers(x: Spec, y: Spec) -> list[Spec]:
    return [
        layer("offered", "rect", {"color": GREEN, "opacity": 0.18}, x=x, x2={"field": "until"}),
        layer(
            "course",
            "line",
            {"color": GREY, "strokeWidth": 1.3, "strokeDash": [2, 2]},
            x=x,
            y=y | {"field": "air"},
        ),
        layer("course", "line", {"color": BLUE, "strokeWidth": 2}, x=x, y=y),
    ]


def _levels(course: YearCourse) -> pd.DataFrame:
    """The thresholds that are a number, and the limit below which charging does harm [degC]."""
    gates = course.gates
    named = [
        ("charging blocked below, at least", gates.low.block_k),
        ("charging blocked below, at most", gates.high.block_k),
        ("takes charge again, at the earliest", gates.low.resume_k),
        ("takes charge again, at the latest", gates.high.resume_k),
        ("too cold to charge below", course.charge_min_k),
    ]
    rows = [(what, round(kelvin - ZERO_CELSIUS_K, 2)) for what, kelvin in named if math.isfinite(kelvin)]
    return pd.DataFrame(rows, columns=["what", "value"])


def _without(course: YearCourse) -> str:
    if math.isfinite(course.gates.low.block_k):
        return ""
    return (
        "With the lower switching temperature nothing was shown to block it at all, so that line is missing."
    )
