"""A buyer's case: which battery, outing and climate belong together, and a note."""

from __future__ import annotations

from dataclasses import dataclass

from planner.library.file_name import LONGEST, is_file_key
from planner.toml_table import Table

LONGEST_NOTE = 10_000


@dataclass(frozen=True, slots=True)
class Case:
    """Keys of profiles in the library; None where nothing is chosen yet."""

    name: str
    battery: str | None
    outing: str | None
    climate: str | None
    note: str


def case_from_table(top: Table) -> Case:
    """A case from a table already opened. Raises InputRefused with every problem of it."""
    case = Case(
        name=top.text("name", required=True),
        battery=_key(top, "battery"),
        outing=_key(top, "outing"),
        climate=_key(top, "climate"),
        note=top.text("note", longest=LONGEST_NOTE) or "",
    )
    top.finish()
    return case


def _key(top: Table, kind: str) -> str | None:
    key = top.text(kind, longest=LONGEST)
    if key is not None and not is_file_key(key):
        fix = "Write the profile's file name without folder and ending, such as unit-one."
        top.problem(kind, key, "small letters, digits, - and _", fix)
    return key
