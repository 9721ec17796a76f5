"""A part of a page that is folded away, and drawn only while it is open."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import streamlit as st


@contextmanager
def opening(name: str, label: str, key: str, at_first: bool = False, must: bool = False) -> Iterator[bool]:
    """A box that is told apart by `name`; gives whether it is open, so that nothing inside is made for a closed one.

    The framework forgets what is open when a box's label or key changes; here it stays as it was left.
    at_first : open when it is first drawn. must : opened whenever the label or key changes.
    """
    held = st.session_state.get(f"opening:{name}")
    if held is None:
        begun = must or at_first
    elif held[:2] != (label, key):
        begun = must or held[3]
    else:
        begun = held[2]
    box = st.expander(label, expanded=begun, key=key, on_change="rerun")
    is_open = bool(box.open)
    st.session_state[f"opening:{name}"] = (label, key, begun, is_open)
    with box:
        yield is_open
