"""Text not saved yet, kept so that a reload, a crash or a power cut loses nothing. It need not be TOML."""

from __future__ import annotations

import datetime
import json
import secrets
from dataclasses import dataclass, replace
from pathlib import Path

from planner.errors import InputRefused, Problem
from planner.library.atomic_file import UNFINISHED, write_atomically
from planner.library.disk_trouble import told_as_refusal
from planner.library.entries import PROFILE_KINDS
from planner.library.history import Version
from planner.library.store import Library

DRAFTS = ".drafts"
LONGEST_TEXT = 2_000_000  # characters, as a profile may have bytes
MOST_DRAFTS = 500
LONGEST_NAME = 200
DIGITS = 32  # of an id, in hexadecimal: no one guesses another window's


@dataclass(frozen=True, slots=True)
class Draft:
    """Unsaved text. key, based_on : the profile and version it began from; None for a new profile."""

    id: str
    kind: str
    name: str
    text: str
    key: str | None = None
    based_on: Version | None = None
    saved_at: datetime.datetime | None = None


def new_draft(
    kind: str, name: str, text: str, key: str | None = None, based_on: Version | None = None
) -> Draft:
    """A draft with an id of its own, not kept yet."""
    return Draft(secrets.token_hex(DIGITS // 2), kind, name, text, key, based_on)


def keep_draft(library: Library, draft: Draft) -> Draft:
    """Keep the draft as it is now, in place of its former text. Returns it with the time.

    Raises InputRefused: its id, kind or length, too many drafts, or the disk refuses.
    """
    path = _path(library, draft.id)
    if draft.kind not in PROFILE_KINDS or len(draft.text) > LONGEST_TEXT:
        found = f"{draft.kind[:20]}, {len(draft.text)} characters"
        allowed = f"{' | '.join(PROFILE_KINDS)}, at most {LONGEST_TEXT} characters"
        raise InputRefused([Problem("draft", "(file)", found, allowed, "Put long data in a CSV log.")])
    kept = replace(draft, name=draft.name[:LONGEST_NAME], saved_at=datetime.datetime.now(datetime.UTC))
    with told_as_refusal(path.parent):
        path.parent.mkdir(parents=True, exist_ok=True)
        if not path.exists() and sum(1 for _ in path.parent.glob("*.json")) >= MOST_DRAFTS:
            fix = "Save or remove some of them first."
            raise InputRefused([Problem("draft", "(file)", "one more", f"at most {MOST_DRAFTS}", fix)])
        write_atomically(path, _packed(kept))
    return kept


def drafts(library: Library) -> tuple[Draft, ...]:
    """All drafts kept, the latest first. A file that is none, damaged by hand for instance, is passed over."""
    folder = library.folder / DRAFTS
    with told_as_refusal(folder):
        found = [_unpacked(path) for path in folder.glob("*.json")] if folder.is_dir() else []
    kept = [draft for draft in found if draft is not None]
    oldest = datetime.datetime.min.replace(tzinfo=datetime.UTC)
    return tuple(sorted(kept, key=lambda draft: (draft.saved_at or oldest, draft.id), reverse=True))


def draft_of(library: Library, draft_id: str) -> Draft | None:
    """The draft of that id, for a page that was loaded again; None when it was saved or removed."""
    path = _path(library, draft_id)
    with told_as_refusal(path.parent):
        return _unpacked(path) if path.is_file() else None


def save_draft(library: Library, draft: Draft) -> Version:
    """Save the draft's text as its profile, then remove the draft.

    Raises what `Library.save` raises, SavedMeanwhile too; the draft is then still there.
    """
    version = library.save(draft.kind, draft.key or draft.name, draft.text, draft.based_on)
    remove_draft(library, draft.id)
    return version


def remove_draft(library: Library, draft_id: str) -> None:
    """Remove a draft; none of that id is no trouble."""
    path = _path(library, draft_id)
    with told_as_refusal(path.parent):
        path.unlink(missing_ok=True)
        if path.parent.is_dir() and not any(path.parent.glob("*.json")):
            _remove_litter(path.parent)


def _remove_litter(folder: Path) -> None:
    """Half-written files of killed programs, a day old: another window may be writing a young one."""
    day_ago = datetime.datetime.now().timestamp() - 86_400.0
    for path in folder.glob(f"{UNFINISHED}*"):
        if path.stat().st_mtime < day_ago:
            path.unlink(missing_ok=True)


def _path(library: Library, draft_id: str) -> Path:
    """The draft's file. An id comes back from a page's address, so it is foreign text."""
    if len(draft_id) != DIGITS or not set(draft_id) <= set("0123456789abcdef"):
        allowed = f"{DIGITS} hexadecimal digits"
        raise InputRefused(
            [Problem("draft", "id", ascii(draft_id[:40]), allowed, "Open the list of drafts.")]
        )
    return library.folder / DRAFTS / f"{draft_id}.json"


def _packed(draft: Draft) -> bytes:
    base = draft.based_on
    values = {
        "kind": draft.kind,
        "name": draft.name,
        "text": draft.text,
        "key": draft.key,
        "based_on": base and [base.number, base.sha256, base.saved_at.isoformat()],
        "saved_at": draft.saved_at and draft.saved_at.isoformat(),
    }
    return json.dumps(values).encode()  # ASCII: half a letter, typed or pasted, is kept too


def _unpacked(path: Path) -> Draft | None:
    try:
        values = json.loads(path.read_bytes())
        number, sha256, when = values["based_on"] or (0, "", "")
        return Draft(
            id=path.stem,
            kind=values["kind"],
            name=values["name"],
            text=values["text"],
            key=values["key"],
            based_on=Version(number, sha256, datetime.datetime.fromisoformat(when)) if number else None,
            saved_at=datetime.datetime.fromisoformat(values["saved_at"]),
        )
    except (ValueError, KeyError, TypeError):
        return None
