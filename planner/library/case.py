"""A buyer's case: which battery, outing and climate belong together, and a note."""

from __future__ import annotations

from dataclasses import dataclass

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
        battery=top.text("battery"),
        outing=top.text("outing"),
        climate=top.text("climate"),
        note=top.text("note", longest=LONGEST_NOTE) or "",
    )
    top.finish()
    return case
