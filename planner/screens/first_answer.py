"""The answer of the first page as it opens, worked out before anybody asks."""

from __future__ import annotations

from planner.explain.shown_units import in_other_units
from planner.screens import verdict_bar  # noqa: F401  imported for the page that is about to need it
from planner.screens.answering import Asked, answer, answer_figures
from planner.screens.shelf import choosable
from planner.screens.state import BATTERY, FIRST, OUTING


def words() -> None:
    """Put the first page's words into the store."""
    asked = _asked()
    if asked is not None:
        answer(asked)


def charts() -> None:
    """Put its charts there as well."""
    asked = _asked()
    if asked is not None:
        answer_figures(asked)


def editor() -> None:
    """Have what the first look at the editor asks for: the registry of units takes half a second to read."""
    in_other_units("20 degC", "temperature")


def _asked() -> Asked | None:
    battery, outing = (choosable(kind).get(FIRST[kind]) for kind in (BATTERY, OUTING))
    return None if battery is None or outing is None else Asked(battery.given, outing.given)
