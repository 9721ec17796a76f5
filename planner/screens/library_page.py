"""Page "Library": what is kept; found, copied, compared with former versions, put away, taken out and brought in."""

from __future__ import annotations

import pandas as pd
import streamlit as st

from planner.errors import InputRefused
from planner.library.entries import Entry
from planner.library.store import Library, open_library
from planner.screens.case_parts import case_part, keep_case_part
from planner.screens.fit_parts import problems_part
from planner.screens.library_parts import archive_part, copy_part, drafts_part, put_away_part, versions_part
from planner.screens.plain_text import plain
from planner.screens.shelf import KINDS
from planner.screens.state import CASE, chosen_key, initial_state, say, told, use_profile
from planner.screens.transfer_parts import bring_in_part, take_out_part

TITLE = "Library"
SHELVES = {
    "outings": "Outings",
    "batteries": "Batteries",
    "climates": "Climates",
    "cases": "Buyers’ cases",
}


def show() -> None:
    """The shelves at the top, the chosen profile below, then bringing in and taking out."""
    initial_state()
    st.title(TITLE, anchor=False)
    try:
        library = open_library()
        told()
        _shelves(library)
    except InputRefused as refused:
        problems_part(refused.problems)


def _shelves(library: Library) -> None:
    st.caption(
        f"Your own profiles are files in {plain(str(library.folder))}. Every version is kept. Demo profiles are "
        "invented and only read: copy one to change it."
    )
    kind = st.segmented_control(
        "Shelf", list(SHELVES), default="outings", key="shelf", format_func=SHELVES.__getitem__,
        persist_state="session", label_visibility="collapsed", required=True,
    )  # fmt: skip
    words = st.text_input("Find", key="find", placeholder="words in name or note", persist_state="session")
    entries = library.search(words, (kind,)) if words.strip() else library.list_profiles(kind)
    if not entries:
        st.markdown("Nothing here." if words.strip() else "Nothing kept yet.")
    else:
        _listed(entries)
        _chosen(library, kind, entries)
    drafts_part(library, kind)
    put_away_part(library, kind)
    if kind == "cases":
        keep_case_part(library)
    st.header("Take out and bring in", anchor=False)
    take_out_part(library)
    bring_in_part(library)


def _listed(entries: tuple[Entry, ...]) -> None:
    table = pd.DataFrame(
        {
            "Name": [entry.name for entry in entries],
            "Whose": ["demo" if entry.read_only else "yours" for entry in entries],
            "Changed (UTC)": [
                "" if entry.read_only else f"{entry.changed_at:%Y-%m-%d %H:%M}" for entry in entries
            ],
            "Note": [" ".join(entry.note.split()) for entry in entries],
        }
    )
    st.dataframe(table, hide_index=True, height="auto", alt="The profiles of this shelf, one a row")


def _chosen(library: Library, kind: str, entries: tuple[Entry, ...]) -> None:
    by_key = {entry.key: entry for entry in reversed(entries)}
    key = st.selectbox(
        "Profile", list(reversed(by_key)), key=f"profile_{kind}", format_func=lambda key: by_key[key].name
    )
    entry = by_key[key]
    with st.container(border=True):
        st.markdown(f"**{plain(entry.name)}**")
        if not entry.readable:
            st.markdown("This file is no TOML text any more. Take an earlier version below.")
        if kind == "cases":
            case_part(library, entry)
        else:
            _use(entry)
        copy_part(library, entry)
        if not entry.read_only:
            versions_part(library, entry)
            archive_part(library, entry)


def _use(entry: Entry) -> None:
    kind = KINDS[entry.kind]
    assert kind != CASE
    with st.container(horizontal=True):
        if st.button("Use it on every page", key=f"use_{entry.kind}_{entry.key}"):
            use_profile(kind, entry.key)
            say(f"In use: {entry.name}")
            st.rerun()
        st.page_link("planner/screens/enter_page.py", label="Look at it and change it",
                     query_params={"kind": kind, kind: entry.key})  # fmt: skip
    if st.session_state[chosen_key(kind)] == entry.key:
        st.caption("In use on every page.")


show()
