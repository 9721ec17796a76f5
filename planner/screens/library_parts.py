"""What can be done with one profile of the library, and what was put away or not finished."""

from __future__ import annotations

import streamlit as st

from planner.errors import InputRefused
from planner.library.draft import drafts, remove_draft
from planner.library.entries import Entry
from planner.library.history import Version
from planner.library.parcel import copy_to_edit
from planner.library.store import Library
from planner.screens.choosing import INSTEAD
from planner.screens.fit_parts import problems_part
from planner.screens.plain_text import plain
from planner.screens.shelf import KINDS, draft_key
from planner.screens.state import CASE, FIRST, chosen_key, say, use_profile

LONGEST_NAME = 200


def copy_part(library: Library, entry: Entry) -> None:
    """A copy under another name, of a demo profile with the files it names."""
    row = st.form(f"copy_{entry.kind}_{entry.key}", border=False)
    with row, st.container(horizontal=True, vertical_alignment="bottom"):
        name = st.text_input("Name of the copy", value=f"{entry.name[:180]} (copy)", max_chars=LONGEST_NAME)
        wanted = st.form_submit_button("Copy")
    if not wanted:
        return
    try:
        key = copy_to_edit(library, entry.kind, entry.key, name.strip())
    except InputRefused as refused:
        problems_part(refused.problems, title="Not copied")
        return
    used = KINDS[entry.kind] != CASE  # a case is opened and not used itself
    if used:
        use_profile(KINDS[entry.kind], key)
    say(f"Copied as {name.strip()}{'; the copy is in use now' if used else ''}.")
    st.rerun()


def versions_part(library: Library, entry: Entry) -> None:
    """Every version, the difference between two of them, and an earlier one made the current one again."""
    with st.expander("Versions"):
        kept = library.versions(entry.kind, entry.key)
        by_number = {version.number: version for version in kept}
        numbers = [version.number for version in reversed(kept)]
        if len(numbers) < 2:
            st.markdown(f"One version so far: {_when(kept[-1])}.")
            return
        left, right = st.columns(2)
        with left:
            older = st.selectbox("From", numbers, index=1, key=f"older_{entry.kind}_{entry.key}",
                                 format_func=lambda number: _label(by_number[number]))  # fmt: skip
        with right:
            newer = st.selectbox("To", numbers, index=0, key=f"newer_{entry.kind}_{entry.key}",
                                 format_func=lambda number: _label(by_number[number]))  # fmt: skip
        lines = library.difference(entry.kind, entry.key, older or numbers[1], newer or numbers[0])
        st.code("\n".join(lines) or "No difference.", language="diff", wrap_lines=True)
        if older != kept[-1].number and st.button(
            f"Make version {older} the current one again", key=f"again_{entry.kind}_{entry.key}"
        ):
            text = library.load_version(entry.kind, entry.key, older or numbers[1])
            library.save(entry.kind, entry.key, text, kept[-1])
            say(f"Version {older} is the current one again; nothing was lost.")
            st.rerun()


def archive_part(library: Library, entry: Entry) -> None:
    """Put a profile away: it leaves the lists and can be brought back."""
    if st.button(
        "Put it away", key=f"away_{entry.kind}_{entry.key}", help="It leaves every list. Nothing is deleted."
    ):
        library.archive(entry.kind, entry.key)
        kind = KINDS[entry.kind]
        used = kind != CASE and st.session_state[chosen_key(kind)] == entry.key
        if used:
            use_profile(kind, FIRST[kind])
        say(f"Put away: {entry.name}{f'. It was in use, so {INSTEAD[kind]} now.' if used else ''}")
        st.rerun()


def put_away_part(library: Library, kind: str) -> None:
    """What was put away on this shelf."""
    away = library.list_profiles(kind, archived=True)
    if not away:
        return
    with st.expander(f"Put away ({len(away)})"):
        for entry in away:
            with st.container(horizontal=True, vertical_alignment="center"):
                st.markdown(plain(entry.name))
                if st.button("Bring it back", key=f"back_{kind}_{entry.key}"):
                    _bring_back(library, entry)


def _bring_back(library: Library, entry: Entry) -> None:
    try:
        library.restore(entry.kind, entry.key)
    except InputRefused as refused:
        problems_part(refused.problems, title="Not brought back")
        return
    say(f"Back on the shelf: {entry.name}")
    st.rerun()


def drafts_part(library: Library, kind: str) -> None:
    """Entries begun and not saved yet."""
    found = [draft for draft in drafts(library) if draft.kind == kind]
    if not found or KINDS[kind] == CASE:
        return
    with st.expander(f"Begun and not saved yet ({len(found)})"):
        for draft in found:
            with st.container(horizontal=True, vertical_alignment="center"):
                when = "" if draft.saved_at is None else f", {draft.saved_at:%Y-%m-%d %H:%M} UTC"
                st.markdown(f"{plain(draft.name)}{when}")
                if st.button("Go on with it", key=f"resume_{draft.id}"):
                    use_profile(KINDS[kind], draft_key(draft))
                    st.switch_page("planner/screens/enter_page.py", query_params={"kind": KINDS[kind]})
                if st.button("Throw it away", key=f"drop_{draft.id}"):
                    remove_draft(library, draft.id)
                    st.rerun()


def _label(version: Version) -> str:
    return f"version {version.number}, {_when(version)}"


def _when(version: Version) -> str:
    return f"{version.saved_at:%Y-%m-%d %H:%M} UTC"
