"""Every text a profile ever had, one file a version: number, time and SHA-256 stand in the file's name.

Order is the number's alone: a clock that goes back reorders nothing. A text is checked against its
digest whenever it is read.
"""

from __future__ import annotations

import datetime
import difflib
import hashlib
import re
from dataclasses import dataclass
from pathlib import Path

from planner.errors import InputRefused, Problem
from planner.library.atomic_file import remove_unfinished, write_atomically

_NAME = re.compile(r"([0-9]{6,9})_([0-9]{8}T[0-9]{6}Z)_([0-9a-f]{64})\.toml")
_TIME = "%Y%m%dT%H%M%SZ"


@dataclass(frozen=True, slots=True)
class Version:
    """One saved text. number : from 1, without gaps in meaning; saved_at : UTC, for people only."""

    number: int
    sha256: str
    saved_at: datetime.datetime

    def same_as(self, other: Version) -> bool:
        """Whether both name one save; the time does not count."""
        return (self.number, self.sha256) == (other.number, other.sha256)

    @property
    def file_name(self) -> str:
        """The name of its file."""
        return f"{self.number:06d}_{self.saved_at.strftime(_TIME)}_{self.sha256}.toml"


def version_of(text: str, number: int, saved_at: datetime.datetime | None = None) -> Version:
    """The version a text makes; now when no time is given."""
    when = saved_at or datetime.datetime.now(datetime.UTC)
    return Version(number, digest(text), when.astimezone(datetime.UTC).replace(microsecond=0))


def digest(text: str) -> str:
    """SHA-256 of the text as UTF-8, in hexadecimal."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def versions(folder: Path) -> tuple[Version, ...]:
    """All versions kept in a folder, oldest first; empty when there is no such folder."""
    if not folder.is_dir():
        return ()
    found = (_NAME.fullmatch(path.name) for path in folder.iterdir())
    kept = (
        Version(int(match[1]), match[3], datetime.datetime.strptime(match[2] + "+0000", _TIME + "%z"))
        for match in found
        if match is not None
    )
    return tuple(sorted(kept, key=lambda version: (version.number, version.sha256)))


def keep(folder: Path, text: str, version: Version) -> None:
    """Put a text among the versions. Raises OSError. Only while holding the library's lock."""
    folder.mkdir(parents=True, exist_ok=True)
    remove_unfinished(folder)
    write_atomically(folder / version.file_name, text.encode("utf-8"))


def text_of(folder: Path, number: int) -> str:
    """The text of one version. Raises InputRefused: no such version, or its file was damaged."""
    for version in versions(folder):
        if version.number == number:
            path = folder / version.file_name
            data = path.read_bytes()
            if hashlib.sha256(data).hexdigest() != version.sha256:
                fix = "The disk changed it; take another version."
                raise InputRefused([Problem(path.name, "(file)", "damaged", "the text as saved", fix)])
            return data.decode("utf-8")
    kept = ", ".join(str(version.number) for version in versions(folder)[-20:]) or "none"
    raise InputRefused([Problem(folder.name, "version", str(number), kept, "Take one of these versions.")])


def difference(older: str, newer: str, older_name: str, newer_name: str) -> tuple[str, ...]:
    """The lines that differ, in the unified form, three lines around each; empty when none do."""
    lines = difflib.unified_diff(older.splitlines(), newer.splitlines(), older_name, newer_name, lineterm="")
    return tuple(lines)
