"""The answer of the first page as it opens, worked out before anybody asks."""

from __future__ import annotations

from planner.screens.answering import Asked, answer, answer_figures, one_run
from planner.screens.shelf import choosable
from planner.screens.state import BATTERY, FIRST, OUTING


def make() -> None:
    """Put the first page's words and charts into the store."""
    battery, outing = (choosable(kind).get(FIRST[kind]) for kind in (BATTERY, OUTING))
    if battery is not None and outing is not None:
        asked = Asked(battery.given, outing.given)
        with one_run():
            answer(asked)
            answer_figures(asked)
