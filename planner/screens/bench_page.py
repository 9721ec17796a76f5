"""Page "What a bench log says": a raw log read, and the claims of a battery beside what was measured."""

from __future__ import annotations

import hashlib
from pathlib import Path

import streamlit as st

from planner.explain.entry_names import entry_named
from planner.explain.shown_units import in_units
from planner.library.place import DEMO
from planner.screens.bench_view import LOG_ENDINGS, LogView, audit_view, log_view
from planner.screens.choosing import choose_some
from planner.screens.fit_parts import figures_part, listed_part, problems_part, table_part
from planner.screens.given import Upload
from planner.screens.log_says import BY_VOLTS, on_the_page, says_part
from planner.screens.plain_text import plain
from planner.screens.reading import Choices, Refused, kept, worked
from planner.screens.record_from_log import record_part
from planner.screens.state import BATTERY, OWN, initial_state
from planner.screens.unit_choice import units_now

TITLE = "What a bench log says"
LOG_MB = 20


def show() -> None:
    """A log at the top, the chosen battery's claims below."""
    initial_state()
    st.title(TITLE, anchor=False)
    with st.container(border=True):
        log = _log_choice()
        says = says_part(BY_VOLTS)
    if log is None:
        st.markdown("Drop a log above: time, voltage and current, as CSV, Excel or Parquet.")
    else:
        data = log.data if isinstance(log, Upload) else log.read_bytes()
        digest = hashlib.sha256(f"{log.name} {says}".encode() + data).hexdigest()
        with st.spinner("Reading the log …"):
            found = kept("log", digest, lambda: log_view(log, says))
        if isinstance(found, Refused):
            problems_part(on_the_page(found.problems))
        else:
            _log(found)
            record_part(found, log)
    _claims()


def _log_choice() -> Path | Upload | None:
    """The log, None while there is none."""
    logs = {path.name: path for path in sorted((DEMO / "logs").glob("bench_*.csv"))}
    chosen = st.selectbox(
        "Log",
        [*logs, OWN],
        key="log_chosen",
        persist_state="session",
        help="Demo logs are invented.",
        format_func=lambda key: "My own file …" if key == OWN else f"Demo: {key}",
    )
    log: Path | Upload | None = logs.get(chosen or OWN)
    if chosen == OWN:
        file = st.file_uploader(
            "Log of the bench", type=list(LOG_ENDINGS), key="log_upload", max_upload_size=LOG_MB
        )
        log = None if file is None else Upload(file.name, file.getvalue())
    return log


def _log(found: LogView) -> None:
    figures_part((found.figure,))
    st.header("Figures", anchor=False)
    st.code(in_units(found.text, units_now()), language=None, wrap_lines=True)
    if found.warnings:
        st.header("To mind", anchor=False)
        listed_part(found.warnings)
    st.header("For the battery’s record", anchor=False)
    st.code(found.toml, language="toml", wrap_lines=True)
    st.download_button("Figures as JSON", found.json_text, "log.json", "application/json", on_click="ignore")


def _claims() -> None:
    st.header("Claims against measurements", anchor=False)
    chosen = choose_some((BATTERY,))
    battery = None if chosen is None else chosen[BATTERY]
    if battery is None:
        st.markdown("Upload your file above to see its claims.")
        return
    choices = Choices((battery,))
    with st.spinner("Replaying its tests …"):
        coin = units_now().currency
        found = kept(f"audit {coin}", choices.digest, lambda: worked(choices, lambda read: audit_view(read, coin)))
    if isinstance(found, Refused):
        problems_part(found.problems)
        return
    st.markdown(plain(found.battery))
    table_part("claims", found.claims, "Each claim beside its measurement")
    if found.residuals:
        with st.expander("Measured less modelled voltage, test by test"):
            figures_part(found.residuals)
    with st.expander("The whole audit, with the replay of its tests"):
        st.code(in_units(entry_named(found.text), units_now()), language=None, wrap_lines=True)


show()
