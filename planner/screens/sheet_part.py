"""The sheet the buyer takes home, made when a button asks for it, in the units shown."""

from __future__ import annotations

import datetime
import hashlib
from functools import partial

import streamlit as st

from planner.errors import InputRefused
from planner.explain.sheet import sheet_of
from planner.explain.sheet_files import sheet_bytes
from planner.library.tester import LONGEST_TESTER, TESTER_FILE, tester_words
from planner.screens.answering import Asked, assess_inputs
from planner.screens.fit_parts import file_name, problems_part
from planner.screens.fit_view import FitView
from planner.screens.opening import opening
from planner.screens.reading import Inputs, Refused, kept, worked
from planner.screens.shelf import library_or_none
from planner.screens.unit_choice import units_now

FILES = {
    ".pdf": ("PDF, to print", "application/pdf"),
    ".html": ("Web page in one file", "text/html"),
    ".png": ("Picture", "image/png"),
    ".txt": ("Text, for a message", "text/plain"),
    ".csv": ("Table, for a spreadsheet", "text/csv"),
    ".json": ("For another program", "application/json"),
}


def sheet_part(asked: Asked, view: FitView) -> None:
    """What kind of file, whose name on it, and the file itself."""
    st.header("The sheet for the buyer", anchor=False)
    ending, terms = _asked_for()
    today = datetime.date.today()
    key = f"{asked.digest} {ending} {terms} {units_now()} {today}"
    wanted = hashlib.sha256(key.encode("utf-8", "replace")).hexdigest()
    if st.button("Make the sheet", key="sheet_make"):
        st.session_state["sheet_wanted"] = wanted
    if st.session_state.get("sheet_wanted") != wanted:
        return
    make = partial(_made, asked=asked, ending=ending, terms=terms, today=today)
    with st.spinner("Making the sheet …"):
        found = kept("sheet", wanted, lambda: worked(asked.choices, make))
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
    if ending == ".txt":
        st.code(found.decode(), language=None, wrap_lines=True, height=320)
        return
    with opening("sheet", "Look at it before you hand it over", "sheet_look") as is_open:
        if is_open:
            _look(asked, view, terms, today)


def _asked_for() -> tuple[str, str]:
    """The kind of file, and the tester's name and terms."""
    left, right = st.columns(2)
    with left:
        ending = st.selectbox(
            "Kind of file", list(FILES), key="sheet_kind", format_func=lambda end: FILES[end][0]
        )
    with right:
        terms = st.text_area(
            "Your name and terms, printed on it",
            _kept_terms(),
            key="sheet_terms",
            max_chars=LONGEST_TESTER,
            height=68,
            help=f"To have them here every time, put them into a file {TESTER_FILE} in the library’s folder.",
            persist_state="session",
        )
    return ending or ".pdf", terms


def _look(asked: Asked, view: FitView, terms: str, today: datetime.date) -> None:
    """The printed sheet as a picture; its words are those of the text for a message."""
    key = f"{asked.digest} {terms} {units_now()} {today}"
    make = partial(_made, asked=asked, ending=".png", terms=terms, today=today)
    picture = kept("sheet as a picture", hashlib.sha256(key.encode("utf-8", "replace")).hexdigest(),
                   lambda: worked(asked.choices, make))  # fmt: skip
    if isinstance(picture, Refused):
        problems_part(picture.problems, title="No picture")
        return
    st.image(picture, width="stretch", alt=f"The sheet for {view.battery} on {view.outing}: {view.verdict}")


def _made(inputs: Inputs, asked: Asked, ending: str, terms: str, today: datetime.date) -> bytes:
    """The same file as the command `sheet` writes, in the units shown."""
    found = assess_inputs(asked, inputs)
    return sheet_bytes(sheet_of(found, today, terms), found, ending, units_now())


def _kept_terms() -> str:
    """What the library's file says, as the command takes it; nothing where it cannot be read, which is told."""
    library = library_or_none()
    try:
        return "" if library is None else tester_words(library.folder)
    except InputRefused as refused:
        problems_part(refused.problems, title=f"{TESTER_FILE} cannot be used")
        return ""
