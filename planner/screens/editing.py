"""The text being edited: every change goes into a draft on the disk at once, and can be taken back.

The draft is what every page reads from then on, so that the verdict answers to each change.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass, replace

import streamlit as st

from planner.errors import InputRefused, Problem
from planner.library.draft import Draft, drafts, keep_draft, new_draft, remove_draft, save_draft
from planner.library.edit import set_value
from planner.library.entries import Entry, name_in
from planner.library.file_name import spoken
from planner.library.store import Library, SavedMeanwhile, open_library
from planner.screens.shelf import FOLDERS, chosen_draft, draft_key
from planner.screens.state import FIRST, NO_CLIMATE, OWN, chosen_key, say, use_profile
from planner.toml_text import parse

Edit = Callable[[str], str]
MOST_UNDONE = 200


@dataclass(frozen=True, slots=True)
class Subject:
    """What is in the editor: a draft, or a saved profile not changed yet."""

    kind: str
    text: str
    name: str
    draft: Draft | None
    entry: Entry | None

    @property
    def read_only(self) -> bool:
        """Whether it is demo data, which is copied before it is changed."""
        return self.draft is None and self.entry is not None and self.entry.read_only


def subject(library: Library, kind: str) -> Subject | None:
    """What is chosen for the kind. None for an upload, or where nothing is chosen. Raises InputRefused."""
    chosen = st.session_state[chosen_key(kind)]
    if chosen in (None, OWN, NO_CLIMATE):
        return None
    draft = chosen_draft(library, chosen)
    if draft is not None:
        return Subject(kind, draft.text, draft.name, draft, None)
    entry = library.find(FOLDERS[kind], chosen)
    return Subject(kind, library.load(entry.kind, entry.key)[0], entry.name, None, entry)


def form_id(found: Subject) -> str:
    """Begins the keys of the editor's fields; another one whenever they must show the text anew.

    That is so too when another window changed it: fields would hold what is no longer there, and a step back would take
    the other window's change back unseen.
    """
    kind = found.kind
    held = st.session_state.get(_form_key(kind))
    chosen = st.session_state[chosen_key(kind)]
    seen = st.session_state.get(_seen_key(kind))
    st.session_state[_seen_key(kind)] = found.text
    st.session_state[_elsewhere_key(kind)] = held is not None and held[0] == chosen and seen != found.text
    if held is None or held[0] != chosen:
        st.session_state[_undo_key(kind)] = []
        st.session_state[_trouble_key(kind)] = ()
        return _renew(kind)
    if changed_elsewhere(kind):
        st.session_state[_undo_key(kind)] = []
        return _renew(kind)
    return f"{kind}_{held[1]}"


def changed_elsewhere(kind: str) -> bool:
    """Whether another window changed the text since the fields were drawn last."""
    return bool(st.session_state[_elsewhere_key(kind)])


def _renew(kind: str) -> str:
    mark = secrets.token_hex(4)
    st.session_state[_form_key(kind)] = (st.session_state[chosen_key(kind)], mark)
    return f"{kind}_{mark}"


def trouble(kind: str) -> tuple[Problem, ...]:
    """Why the last change could not be made."""
    found: tuple[Problem, ...] = st.session_state.get(_trouble_key(kind), ())
    return found


def change(kind: str, edit: Edit, anew: bool = False) -> None:
    """Make a change; a callback of a field or a button. anew : rows moved, so that all fields are drawn anew."""
    st.session_state[_trouble_key(kind)] = ()
    try:
        library = open_library()
        found = subject(library, kind)
        if found is None or found.read_only:
            return
        text = edit(found.text)
        if text == found.text:
            return
        _keep(library, found, text)
        st.session_state[_undo_key(kind)] = [*st.session_state[_undo_key(kind)], found.text][-MOST_UNDONE:]
    except InputRefused as refused:
        st.session_state[_trouble_key(kind)] = refused.problems
        _renew(kind)
        return
    if anew:
        _renew(kind)


def undo(kind: str) -> None:
    """Take the last change back; a callback."""
    done: list[str] = st.session_state[_undo_key(kind)]
    if not done:
        return
    try:
        library = open_library()
        found = subject(library, kind)
        if found is None or found.text != st.session_state[_seen_key(kind)]:
            return  # another window changed it: the page shows it anew first
        _keep(library, found, done[-1])
    except InputRefused as refused:
        st.session_state[_trouble_key(kind)] = refused.problems
        return
    st.session_state[_undo_key(kind)] = done[:-1]
    _renew(kind)


def can_undo(kind: str) -> bool:
    """Whether there is a change to take back."""
    return bool(st.session_state.get(_undo_key(kind)))


def _keep(library: Library, found: Subject, text: str) -> None:
    """The text as this window's draft, in use on every page from now on."""
    draft = found.draft
    if draft is None:
        assert found.entry is not None
        version = library.load(found.entry.kind, found.entry.key)[1]
        draft = new_draft(found.entry.kind, found.name, text, found.entry.key, version)
    kept = keep_draft(library, replace(draft, text=text, name=_name_of(text) or draft.name))
    if kept.name != found.name or st.session_state[chosen_key(found.kind)] != draft_key(kept):
        use_profile(found.kind, draft_key(kept))
    mark = st.session_state[_form_key(found.kind)][1]
    st.session_state[_form_key(found.kind)] = (draft_key(kept), mark)
    if st.session_state[_seen_key(found.kind)] == found.text:
        st.session_state[_seen_key(found.kind)] = text


def begin(library: Library, kind: str, text: str, name: str) -> None:
    """Begin a new profile with this text, as a draft under a name that is free."""
    used = {spoken(entry.name) for entry in library.list_profiles(FOLDERS[kind])}
    used |= {spoken(draft.name) for draft in drafts(library)}
    number, free = 2, name
    while spoken(free) in used:
        number, free = number + 1, f"{name} {number}"
    kept = keep_draft(library, new_draft(FOLDERS[kind], free, set_value(text, "name", free)))
    use_profile(kind, draft_key(kept))


def save(library: Library, found: Subject) -> None:
    """Save the draft as its profile, in use from then on. Raises SavedMeanwhile and InputRefused."""
    assert found.draft is not None
    save_draft(library, found.draft)
    _settled(library, found.kind, found.draft.key or found.name)
    say(f"Saved: {found.name}")


def save_over(library: Library, found: Subject, meanwhile: SavedMeanwhile) -> None:
    """Save over the version that came in between; that one stays among the versions."""
    assert found.draft is not None
    entry = library.find(FOLDERS[found.kind], found.draft.key or found.name)
    save(library, replace(found, draft=replace(found.draft, key=entry.key, based_on=meanwhile.their_version)))


def save_as(library: Library, found: Subject, name: str) -> None:
    """Save the draft as a new profile under another name."""
    assert found.draft is not None
    text = set_value(found.text, "name", name)
    save(
        library,
        replace(found, name=name, draft=replace(found.draft, name=name, text=text, key=None, based_on=None)),
    )


def throw_away(library: Library, found: Subject) -> None:
    """Drop the draft; the saved profile it came from is in use again."""
    assert found.draft is not None
    remove_draft(library, found.draft.id)
    known = {entry.key for entry in library.list_profiles(FOLDERS[found.kind])}
    key = found.draft.key
    use_profile(found.kind, key if key in known and key is not None else FIRST[found.kind])
    say(f"Thrown away: what was not saved of {found.name}")


def _settled(library: Library, kind: str, name: str) -> None:
    use_profile(kind, library.find(FOLDERS[kind], name).key)


def _name_of(text: str) -> str | None:
    try:
        return name_in(parse(text.encode("utf-8", "replace"), "text"))
    except InputRefused:
        return None


def _form_key(kind: str) -> str:
    return f"{kind}_form"


def _seen_key(kind: str) -> str:
    """The text as the fields show it."""
    return f"{kind}_seen"


def _elsewhere_key(kind: str) -> str:
    return f"{kind}_elsewhere"


def _undo_key(kind: str) -> str:
    return f"{kind}_undo"


def _trouble_key(kind: str) -> str:
    return f"{kind}_trouble"
