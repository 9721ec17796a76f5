"""What the readers say of a text that is still being edited: every problem, by the field it belongs to."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from planner import toml_text
from planner.errors import InputRefused, Problem
from planner.library.case import case_from_table
from planner.library.references import misplaced
from planner.outing.reader import outing_from_table
from planner.record.reader import record_from_table
from planner.toml_table import Table, table_from_bytes
from planner.winter.reader import climate_from_table

READERS: dict[str, Callable[[Table], Any]] = {
    "batteries": record_from_table,
    "outings": outing_from_table,
    "climates": climate_from_table,
    "cases": case_from_table,
}


@dataclass(frozen=True, slots=True)
class Checked:
    """profile : the Record, Outing, Climate or Case; None when there are problems."""

    profile: Any
    problems: tuple[Problem, ...]
    warnings: tuple[str, ...]


def check_text(kind: str, text: str, root: Path, file: str = "text") -> Checked:
    """The text read as a profile of its kind.

    root : the library's folder, or the demo data's; files named outside its folders are refused unread.
    """
    try:
        data = text.encode("utf-8", "replace")
        outside = misplaced(kind, toml_text.parse(data, file), file)
        if outside:
            return Checked(None, outside, ())
        top = table_from_bytes(data, file, root / kind)
        return Checked(READERS[kind](top), (), top.warnings)
    except InputRefused as refusal:
        return Checked(None, refusal.problems, ())


def problems_at(problems: Iterable[Problem], place: str) -> tuple[Problem, ...]:
    """Those of one field or row, "load.2" or "load.2.power", and of what is inside it."""
    return tuple(
        problem for problem in problems if problem.key == place or problem.key.startswith(f"{place}.")
    )
