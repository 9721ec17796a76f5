"""The sheet the buyer takes home, made when a button asks for it, in the units shown."""

from __future__ import annotations

import datetime
import hashlib

import streamlit as st

from planner.explain.sheet import sheet_of
from planner.explain.sheet_files import sheet_bytes
from planner.explain.sheet_units import sheet_in_units
from planner.screens.answering import Asked
from planner.screens.fit_parts import file_name, problems_part
from planner.screens.fit_view import FitView
from planner.screens.reading import Inputs, Refused, kept, worked
from planner.screens.unit_choice import units_now
from planner.verdict.assess import assess

FILES = {
    ".pdf": ("PDF, to print", "application/pdf"),
    ".html": ("Web page in one file", "text/html"),
    ".png": ("Picture", "image/png"),
    ".txt": ("Text, for a message", "text/plain"),
}
LONGEST_TERMS = 1000  # characters; more would push the cautions off the buyer's page


def sheet_part(asked: Asked, view: FitView) -> None:
    """What kind of file, whose name on it, and the file itself."""
    st.subheader("The sheet for the buyer", anchor=False)
    left, right = st.columns(2)
    with left:
        ending = st.selectbox(
            "Kind of file", list(FILES), key="sheet_kind", format_func=lambda end: FILES[end][0]
        )
    with right:
        terms = st.text_input(
            "Your name and terms, printed on it",
            key="sheet_terms",
            max_chars=LONGEST_TERMS,
            persist_state="session",
        )
    ending = ending or ".pdf"
    today = datetime.date.today()
    key = f"{asked.digest} {ending} {terms} {units_now()} {today}"
    wanted = hashlib.sha256(key.encode("utf-8", "replace")).hexdigest()
    if st.button("Make the sheet", key="sheet_make"):
        st.session_state["sheet_wanted"] = wanted
    if st.session_state.get("sheet_wanted") != wanted:
        return
    with st.spinner("Making the sheet …"):
        found = kept(
            "sheet",
            wanted,
            lambda: worked(asked.choices, lambda inputs: _made(inputs, asked, ending, terms, today)),
        )
    if isinstance(found, Refused):
        problems_part(found.problems, title="No sheet")
        return
    name = "_".join([file_name(view.battery), file_name(view.outing), today.isoformat()])
    st.download_button(
        f"Download the sheet ({ending[1:].upper()})",
        found,
        f"{name}{ending}",
        FILES[ending][1],
        on_click="ignore",
    )


def _made(inputs: Inputs, asked: Asked, ending: str, terms: str, today: datetime.date) -> bytes:
    """The same file as the command `sheet` writes, in the units shown."""
    (record,), (model,) = inputs.records, inputs.models
    found = assess(record, inputs.needed_outing(), inputs.climate, asked.draws, asked.seed, model, inputs.units)
    return sheet_bytes(sheet_in_units(sheet_of(found, today, terms), units_now()), found, ending)
