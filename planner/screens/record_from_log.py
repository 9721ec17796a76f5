"""From a bench log that was read to a battery's record: the log is kept, its tables go into a draft."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from planner.errors import InputRefused
from planner.library.companions import add_companion
from planner.library.store import Library, open_library
from planner.screens.bench_view import LogView
from planner.screens.editing import begin, change, form_id, subject, trouble
from planner.screens.fit_parts import problems_part
from planner.screens.given import Upload
from planner.screens.state import BATTERY

NEW, CHOSEN = "a new record", "the record that is chosen below"
TOP = 'format = 1\nname = "New battery"\n'
ENTER = "planner/screens/enter_page.py"


def record_part(found: LogView, log: Path | Upload) -> None:
    """Where the tables go, and the way there."""
    with st.container(horizontal=True, vertical_alignment="bottom"):
        target = st.selectbox("Put these tests into", [NEW, CHOSEN], key="log_target", width=300)
        wanted = st.button("Put them in and look", key="log_into", type="primary")
    if not wanted:
        return
    try:
        library = open_library()
        data = log.data if isinstance(log, Upload) else log.read_bytes()
        kept = add_companion(library, "logs", log.name, data)
        _put(library, f"# the log is kept as {kept}\n{found.toml}", target or NEW)
    except InputRefused as refused:
        problems_part(refused.problems, title="Not put in")
        return
    st.switch_page(ENTER, query_params={"kind": BATTERY, "at": "capacity_test"})


def _put(library: Library, tables: str, target: str) -> None:
    """Raises InputRefused."""
    if target == NEW:
        begin(library, BATTERY, f"{TOP}\n{tables}", "New battery")
        return
    chosen = subject(library, BATTERY)
    if chosen is None or chosen.read_only:
        begin(library, BATTERY, f"{TOP}\n{tables}", "New battery")
        return
    form_id(chosen)
    change(BATTERY, lambda text: f"{text.rstrip()}\n\n{tables}", anew=True)
    if trouble(BATTERY):
        raise InputRefused(trouble(BATTERY))
