"""Page "Charging through the year": one battery where it lives, hour by hour, and what to do about it."""

from __future__ import annotations

import streamlit as st

from planner.explain.shown_units import in_units
from planner.explain.winter_answer import MITIGATION_YEARS
from planner.screens.choosing import asked_now, choose_some
from planner.screens.fit_parts import MARKS, figures_part, files_part, listed_part, problems_part, table_part
from planner.screens.given import Given
from planner.screens.reading import Choices, Refused, kept, worked
from planner.screens.state import BATTERY, CLIMATE, initial_state
from planner.screens.unit_choice import said, units_now
from planner.screens.winter_view import WinterView, winter_view
from planner.verdict.winter_check import states_use

TITLE = "Charging through the year"


def show() -> None:
    """The page from top to bottom. The verdict's place comes before the choices that lead to it."""
    initial_state()
    top = st.container()
    with st.container(border=True):
        found = choose_some((BATTERY, CLIMATE))
    battery, climate = (None, None) if found is None else (found[BATTERY], found[CLIMATE])
    if battery is None or climate is None:
        with top:
            st.title(TITLE, anchor=False)
            missing = (
                "Upload your file below"
                if found is None
                else "Choose where the battery lives, under Climate,"
            )
            st.markdown(f"{missing} to get an answer.")
        return
    chosen = _chosen(battery, climate)
    with top, st.spinner("Running 501 years, hour by hour, and the usual changes through 40 of them …"):
        view = kept("winter", chosen.digest, lambda: worked(chosen, winter_view))
    with top:
        if isinstance(view, Refused):
            problems_part(view.problems)
            return
        _verdict(view)
    figures_part(view.figures[:2], side_by_side=True)
    figures_part(view.figures[2:])
    _changes(view)
    st.header("Before you use it", anchor=False)
    listed_part(view.cautions)
    st.header("What weakens this answer", anchor=False)
    listed_part(view.warnings)
    files_part((view.battery, view.climate), in_units(view.plain_text, units_now()), view.json_text)


def _chosen(battery: Given, climate: Given) -> Choices:
    """Battery and climate, and the outing in use where the climate states no use of its own."""
    asked = asked_now()
    stated = worked(Choices((), None, climate), lambda inputs: states_use(inputs.needed_climate()))
    outing = asked.outing if asked is not None and stated is False else None
    return Choices((battery,), outing, climate)


def _verdict(view: WinterView) -> None:
    st.title(TITLE, anchor=False)
    st.header(f"{MARKS[view.verdict]} Charging it there all year: {view.verdict}", anchor=False)
    st.markdown(said(view.reason))
    for text in (view.limit, view.settled_by, view.other_years, view.use):
        if text is not None:
            st.markdown(said(text))


def _changes(view: WinterView) -> None:
    st.header("What would help", anchor=False)
    st.markdown(said(view.finding))
    st.caption(
        f"Each against the place as it is, in the middle of {MITIGATION_YEARS} drawn years. A dark day is one on which "
        "your own use finds the battery empty. At least and at most, since the switching temperature is known only to "
        "within a few degrees; a minus means that it makes things worse."
    )
    table_part("changes", view.changes, "What each change gains in a year")
    with st.expander("Month by month, with the upper switching temperature"):
        table_part("changes_by_month", view.months, "Hours of charging gained month by month")
    st.header("Left alone, charged, brought in", anchor=False)
    listed_part(view.care)


show()
