"""What a session remembers. All defaults are set here; no other code guesses a missing key.

The choices stand in the page's address too, so that a reload or a crash finds them again. An address is foreign
text: it names a profile by its key and nothing else.
"""

from __future__ import annotations

import re

import streamlit as st

from planner.screens.plain_text import plain

BATTERY, OUTING, CLIMATE, CASE = "battery", "outing", "climate", "case"
OWN = "own file"
NO_CLIMATE = "no climate"
DRAFT = "draft-"  # before a draft's id
LONG_WORK = ("limits", "next_test", "sensitivity", "pairs")  # done when a button asks for it
MANY = ("sweep", "fleet")  # many answers at once, worked out with a bar
FIRST = {BATTERY: "unit_three", OUTING: "trolling_day", CLIMATE: NO_CLIMATE}
_KEY = re.compile(r"[a-z0-9_-]{1,80}")


def initial_state() -> None:
    """Set what is not set yet: the choices of the first screen, and the uploads kept behind them."""
    for kind, first in FIRST.items():
        st.session_state.setdefault(chosen_key(kind), _from_address(kind) or first)
        st.session_state.setdefault(upload_key(kind), None)
    for subject in LONG_WORK:
        st.session_state.setdefault(wanted_key(subject), None)
    for subject in MANY:
        st.session_state.setdefault(many_key(subject), None)


def remember_in_address(further: dict[str, str | None]) -> None:
    """Write the choices into the page's address, those of the first screen left out.

    further : what else is to stand there, None for what is not.
    All at once: each writing is a step of its own for the browser's way back.
    """
    wanted = dict(further)
    for kind, first in FIRST.items():
        chosen = st.session_state[chosen_key(kind)]
        wanted[kind] = chosen if chosen != first and _KEY.fullmatch(chosen or "") else None
    held = st.query_params.to_dict()
    told = {key: value for key, value in (held | wanted).items() if value is not None}
    if told != held:
        st.query_params.from_dict(told)


def _from_address(kind: str) -> str | None:
    found = st.query_params.get(kind)
    return found if found is not None and _KEY.fullmatch(found) else None


def chosen_key(kind: str) -> str:
    """Key of the choice: a profile's key, DRAFT and a draft's id, OWN, or NO_CLIMATE.

    It is no widget's own key: a widget on a page that was left, or not drawn to its end, forgets or overrules.
    """
    return f"{kind}_in_use"


def choice_key(kind: str) -> str:
    """Key of the widget that shows the choice; another one after each choice that a button made."""
    turn = st.session_state.get(_turn_key(kind), 0)
    return f"{kind}_chosen_{turn}" if turn else f"{kind}_chosen"


def _turn_key(kind: str) -> str:
    return f"{kind}_turn"


def upload_key(kind: str) -> str:
    """Key of the last upload of this kind, a Given; it outlives the uploader, which forgets on a page change."""
    return f"{kind}_given"


def wanted_key(subject: str) -> str:
    """Key of the digest of what long work was last asked for; None before."""
    return f"{subject}_wanted"


def many_key(subject: str) -> str:
    """Key of the last work of many answers: the digest of what was asked, and what came of it; None before."""
    return f"{subject}_found"


def use_profile(kind: str, key: str) -> None:
    """Choose a profile or a draft for every page."""
    st.session_state[chosen_key(kind)] = key
    st.session_state[_turn_key(kind)] = st.session_state.get(_turn_key(kind), 0) + 1


def say(text: str) -> None:
    """Something to tell after the page is drawn anew."""
    st.session_state["said"] = text


def told() -> None:
    """Tell it, once. Its place is held when there is nothing to tell.

    A field that moves a place down the page is made anew in the browser, and a list that was open there is gone.
    """
    place = st.container()
    text = st.session_state.pop("said", None)
    if text is not None:
        place.success(plain(text))
