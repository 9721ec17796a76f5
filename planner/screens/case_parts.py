"""A buyer's case: which battery, outing and climate belong together, and what was asked."""

from __future__ import annotations

import streamlit as st

from planner.errors import InputRefused
from planner.library.checking import check_text
from planner.library.edit import set_value
from planner.library.entries import Entry
from planner.library.store import Library
from planner.library.templates import TEMPLATES
from planner.screens.fit_parts import problems_part
from planner.screens.plain_text import plain
from planner.screens.shelf import choosable
from planner.screens.state import (
    BATTERY,
    CLIMATE,
    DRAFT,
    NO_CLIMATE,
    OUTING,
    OWN,
    chosen_key,
    say,
    use_profile,
)

CASES = "cases"
WORDS = {BATTERY: "Battery", OUTING: "Outing", CLIMATE: "Climate"}


def case_part(library: Library, entry: Entry) -> None:
    """What the case joins, its note, and opening it."""
    text = library.load("cases", entry.key)[0]
    checked = check_text("cases", text, library.folder, entry.path.name)
    if checked.profile is None:
        problems_part(checked.problems, title="This case cannot be read")
        return
    case = checked.profile
    joined = {BATTERY: case.battery, OUTING: case.outing, CLIMATE: case.climate}
    missing = []
    for kind, key in joined.items():
        profiles = choosable(kind)
        if key is not None and key not in profiles:
            missing.append(kind)
        name = "not chosen" if key is None else profiles[key].label if key in profiles else f"{key} (gone)"
        st.markdown(f"{WORDS[kind]}: {plain(name)}")
    if case.note:
        st.markdown(plain(case.note))
    if st.button("Open this case", key=f"open_{entry.key}"):
        for kind, key in joined.items():
            if key is not None and kind not in missing:
                use_profile(kind, key)
            elif kind == CLIMATE:
                use_profile(kind, NO_CLIMATE)
        say(f"Opened: {entry.name}. {_in_use(missing)}")
        st.rerun()


def _in_use(missing: list[str]) -> str:
    """What is in use after a case was opened; of what it joins and the library has no more, what is there instead."""
    if not missing:
        return "Its battery, outing and climate are in use on every page."
    there = [kind for kind in (BATTERY, OUTING) if kind in missing]
    stay = "stays" if len(there) == 1 else "stay"
    stays = f" The {' and the '.join(there)} of before {stay} in use." if there else ""
    left_out = " Charging in the cold is left out." if CLIMATE in missing else ""
    return f"But its {' and its '.join(missing)} cannot be found: this is not the case as it was kept.{stays}{left_out}"


def keep_case_part(library: Library) -> None:
    """What is in use now, kept as a case."""
    st.header("Keep what is in use now as a case", anchor=False)
    chosen = {kind: st.session_state[chosen_key(kind)] for kind in WORDS}
    unsaved = [kind for kind, key in chosen.items() if key == OWN or (key or "").startswith(DRAFT)]
    if unsaved:
        st.markdown(f"Save the {' and the '.join(unsaved)} first: a case joins saved profiles.")
        return
    with st.form("keep_case", border=False):
        name = st.text_input(
            "Buyer’s case", placeholder="such as: two days on the reservoir, back seat mount"
        )
        note = st.text_area("What the buyer asked, in the buyer’s own words", max_chars=10_000)
        wanted = st.form_submit_button("Keep it")
    if not wanted:
        return
    text = next(iter(TEMPLATES[CASES].values()))
    values = {"name": name.strip(), "note": note.strip() or None}
    values |= {kind: None if key == NO_CLIMATE else key for kind, key in chosen.items()}
    try:
        for key, value in values.items():
            text = set_value(text, key, value)
        checked = check_text(CASES, text, library.folder, "case")
        if checked.problems:
            raise InputRefused(checked.problems)
        library.save(CASES, name.strip(), text, None)
    except InputRefused as refused:
        problems_part(refused.problems, title="Not kept")
        return
    say(f"Kept: {name.strip()}")
    st.rerun()
