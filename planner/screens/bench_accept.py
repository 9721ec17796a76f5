"""Below a log: the tests found in it, to be completed in a table for each kind and accepted into a record."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd
import streamlit as st

from planner import toml_text
from planner.errors import InputRefused
from planner.library.accept import BATTERIES, Row, new_record, save_with_tests, with_tests
from planner.library.checking import Checked, check_text
from planner.library.edit import set_value
from planner.library.history import Version
from planner.library.store import Library, open_library
from planner.record.capacity_reader import ENDINGS
from planner.record.log_toml import FoundTest
from planner.screens.fit_parts import file_name, listed_part
from planner.screens.plain_text import plain

NEW = "a new battery"
NOT_STATED = "not stated"
TITLES = {
    "capacity_test": "Full discharge",
    "current_test": "Hold or ramp",
    "step_test": "Current steps",
    "terminal_test": "Heat at the terminals",
}
ACCEPTED, SAVED = "bench_accepted", "bench_saved"  # session keys


@dataclass(frozen=True, slots=True)
class Target:
    """The record that tests go into. key : None for a new one. text : as it is now. name : as it will be."""

    key: str | None
    name: str
    text: str
    version: Version | None
    demo: bool


@dataclass(frozen=True, slots=True)
class Accepted:
    """Tests accepted into a record, not saved yet. digest : of the log and the target they were accepted for."""

    digest: str
    rows: tuple[Row, ...]
    text: str
    checked: Checked


def accept_part(tests: tuple[FoundTest, ...], log_digest: str) -> None:
    """The tables of what was found, then the record with them, to be downloaded or saved."""
    st.subheader("Put it into a battery's record", anchor=False)
    if not tests:
        st.markdown("This log holds no test that a record could take.")
        return
    try:
        library = open_library()
        target = _target(library)
        if target is None:
            return
        rows = _tables(tests, target)
        digest = f"{log_digest} {target.key} {target.name}"
        if st.button("Accept these tests", key="accept_now", type="primary"):
            st.session_state[ACCEPTED] = _accepted(library, target, rows, digest)
            st.session_state.pop(SAVED, None)
        found: Accepted | None = st.session_state.get(ACCEPTED)
        if found is not None and found.digest == digest:
            _result(library, target, found)
    except InputRefused as refused:
        _told(refused)


def _target(library: Library) -> Target | None:
    """Where to: a record of the library, a copy of a demo record, or a new one."""
    entries = {entry.key: entry for entry in library.list_profiles(BATTERIES) if entry.readable}
    key = st.selectbox(
        "Into which battery", [NEW, *entries], key="accept_into", persist_state="session",
        format_func=lambda key: NEW.capitalize() if key == NEW else _label(entries[key].name, entries[key].read_only),
    )  # fmt: skip
    entry = entries.get(key or NEW)
    if entry is not None and not entry.read_only:
        text, version = library.load(BATTERIES, entry.key)
        return Target(entry.key, entry.name, text, version, demo=False)
    name = st.text_input(
        "Name of the battery", key="accept_name", persist_state="session", max_chars=200
    ).strip()
    if not name:
        st.markdown("Give it a name, so that it can be found again.")
        return None
    if entry is None:
        return Target(None, name, new_record(name), None, demo=False)
    text, version = library.load(BATTERIES, entry.key)
    return Target(entry.key, name, set_value(text, "name", name), version, demo=True)


def _label(name: str, demo: bool) -> str:
    return f"Demo, as a copy: {name}" if demo else name


def _tables(tests: tuple[FoundTest, ...], target: Target) -> tuple[Row, ...]:
    """A table for each kind of test; what stands in it when the page runs, as rows of the record."""
    instruments = toml_text.parse(target.text.encode(), "record").get("instruments", {})
    st.markdown(
        "Check every cell; write numbers with their unit, such as 25 degC or 50 %. A row you delete is not accepted. "
        "Empty cells are what the log cannot know."
    )
    suggested = st.checkbox("Where a cell is empty, take what the log suggests", key="accept_suggested")
    meter = st.selectbox("Instrument of these readings", [NOT_STATED, *instruments], key="accept_meter")
    rows: list[Row] = []
    for kind in dict.fromkeys(test.kind for test in tests):
        of_kind = [test for test in tests if test.kind == kind]
        st.markdown(f"**{TITLES[kind]}**")
        listed_part(_suggestions(of_kind))
        edited = st.data_editor(
            editing_table(of_kind), key=f"accept_{kind}", hide_index=True, num_rows="dynamic",
            column_config=_columns(of_kind), width="stretch",
        )  # fmt: skip
        fixed = {} if meter == NOT_STATED else {"instrument": meter}
        rows += rows_of(kind, of_kind, edited, fixed, suggested=suggested)
    return tuple(rows)


def editing_table(tests: list[FoundTest]) -> pd.DataFrame:
    """Tests of one kind as texts, a row each; empty where only the tester knows. Lists of points stay outside."""
    keys = dict.fromkeys(line.key for test in tests for line in test.lines if isinstance(line.value, str))
    known = [test.values() for test in tests]
    return pd.DataFrame({key: [values.get(key, "") for values in known] for key in keys}, dtype=object)


def rows_of(kind: str, tests: list[FoundTest], edited: pd.DataFrame, fixed: Mapping[str, Any], *,
            suggested: bool) -> list[Row]:  # fmt: skip
    """The table as rows of a record.

    fixed : keys that every row gets. suggested : fills empty cells of the log's rows.
    """
    rows: list[Row] = []
    for place, cells in edited.iterrows():
        test = tests[int(str(place))] if str(place).isdigit() and int(str(place)) < len(tests) else None
        offers = {line.key: line.value for line in test.lines if line.asked} if test and suggested else {}
        points = (
            {line.key: line.value for line in test.lines if not isinstance(line.value, str)} if test else {}
        )
        typed = {
            str(key): str(cell).strip()
            for key, cell in cells.items()
            if isinstance(cell, str) and cell.strip()
        }
        values = {**offers, **typed, **points, **fixed}
        if typed:
            rows.append((kind, values))
    return rows


def _columns(tests: list[FoundTest]) -> dict[str, Any]:
    keys = dict.fromkeys(line.key for test in tests for line in test.lines)
    named: dict[str, Any] = {key: st.column_config.TextColumn(key.replace("_", " ")) for key in keys}
    if "ended_by" in named:
        named["ended_by"] = st.column_config.SelectboxColumn("ended by", options=list(ENDINGS))
    if "kind" in named:
        named["kind"] = st.column_config.SelectboxColumn("kind", options=["hold", "ramp"])
    return named


def _suggestions(tests: list[FoundTest]) -> list[str]:
    return [
        f"{test.where + ': ' if test.where else ''}{line.key.replace('_', ' ')} {line.value}? ({line.remark})"
        for test in tests
        for line in test.lines
        if line.asked
    ]


def _accepted(library: Library, target: Target, rows: tuple[Row, ...], digest: str) -> Accepted:
    text = with_tests(target.text, rows)
    root = library.demo if target.demo else library.folder
    return Accepted(digest, rows, text, check_text(BATTERIES, text, root, "record"))


def _result(library: Library, target: Target, found: Accepted) -> None:
    """The record with its tests, or why it cannot be one."""
    if found.checked.problems:
        st.markdown("The record cannot take them yet:")
        listed_part([str(problem) for problem in found.checked.problems])
        return
    st.markdown(f"{len(found.rows)} tests in the record of {plain(target.name)}, not saved yet.")
    listed_part(found.checked.warnings)
    st.code(found.text, language="toml", wrap_lines=True)
    with st.container(horizontal=True):
        st.download_button("Download the record (TOML)", found.text, f"{file_name(target.name)}.toml",
                           "application/toml", on_click="ignore")  # fmt: skip
        if st.button("Save to your library", key="accept_save"):
            version = save_with_tests(library, found.rows, target.name, target.key, target.version)
            st.session_state[SAVED] = f"Saved as version {version.number} of {target.name}."
            del st.session_state[ACCEPTED]
            st.rerun()


def saved_part() -> None:
    """What was saved last, once."""
    told = st.session_state.pop(SAVED, None)
    if told is not None:
        st.success(plain(told))


def _told(refused: InputRefused) -> None:
    listed_part([str(problem) for problem in refused.problems])
