"""What can be chosen: profiles of the user's library, demo profiles, and the draft this window is working on."""

from __future__ import annotations

from dataclasses import dataclass

from planner.errors import InputRefused
from planner.library.draft import Draft, draft_of
from planner.library.entries import entries_in
from planner.library.place import DEMO
from planner.library.store import Library, open_library
from planner.screens.given import Given, Upload
from planner.screens.state import BATTERY, CASE, CLIMATE, DRAFT, OUTING

FOLDERS = {BATTERY: "batteries", OUTING: "outings", CLIMATE: "climates", CASE: "cases"}
KINDS = {folder: kind for kind, folder in FOLDERS.items()}


@dataclass(frozen=True, slots=True)
class Choosable:
    """One profile that can be chosen. demo : read only. saved_as : the key or name that a draft is saved under."""

    key: str
    label: str
    given: Given
    demo: bool = False
    saved_as: str | None = None


def library_or_none() -> Library | None:
    """The user's library; None where its folder cannot be one, which the page of the library tells."""
    try:
        return open_library()
    except InputRefused:
        return None


def choosable(kind: str, chosen: str | None = None) -> dict[str, Choosable]:
    """By key: the draft that is chosen, the user's own profiles, then the demo profiles.

    A profile of the user's under a demo profile's key stands in its place.
    """
    library = library_or_none()
    entries, draft = None, None
    if library is not None:
        try:
            entries = library.list_profiles(FOLDERS[kind])
            draft = chosen_draft(library, chosen)
        except InputRefused:
            pass
    if entries is None:
        entries = tuple(entries_in(DEMO / FOLDERS[kind], FOLDERS[kind], read_only=True))
    found = {}
    if draft is not None and library is not None:
        key = draft_key(draft)
        label, given = f"{draft.name} (not saved yet)", given_of(library, draft)
        found[key] = Choosable(key, label, given, saved_as=draft.key or draft.name)
    for entry in entries:  # the user's own first
        given = Given(entry.path, title=entry.name)
        found.setdefault(entry.key, Choosable(entry.key, entry.name, given, entry.read_only))
    return found


def at_first(entries: dict[str, Choosable]) -> list[str]:
    """What is chosen where several are and nobody has chosen yet: the user's own, and all while there are none.

    No buyer is served by a demo unit, and none has a demo outing.
    """
    return [key for key, entry in entries.items() if not entry.demo] or list(entries)


def draft_key(draft: Draft) -> str:
    """The choice that stands for a draft."""
    return DRAFT + draft.id


def chosen_draft(library: Library, chosen: str | None) -> Draft | None:
    """The draft a choice stands for; None when it stands for none, or the draft is gone."""
    if chosen is None or not chosen.startswith(DRAFT):
        return None
    try:
        return draft_of(library, chosen.removeprefix(DRAFT))
    except InputRefused:  # the choice came from an address
        return None


def given_of(library: Library, draft: Draft) -> Given:
    """A draft as an input: read as if it were saved already."""
    text = draft.text.encode("utf-8", "replace")
    return Given(main=Upload(f"{draft.name}.toml", text), folder=library.folder / draft.kind)
