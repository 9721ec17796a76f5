"""The charts of one answer, in the order in which they are read."""

from __future__ import annotations

from planner.explain.chart_look import Figure
from planner.explain.current_chart import current_map_figure
from planner.explain.outing_charts import charge_figure, current_figure, voltage_figure
from planner.explain.outing_course import course_of
from planner.verdict.assess import Assessment


def fit_figures(assessment: Assessment) -> tuple[Figure, ...]:
    """Charge, voltage and current along the outing, then how hard for how long.

    Each Figure holds an Altair chart, the finding as its title, a text alternative and a table of its data.
    """
    course = course_of(assessment)
    return (
        charge_figure(course),
        voltage_figure(course),
        current_figure(course),
        current_map_figure(assessment),
    )
