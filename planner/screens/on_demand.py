"""Work that takes seconds and is done only when a button asks for it."""

from __future__ import annotations

import streamlit as st

from planner.screens.state import wanted_key


def wanted(subject: str, label: str, digest: str) -> bool:
    """Whether this long work was asked for, of just these inputs."""
    if st.button(label, key=f"do_{subject}"):
        st.session_state[wanted_key(subject)] = digest
    return bool(st.session_state[wanted_key(subject)] == digest)
