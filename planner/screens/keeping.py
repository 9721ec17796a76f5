"""An upload taken into the library, so that a reload finds it again."""

from __future__ import annotations

import streamlit as st

from planner.errors import InputRefused, Problem
from planner.library.archive_zip import KEEP_BOTH, import_zip, incoming
from planner.library.bring_in import parcel_of_files
from planner.library.store import open_library
from planner.screens.given import Given
from planner.screens.shelf import FOLDERS
from planner.screens.state import use_profile


def keep_button(kind: str, given: Given) -> None:
    """Takes the upload in use into the library, with the files it names, and uses it from there."""
    if st.button("Keep it in my library", key=f"keep_{kind}", help="A reload forgets an upload."):
        try:
            key = _kept(kind, given)
        except InputRefused as refused:
            for problem in refused.problems:
                st.text(f"Not kept: {' '.join(str(problem).split())}")
            return
        use_profile(kind, key)
        st.rerun()


def _kept(kind: str, given: Given) -> str:
    """Its key in the library. One of the same name that is there already stays as well. Raises InputRefused."""
    assert given.main is not None
    files = {upload.name: upload.data for upload in (given.main, *given.companions)}
    library, parcel = open_library(), parcel_of_files(files, given.main.name)
    held = incoming(library, parcel)
    wanted = next((each for each in held if each.target.startswith(f"{FOLDERS[kind]}/")), None)
    if wanted is None:
        fix = "Choose it where its own kind is chosen."
        raise InputRefused([Problem(given.main.name, "(file)", "of another kind", f"one {kind}", fix)])
    placed = import_zip(library, parcel, {each.target: KEEP_BOTH for each in held if not each.same})
    if wanted.same and wanted.held_by is not None:
        return wanted.held_by.key
    return placed[wanted.target].rsplit("/", 1)[-1].removesuffix(".toml")
