"""The files a profile's text names, and where they may be: in the folders of the library alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from planner.errors import Problem
from planner.library.entries import COMPANION_KINDS, PROFILE_KINDS
from planner.library.file_name import file_key_with_ending

FILE_KEYS = ("log", "weather")  # one file
FILE_LIST_KEYS = ("repeats", "units")  # several
CASE_KEYS = {"battery": "batteries", "outing": "outings", "climate": "climates"}
Place = tuple[str | int, ...]


def references(values: Mapping[str, Any], place: Place = ()) -> Iterator[tuple[Place, str]]:
    """(place, path as written) of every file the values name; list places count from 1."""
    for key, value in values.items():
        here = (*place, key)
        if key in FILE_KEYS and isinstance(value, str):
            yield here, value
        elif isinstance(value, dict):
            yield from references(value, here)
        elif isinstance(value, list):
            for number, entry in enumerate(value, start=1):
                if isinstance(entry, dict):
                    yield from references(entry, (*here, number))
                elif key in FILE_LIST_KEYS and isinstance(entry, str):
                    yield (*here, number), entry


def target_of(kind: str, written: str) -> str | None:
    """The target "logs/run-3.csv" for "../logs/run-3.csv" in a profile of that kind; None for a place elsewhere."""
    parts = written.split("/")
    if len(parts) == 1:
        parts = ["..", kind, *parts]
    if len(parts) != 3 or parts[0] != ".." or parts[1] not in PROFILE_KINDS + COMPANION_KINDS:
        return None
    return f"{parts[1]}/{parts[2]}" if parts[2] == file_key_with_ending(parts[2]) else None


def written_as(target: str) -> str:
    """How a profile writes a file of the library."""
    return f"../{target}"


def misplaced(kind: str, values: Mapping[str, Any], file: str) -> tuple[Problem, ...]:
    """A problem for every file named outside the library's folders."""
    allowed = 'a file in the library, such as "../logs/run-3.csv"'
    fix = "Add the file to the library first, then name it so."
    return tuple(
        Problem(file, ".".join(map(str, place)), written[:60], allowed, fix)
        for place, written in references(values)
        if target_of(kind, written) is None
    )
