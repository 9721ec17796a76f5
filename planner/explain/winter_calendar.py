"""The calendar of charging: every day across, every hour upward, what becomes of a charge then."""

from __future__ import annotations

import itertools

import numpy as np
import pandas as pd

from planner.explain.chart_look import (
    BLUE,
    ORANGE,
    PURPLE,
    VERMILION,
    Figure,
    Spec,
    field,
    layer,
    told,
    whole,
)
from planner.explain.words import MONTHS, counted, span_of
from planner.explain.year_course import BLOCKED, CHARGES, EXPOSED, NONE, PERHAPS, YearCourse, day_name
from planner.winter.calendar_year import DAYS, HOURS_PER_DAY, MONTH_FIRST_DAY, MONTH_OF_HOUR

HEIGHT = 300
STATES, TINTS = (CHARGES, PERHAPS, BLOCKED, EXPOSED), (BLUE, ORANGE, VERMILION, PURPLE)
WIDTHS = (0.35, 0.7, 1.0, 1.0)  # of a day, so that the states differ in shape as well
TIPS = [
    told("date", "Day"),
    told("what", "Charging"),
    told("from", "From hour", ".0f"),
    told("to", "Until hour", ".0f"),
]


def calendar_figure(course: YearCourse) -> Figure:
    """Day by hour: charging, perhaps blocked, blocked, or charging while too cold."""
    states = course.states()
    runs = _runs(states.reshape(DAYS, HOURS_PER_DAY))
    counts = {state: int((states == state).sum()) for state in STATES}
    title = _finding(course, counts)
    cells = _cells([state for state in STATES if counts[state]])
    told_counts = ", ".join(f"{state} {counted(hours, 'hours')}" for state, hours in counts.items())
    alt = f"{title}. In the year: {told_counts}."
    legend = "Each day is a column from midnight to midnight; blank where there is no charger."
    legend += " Full columns: blocked. Thin ones: charges."
    return Figure(
        "calendar", title, legend, alt, _table(states), whole(title, HEIGHT, [cells], {"runs": runs})
    )


def _cells(met: list[str]) -> Spec:
    """A rectangle a run of hours of one state. met : the states that occur, for the legend."""
    ends = {"domain": [0, DAYS]}
    middle = [int(day) for day in MONTH_FIRST_DAY]
    labels = "[" + ", ".join(f"'{name[:1]}'" for name in MONTHS) + "]"
    axis = {
        "values": middle,
        "grid": True,
        "labelAlign": "left",
        "labelFlush": False,
        "labelExpr": f"{labels}[indexof({middle}, datum.value)]",
    }
    x = field("day", "Month, from January to December", scale=ends, axis=axis)
    clock = {"values": [0, 6, 12, 18, 24], "minExtent": 34}
    y = field("from", "Hour of the day", scale={"domain": [0, 24]}, axis=clock)
    colour = field(
        "what",
        None,
        "nominal",
        scale={"domain": list(STATES), "range": list(TINTS)},
        legend={
            "orient": "bottom",
            "columns": 1,
            "labelLimit": 0,
            "symbolType": "square",
            "values": met,
        },
    )
    return layer(
        "runs",
        "rect",
        {},
        x=x,
        x2={"field": "day_end"},
        y=y,
        y2={"field": "to"},
        color=colour,
        tooltip=TIPS,
    )


def _finding(course: YearCourse, counts: dict[str, int]) -> str:
    blocked = course.given.hours_blocked[:, 0]
    if not course.offered.any():
        return "There is no hour with a charger"
    if counts[EXPOSED]:
        return f"On the calendar {counted(counts[EXPOSED], 'hours')} may put charge into cells that are too cold"
    if blocked[1] <= 0.0:
        return "Every hour with a charger can charge"
    shut = (course.offered & ~course.is_open[:, 1]).reshape(DAYS, HOURS_PER_DAY).any(axis=1)
    hours = span_of(float(blocked[0]), float(blocked[1]), "hours")
    return f"Charging is blocked on up to {counted(int(shut.sum()), 'days')} of the year, {hours} together"


def _runs(states: np.ndarray) -> pd.DataFrame:
    """Hours of a day that are alike as one piece, so that the picture stays small."""
    rows: list[tuple[float, float, int, int, str, str]] = []
    for day in range(DAYS):
        today = states[day]
        cuts = [0, *(np.flatnonzero(today[1:] != today[:-1]) + 1).tolist(), HOURS_PER_DAY]
        for start, end in itertools.pairwise(cuts):
            what = str(today[start])
            if what != NONE:
                width = WIDTHS[STATES.index(what)]
                rows.append((day, round(day + width, 2), start, end, what, day_name(day)))
    return pd.DataFrame(rows, columns=["day", "day_end", "from", "to", "what", "date"])


def _table(states: np.ndarray) -> pd.DataFrame:
    """Hours of each kind by month."""
    found: dict[str, list[object]] = {"Month": list(MONTHS)}
    for state in STATES:
        hours = np.bincount(MONTH_OF_HOUR[states == state], minlength=12)
        found[f"{state[0].upper()}{state[1:]} (h)"] = list(hours.tolist())
    return pd.DataFrame(found)
