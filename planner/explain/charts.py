"""The charts of one answer, in the order in which they are read."""

from __future__ import annotations

from collections.abc import Callable

from planner.explain.chart_look import Figure
from planner.explain.current_chart import current_map_figure
from planner.explain.outing_charts import charge_figure, current_figure, voltage_figure
from planner.explain.outing_course import course_of
from planner.verdict.assess import Assessment


def fit_figures(assessment: Assessment, keys: tuple[str, ...] | None = None) -> tuple[Figure, ...]:
    """Charge, voltage and current along the outing, then how hard for how long.

    Each Figure holds a chart, the finding as its title, a text alternative and a table of its data.
    keys : which of them to draw; all when None.
    """
    course = course_of(assessment)
    drawn: dict[str, Callable[[], Figure]] = {
        "charge": lambda: charge_figure(course),
        "voltage": lambda: voltage_figure(course),
        "current": lambda: current_figure(course),
        "current_map": lambda: current_map_figure(assessment),
    }
    return tuple(draw() for key, draw in drawn.items() if keys is None or key in keys)
