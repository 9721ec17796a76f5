"""Which fields a table is asked for, and its text without those that go with another kind."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeVar

from planner.library.sections import Path
from planner.screens.form import Field, Grid, Group, is_asked
from planner.screens.typed import value_at, with_value
from planner.toml_text import parse

Asked = TypeVar("Asked", Field, Grid)


def asked(offered: Sequence[Asked], table: dict[str, Any]) -> list[Asked]:
    """What is asked of a table, in its order; a key that it holds out of place too, so that it can be taken out.

    Two fields of one key are never both asked: one key has one place on the page.
    """
    found = [each for each in offered if is_asked(each, table)]
    keys = {each.key for each in found}
    for each in offered:
        if each.key not in keys and value_at(table, tuple(each.key.split("."))) is not None:
            keys.add(each.key)
            found.append(each)
    return sorted(found, key=offered.index)


def asked_columns(grid: Grid, table: dict[str, Any]) -> list[Field]:
    """The columns asked of a small table, and those that one of its rows holds out of place."""
    rows = table.get(grid.key)
    held = {key for row in rows if isinstance(row, dict) for key in row} if isinstance(rows, list) else set()
    return [column for column in grid.columns if is_asked(column, table) or column.key in held]


def without_other_kinds(text: str, path: Path, group: Group) -> str:
    """The text without what the table at the place holds for another kind than its own.

    Left there, a figure of the old kind would be refused and stand in no field of the new one.
    """
    table = value_at(parse(text.encode("utf-8", "replace"), "text"), path)
    if not isinstance(table, dict):
        return text
    offered: tuple[Field | Grid, ...] = (*group.fields, *group.grids)
    fitting = {each.key.split(".")[0] for each in offered if is_asked(each, table)}
    for key in sorted({each.key.split(".")[0] for each in offered} - fitting):
        text = with_value(text, (*path, key), None)
    for grid in group.grids:
        rows = table.get(grid.key) if grid.key in fitting else None
        for number, row in enumerate(rows if isinstance(rows, list) else [], start=1):
            for column in grid.columns:
                if isinstance(row, dict) and column.key in row and not is_asked(column, table):
                    text = with_value(text, (*path, grid.key, number, column.key), None)
    return text
