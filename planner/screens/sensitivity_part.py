"""Below an answer: which input moves it, worked out when asked for."""

from __future__ import annotations

import json
from dataclasses import dataclass

import streamlit as st

from planner.explain.chart_look import Figure
from planner.explain.sensitivity_answer import METHOD, sensitivity_json
from planner.explain.sensitivity_chart import sensitivity_figure
from planner.screens.answering import Asked
from planner.screens.fit_parts import figures_part, problems_part
from planner.screens.on_demand import wanted
from planner.screens.plain_text import plain
from planner.screens.reading import Inputs, Refused, kept, worked
from planner.screens.unit_choice import said
from planner.verdict.sensitivity import find_sensitivity


@dataclass(frozen=True, slots=True)
class SensitivityView:
    """The sentence, the bars, and all of it as JSON."""

    sentence: str
    figure: Figure
    json_text: str


def sensitivity_part(asked: Asked) -> None:
    """A folded part with a button; the swings are found once for the same inputs."""
    with st.expander("What matters most for this answer"):
        if not wanted("sensitivity", "Move every input (some seconds)", asked.digest):
            st.markdown(
                "Each thing that is not known exactly is moved by itself, to see what it does to the answer."
            )
            return
        with st.spinner("Moving every input …"):
            found = kept("sensitivity", asked.digest, lambda: _found(asked))
        if isinstance(found, Refused):
            problems_part(found.problems)
            return
        st.markdown(said(found.sentence))
        figures_part((found.figure,))
        st.caption(plain(METHOD))
        st.download_button(
            "Swings as JSON", found.json_text, "sensitivity.json", "application/json", on_click="ignore"
        )


def _found(asked: Asked) -> SensitivityView | Refused:
    def moved(inputs: Inputs) -> SensitivityView:
        (record,), (model,) = inputs.records, inputs.models
        found = find_sensitivity(
            record, inputs.needed_outing(), inputs.climate, asked.draws, asked.seed, model, inputs.units
        )
        told = sensitivity_json(found)
        return SensitivityView(
            told["sentence"], sensitivity_figure(found), inputs.restored(json.dumps(told, indent=2))
        )

    return worked(asked.choices, moved)
