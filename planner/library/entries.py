"""What a list of profiles shows of each: name and note, read from the file itself."""

from __future__ import annotations

import datetime
import os
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from planner import toml_text
from planner.errors import InputRefused
from planner.library.file_name import spoken

PROFILE_KINDS = ("batteries", "outings", "climates", "cases")
COMPANION_KINDS = ("logs", "weather")
LONGEST_SHOWN = 200  # characters of a name, as the readers accept it
LONGEST_NOTE = 2_000


@dataclass(frozen=True, slots=True)
class Entry:
    """One profile of a list.

    key : its file name without ending; it stays when the name changes. note : the text's own note, or the
    comment on its first lines. read_only : demo data. readable : False when the file is no TOML any more.
    """

    kind: str
    key: str
    name: str
    note: str
    path: Path
    changed_at: datetime.datetime
    read_only: bool = False
    archived: bool = False
    readable: bool = True


def entries_in(folder: Path, kind: str, *, read_only: bool = False, archived: bool = False) -> list[Entry]:
    """The profiles of a folder, by name; none when there is no such folder.

    Hidden files, half-written ones among them, and anything that is no plain file are left out.
    """
    try:
        there = os.scandir(folder)
    except (FileNotFoundError, NotADirectoryError):
        return []
    with there:
        files = [
            one for one in there
            if one.name.endswith(".toml") and one.name[0] != "." and one.is_file(follow_symlinks=False)
        ]  # fmt: skip
    found: list[Entry] = []
    for file in files:
        state = file.stat()
        stamp = (state.st_mtime_ns, state.st_size, state.st_ino)
        found.append(_entry(file.path, stamp, kind, read_only, archived))
    return sorted(found, key=lambda entry: (spoken(entry.name), entry.key))


# A saved file is a new file, so the node's number alone would tell a stale answer; an edit by hand changes
# time or size. Reading 500 profiles anew at every click would take a second, and every look lists all kinds.
@lru_cache(maxsize=1024)
def _entry(file: str, stamp: tuple[int, int, int], kind: str, read_only: bool, archived: bool) -> Entry:
    path, when = Path(file), datetime.datetime.fromtimestamp(stamp[0] / 1e9, datetime.UTC)
    try:
        data = toml_text.read_file(path)
        values = toml_text.parse(data, path.name)
    except InputRefused:
        return Entry(kind, path.stem, path.stem, "", path, when, read_only, archived, readable=False)
    note = _note(values, data.decode("utf-8-sig"))
    return Entry(kind, path.stem, name_in(values) or path.stem, note, path, when, read_only, archived)


def name_in(values: dict[str, Any]) -> str | None:
    """The profile's name for people, None when the text states none."""
    name = values.get("name")
    return name[:LONGEST_SHOWN] if isinstance(name, str) and name.strip() else None


def _note(values: dict[str, Any], text: str) -> str:
    teardown = values.get("teardown")
    notes = teardown.get("notes") if isinstance(teardown, dict) else None
    comment = []
    for line in text.splitlines():
        if not line.startswith("#"):
            break
        comment.append(line.lstrip("# ").rstrip())
    parts = [values.get("note"), " ".join(comment), notes]
    return "\n".join(part for part in parts if isinstance(part, str) and part.strip())[:LONGEST_NOTE]
