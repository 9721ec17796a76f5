"""What a session remembers. All defaults are set here; no other code guesses a missing key."""

from __future__ import annotations

import streamlit as st

BATTERY, OUTING, CLIMATE = "battery", "outing", "climate"
OWN = "own file"
NO_CLIMATE = "no climate"
LONG_WORK = ("limits", "next_test", "sensitivity", "pairs")  # done when a button asks for it
FIRST = {BATTERY: "unit_three", OUTING: "trolling_day", CLIMATE: NO_CLIMATE}


def initial_state() -> None:
    """Set what is not set yet: the choices of the first screen, and the uploads kept behind them."""
    for kind, first in FIRST.items():
        st.session_state.setdefault(chosen_key(kind), first)
        st.session_state.setdefault(upload_key(kind), None)
    for subject in LONG_WORK:
        st.session_state.setdefault(wanted_key(subject), None)


def chosen_key(kind: str) -> str:
    """Key of the choice: a demo profile's key, OWN, or NO_CLIMATE."""
    return f"{kind}_chosen"


def upload_key(kind: str) -> str:
    """Key of the last upload of this kind, a Given; it outlives the uploader, which forgets on a page change."""
    return f"{kind}_given"


def wanted_key(subject: str) -> str:
    """Key of the digest of what long work was last asked for; None before."""
    return f"{subject}_wanted"
