"""First screen, "Does it fit?": one battery, one outing, the verdict first and then why."""

from __future__ import annotations

from functools import partial

import streamlit as st

from planner.screens.answering import answer, answer_as_json, answer_as_text, answer_figures
from planner.screens.choosing import choose
from planner.screens.fit_parts import (
    cautions_part,
    figures_part,
    files_part,
    problems_part,
    reasons_part,
    verdict_part,
)
from planner.screens.reading import Refused
from planner.screens.runtime_part import runtime_part
from planner.screens.sensitivity_part import sensitivity_part
from planner.screens.sheet_part import sheet_part
from planner.screens.state import initial_state
from planner.screens.unit_choice import units_now
from planner.screens.why_part import why_part


def show() -> None:
    """The page from top to bottom. The verdict's place comes before the choices that lead to it."""
    initial_state()
    top = st.container()
    with st.container(border=True):
        asked = choose()
    if asked is None:
        with top:
            st.title("Does it fit?", anchor=False)
            st.markdown("Upload your file below to get an answer.")
        return
    found = answer(asked)  # the bar on top has waited for it
    if isinstance(found, Refused):
        with top:
            problems_part(found.problems)
        return
    with top:
        verdict_part(found)
    words, charts = st.columns([5, 6], gap="large")
    with words:
        reasons_part(found)
    with charts:
        figures = answer_figures(asked)
        if not isinstance(figures, Refused):  # an input vanished since its answer
            figures_part(figures)
    why_part(found.whys)
    runtime_part(asked)
    sensitivity_part(asked)
    cautions_part(found)
    sheet_part(asked, found)
    about = (found.battery, found.outing)
    files_part(about, partial(answer_as_text, asked, units_now()), partial(answer_as_json, asked))


show()
