"""Profiles out of the library as one zip, and in again: all problems told, every choice made, then all or nothing."""

from __future__ import annotations

import datetime
from functools import partial
from typing import Any

import streamlit as st

from planner.errors import InputRefused
from planner.library.archive_zip import (
    KEEP_BOTH,
    SKIP,
    Incoming,
    import_zip,
    incoming,
    open_sound,
    open_zip,
    outgoing,
    packed,
)
from planner.library.bring_in import parcel_of_files
from planner.library.entries import PROFILE_KINDS
from planner.library.parcel import Parcel
from planner.library.store import Library
from planner.screens.fit_parts import problems_part
from planner.screens.given import COMPANION_ENDINGS
from planner.screens.plain_text import plain
from planner.screens.state import say

ONE = {"batteries": "battery", "outings": "outing", "climates": "climate", "cases": "buyer’s case"}
ZIP_MB = 20
CHOICES = {KEEP_BOTH: "keep both, the new one under a name with a number", SKIP: "leave the new one out"}


def take_out_part(library: Library) -> None:
    """Own profiles with the files they name, as one zip."""
    st.subheader("Take out", anchor=False)
    own = {
        f"{kind}/{entry.key}": entry
        for kind in PROFILE_KINDS
        for entry in library.list_profiles(kind)
        if not entry.read_only and entry.readable
    }
    if not own:
        st.markdown("There is nothing of yours to take out yet.")
        return
    wanted = st.multiselect(
        "Profiles to take out", list(own), default=list(own), key="taken_out",
        format_func=lambda key: f"{own[key].name} ({ONE[own[key].kind]})",
    )  # fmt: skip
    if not wanted:
        return
    try:
        parcel = outgoing(library, [(own[key].kind, own[key].key) for key in wanted])
    except InputRefused as refused:
        problems_part(refused.problems, title="Cannot be taken out")
        return
    name = f"library-{datetime.date.today().isoformat()}.zip"
    # packed at the click: a few days' logs would make every look at the page wait
    st.download_button("Download as zip", partial(packed, parcel), name, "application/zip", on_click="ignore")


def bring_in_part(library: Library) -> None:
    """A zip, or a profile with the files it names."""
    st.subheader("Bring in", anchor=False)
    files = st.file_uploader(
        "A zip taken out elsewhere, or a profile (TOML) with the files it names",
        type=["zip", *COMPANION_ENDINGS], accept_multiple_files=True, key="brought_in", max_upload_size=ZIP_MB,
    )  # fmt: skip
    if not files:
        return
    try:
        parcel = _parcel(files)
        found = incoming(library, parcel)
    except InputRefused as refused:
        problems_part(refused.problems, title="Cannot be brought in")
        sound = _the_others(files)
        if sound is None:
            return
        parcel, found = sound, incoming(library, sound)
    choices = {each.target: _choice(each) for each in found}
    if st.button("Bring in", key="bring_in", type="primary"):
        _bring_in(library, parcel, {target: choice for target, choice in choices.items() if choice})


def _parcel(files: list[Any]) -> Parcel:
    named = {file.name: file.getvalue() for file in files}
    zips = [name for name in named if name.lower().endswith(".zip")]
    if zips:
        return open_zip(named[zips[0]], zips[0])
    profiles = [name for name in named if name.lower().endswith(".toml")]
    return parcel_of_files(named, profiles[0] if profiles else next(iter(named)))


def _the_others(files: list[Any]) -> Parcel | None:
    """What of a zip has nothing to mend, where that is wanted. What is left out stays in the zip."""
    zips = [file for file in files if file.name.lower().endswith(".zip")]
    if not zips:
        return None
    try:
        parcel, left_out = open_sound(zips[0].getvalue(), zips[0].name)
    except InputRefused:
        return None
    names = ", ".join(sorted(left_out))
    wanted = st.checkbox(f"Leave out {plain(names)}, and bring in the rest", key="rest_wanted")
    return parcel if wanted else None


def _choice(each: Incoming) -> str | None:
    """What is to be done with one profile; None where there is nothing to choose."""
    kind = ONE[each.target.split("/")[0]]
    if each.same:
        st.markdown(f"{plain(each.name)} ({kind}): already here, the same to the last letter.")
        return None
    if each.held_by is None:
        st.markdown(f"{plain(each.name)} ({kind}): new.")
        return None
    return st.selectbox(
        f"{each.name} ({kind}): the library has another of this name",
        list(CHOICES), key=f"choice_{each.target}", format_func=CHOICES.__getitem__,
    )  # fmt: skip


def _bring_in(library: Library, parcel: Parcel, choices: dict[str, str]) -> None:
    try:
        placed = import_zip(library, parcel, choices)
    except InputRefused as refused:
        problems_part(refused.problems, title="Not brought in")
        return
    count = sum(1 for target in placed if target.split("/")[0] in PROFILE_KINDS)
    say(f"Brought in: {count} profile{'' if count == 1 else 's'}.")
    st.rerun()
