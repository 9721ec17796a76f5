"""Page "After the outing": the log of a real outing beside what was predicted of it."""

from __future__ import annotations

import hashlib
from pathlib import Path

import streamlit as st

from planner.library.place import DEMO
from planner.screens.after_view import LOG_ENDINGS, AfterView, after_view
from planner.screens.choosing import choose_some
from planner.screens.fit_parts import listed_part, problems_part, shown_table_part
from planner.screens.given import Upload
from planner.screens.log_says import UNSTATED, on_the_page, says_part
from planner.screens.reading import Choices, Refused, kept, worked
from planner.screens.state import BATTERY, OUTING, OWN, initial_state
from planner.screens.unit_choice import said

TITLE = "After the outing"
LOG_MB = 20


def show() -> None:
    """The log and what it belongs to, then what it says of the prediction."""
    initial_state()
    st.title(TITLE, anchor=False)
    with st.container(border=True):
        chosen = choose_some((BATTERY, OUTING))
        log = _log_choice()
        says = says_part(UNSTATED)
    if chosen is None or log is None:
        st.markdown("Choose the battery and the outing as it was planned, and drop its log above: time, current, "
                    "and voltage and temperature where they were logged.")  # fmt: skip
        return
    battery = chosen[BATTERY]
    assert battery is not None
    choices = Choices((battery,), chosen[OUTING])
    data = log.data if isinstance(log, Upload) else log.read_bytes()
    digest = hashlib.sha256(f"{choices.digest} {log.name} {says}".encode() + data).hexdigest()
    with st.spinner("Running the outing as it was logged …"):
        found = kept("after", digest, lambda: worked(choices, lambda inputs: after_view(inputs, log, says)))
    if isinstance(found, Refused):
        problems_part(on_the_page(found.problems))
        return
    _answer(found)


def _answer(found: AfterView) -> None:
    st.header(said(found.heading), anchor=False)
    if found.serious:
        st.error(said(found.findings[0]))
    listed_part(found.findings[1 if found.serious else 0 :])
    shown_table_part("after", found.table, "What was predicted, eight outings in ten, beside what was found")
    with st.expander("Beside this answer"):
        listed_part(found.beside)
    st.download_button(
        "Comparison as JSON", found.json_text, "follow-up.json", "application/json", on_click="ignore"
    )


def _log_choice() -> Path | Upload | None:
    """The log, None while there is none."""
    logs = {path.name: path for path in sorted((DEMO / "logs").glob("outing_*.csv"))}
    chosen = st.selectbox(
        "Log of the outing", [OWN, *logs], key="after_log", persist_state="session", help="Demo logs are invented.",
        format_func=lambda key: "My own file …" if key == OWN else f"Demo: {key}",
    )  # fmt: skip
    if chosen != OWN:
        return logs.get(chosen or "")
    file = st.file_uploader("Its file", type=list(LOG_ENDINGS), key="after_upload", max_upload_size=LOG_MB)
    return None if file is None else Upload(file.name, file.getvalue())


show()
