"""Below an answer: how long every drawn run lasts, drawn when it is opened."""

from __future__ import annotations

from planner.explain.chart_look import Figure
from planner.explain.runtime_chart import runtime_figure
from planner.screens.answering import Asked, assess_inputs
from planner.screens.fit_parts import figures_part, problems_part
from planner.screens.opening import opening
from planner.screens.reading import Inputs, Refused, kept, worked


def runtime_part(asked: Asked) -> None:
    """A folded part; the runs are made again once, as an answer keeps its words alone."""
    with opening("runtime", "How long it lasts, run by run", "runtime") as is_open:
        if not is_open:
            return
        found = kept("runtime", asked.digest, lambda: _found(asked))
        if isinstance(found, Refused):
            problems_part(found.problems, "This could not be drawn")
            return
        figures_part((found,))


def _found(asked: Asked) -> Figure | Refused:
    def drawn(inputs: Inputs) -> Figure:
        return runtime_figure(assess_inputs(asked, inputs))

    return worked(asked.choices, drawn)
