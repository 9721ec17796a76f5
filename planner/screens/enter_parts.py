"""An editor drawn from its form: fields, small tables and rows, each with what is wrong with it beside it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial
from pathlib import Path as FilePath
from typing import Any

import streamlit as st

from planner.errors import Problem
from planner.explain.shown_units import in_other_units
from planner.library.checking import problems_at
from planner.library.edit import add_row, copy_row, delete_row
from planner.library.sections import Path
from planner.screens.asked import asked, asked_columns, without_other_kinds
from planner.screens.editing import change
from planner.screens.field_words import field_words
from planner.screens.form import CHOICE, CHOICES, FILE, FILES, FLAG, LONG_TEXT, Field, Grid, Group
from planner.screens.look import GRID
from planner.screens.opening import opening
from planner.screens.plain_text import plain
from planner.screens.typed import NO, YES, apart, shown_value, typed_value, value_at, with_value
from planner.toml_text import parse
from planner.units import KINDS

FIELD_PX = 215
WIDE_PX = 446  # two fields and the gap between them
CELL_PX = 130
MOST_ROWS = 14  # of a small table as fields; a longer one is a text, one row a line


@dataclass(frozen=True, slots=True)
class Sheet:
    """One text in an editor. id : begins the keys of its fields. files : what a file field may name, by folder.

    form : by whose labels problems are told. at : the group a link led to.
    """

    kind: str
    id: str
    values: dict[str, Any]
    problems: tuple[Problem, ...]
    files: dict[str, tuple[str, ...]]
    read_only: bool
    form: tuple[Group, ...]
    at: str | None = None

    def key(self, path: Path, what: str = "") -> str:
        """The key of a field or button at a place."""
        return f"{self.id}:{'.'.join(map(str, path))}:{what}"


def group_part(sheet: Sheet, group: Group) -> None:
    """One group with all its rows; the fields of a closed one are not drawn, so that a change is answered sooner."""
    wrong = sum(1 for each in sheet.problems if _is_of(group, each))
    with opening(
        f"{sheet.kind}:{group.key}:{sheet.at}",
        group.title + (f" · {wrong} to mend" if wrong else ""),
        sheet.key((group.key,), "box"),
        group.key in ("", "load") if sheet.at is None else group.key == sheet.at,
        bool(wrong),
    ) as is_open:
        if is_open:
            _opened(sheet, group)


def _opened(sheet: Sheet, group: Group) -> None:
    if group.help:
        st.caption(group.help)
    if group.rows == "one":
        _table(sheet, group, (group.key,) if group.key else ())
        if group.key and group.key in sheet.values and not sheet.read_only:
            _button(sheet, (group.key,), "Leave this out", lambda text: with_value(text, (group.key,), None))
        return
    for path, name in _rows(sheet, group):
        _row(sheet, group, path, name)
    if not sheet.read_only:
        _add(sheet, group)


def _is_of(group: Group, problem: Problem) -> bool:
    first = problem.key.split(".")[0]
    if group.key:
        return first == group.key
    return first in {field.key for field in group.fields} | {grid.key for grid in group.grids}


def _rows(sheet: Sheet, group: Group) -> Iterable[tuple[Path, str]]:
    """Place and name of each row of a list or of tables by name."""
    held = sheet.values.get(group.key)
    if group.rows == "named":
        for name in held if isinstance(held, dict) else {}:
            yield (group.key, name), name
        return
    for number, row in enumerate(held if isinstance(held, list) else [], start=1):
        name = row.get("name") if isinstance(row, dict) else None
        yield (group.key, number), f"{group.one} {number}" + (f": {name}" if isinstance(name, str) else "")


def _row(sheet: Sheet, group: Group, path: Path, name: str) -> None:
    with st.container(border=True, key=_css(sheet, path)):
        st.markdown(f"**{plain(name[:1].upper() + name[1:])}**")
        _table(sheet, group, path)
        if sheet.read_only:
            return
        with st.container(horizontal=True):
            if isinstance(path[-1], int):
                _button(
                    sheet, path, f"Copy this {group.one}", partial(copy_row, place=path[:-1], number=path[-1])
                )
                _button(
                    sheet,
                    path,
                    f"Delete this {group.one}",
                    partial(delete_row, place=path[:-1], number=path[-1]),
                )
            else:
                _button(sheet, path, f"Delete this {group.one}", lambda text: with_value(text, path, None))


def _css(sheet: Sheet, path: Path) -> str:
    return "".join(c if c.isalnum() else "_" for c in f"row_{sheet.kind}_{'_'.join(map(str, path))}")


def _add(sheet: Sheet, group: Group) -> None:
    if group.rows == "list":
        _button(
            sheet,
            (group.key,),
            f"Add a {group.one}",
            partial(add_row, place=(group.key,), row=dict(group.first)),
        )
        return
    key = sheet.key((group.key,), "new name")
    with st.container(horizontal=True, vertical_alignment="bottom"):
        st.text_input(f"Name of a new {group.one}", key=key, max_chars=40, width=FIELD_PX)
        _button(
            sheet,
            (group.key,),
            f"Add a {group.one}",
            lambda text: _with_named(text, group, str(st.session_state.get(key) or "").strip()),
        )


def _with_named(text: str, group: Group, name: str) -> str:
    for field, value in group.first.items() if name else ():
        text = with_value(text, (group.key, name, field), value)
    return text


def _button(sheet: Sheet, path: Path, label: str, edit: Any) -> None:
    st.button(label, key=sheet.key(path, label), on_click=change, args=(sheet.kind, edit, True))


def _table(sheet: Sheet, group: Group, path: Path) -> None:
    table = value_at(sheet.values, path) if path else sheet.values
    table = table if isinstance(table, dict) else {}
    with st.container(horizontal=True):
        for field in asked(group.fields, table):
            field_part(sheet, field, (*path, *field.key.split(".")), group=group)
    place = ".".join(map(str, path))
    known = {place + "." + field.key if place else field.key for field in group.fields}
    if path:
        _problems(sheet, [each for each in sheet.problems if each.key == place])
    for grid in asked(group.grids, table):
        _grid(sheet, grid, (*path, grid.key), table)
        known.add(place + "." + grid.key if place else grid.key)
    if path:
        left = [
            each
            for each in problems_at(sheet.problems, place)
            if each.key != place
            and not any(each.key == key or each.key.startswith(key + ".") for key in known)
        ]
        _problems(sheet, left, named=True)


def field_part(
    sheet: Sheet, field: Field, path: Path, width: int = FIELD_PX, group: Group | None = None
) -> None:
    """One field, what it is in other units, and what is wrong with it. group : whose kind the field may change."""
    value = value_at(sheet.values, path)
    shown = shown_value(field, value)
    wide = WIDE_PX if field.kind in (CHOICES, FILES, LONG_TEXT) or path == ("name",) else width
    with st.container(width=wide, gap=None):
        _widget(sheet, field, path, shown, group)
        if field.kind in KINDS and isinstance(value, str):
            other = in_other_units(value, field.kind)
            if other:
                st.caption(f"= {plain(other)}")
        _problems(sheet, problems_at(sheet.problems, ".".join(map(str, path))))


def _widget(sheet: Sheet, field: Field, path: Path, shown: Any, group: Group | None) -> None:
    key, label = sheet.key(path), field.head
    common: dict[str, Any] = {
        "key": key,
        "disabled": sheet.read_only,
        "on_change": _typed,
        "args": (sheet.kind, field, path, key, group),
    }
    if field.kind in (CHOICE, FLAG, FILE):
        options = {CHOICE: _choices(sheet, field), FLAG: (YES, NO), FILE: sheet.files.get(field.folder, ())}[
            field.kind
        ]
        if shown is not None and shown not in options:
            options = (*options, shown)
        st.selectbox(
            label,
            options,
            index=None if shown is None else options.index(shown),
            placeholder="not stated",
            format_func=lambda option: field.words.get(option, _bare(option)),
            **common,
        )
    elif field.kind in (CHOICES, FILES):
        options = field.options or sheet.files.get(field.folder, ())
        st.multiselect(
            label,
            [*options, *(each for each in shown if each not in options)],
            default=shown,
            placeholder=field.hint or "none",
            format_func=lambda option: field.words.get(option, _bare(option)),
            **common,
        )
    elif field.kind == LONG_TEXT:
        st.text_area(label, value=shown or "", placeholder=field.hint, **common)
    else:
        hint = f"such as {apart(field.hint)}" if field.hint[:1].isdigit() or field.hint[:4] == "AWG " else field.hint
        st.text_input(label, value=shown or "", placeholder=hint, **common)


def _choices(sheet: Sheet, field: Field) -> tuple[str, ...]:
    """The words of a choice; of one among tables by name, the names entered."""
    named = sheet.values.get(field.names)
    return tuple(named) if isinstance(named, dict) else field.options


def _bare(option: str) -> str:
    """A file by its name alone, a word with spaces."""
    return FilePath(option).name if "/" in option or option.endswith(".toml") else option.replace("_", " ")


def _typed(kind: str, field: Field, path: Path, key: str, group: Group | None) -> None:
    value = typed_value(field, st.session_state[key])
    if group is not None and field.key == "kind":
        change(kind, lambda text: without_other_kinds(with_value(text, path, value), path[:-1], group), True)
    else:
        change(kind, lambda text: with_value(text, path, value))


def _problems(sheet: Sheet, problems: Iterable[Problem], named: bool = False) -> None:
    for problem in problems:
        where = f"{plain(problem.key)}: " if named else ""
        st.markdown(f":red[▲] {where}{plain(field_words(problem, sheet.form, sheet.values))}")


# ---- small tables ----


def _grid(sheet: Sheet, grid: Grid, path: Path, table: dict[str, Any]) -> None:
    rows = table.get(grid.key)
    rows = rows if isinstance(rows, list) else []
    columns = asked_columns(grid, table)
    st.markdown(f"{plain(grid.title)}")
    if not rows and grid.none:
        st.caption(grid.none)
    if len(rows) > MOST_ROWS:
        _long(sheet, grid, path, rows)
        return
    with st.container(key=_css(sheet, path), gap="small"):
        for number, _ in enumerate(rows, start=1):
            _grid_row(sheet, grid, columns, (*path, number))
    _problems(sheet, (each for each in sheet.problems if each.key == ".".join(map(str, path))))
    if not sheet.read_only and (not grid.heads or not rows):
        first = [grid.first] * (len(grid.heads) or 1)
        label = "Add the twelve months" if grid.heads else "Add a row"
        _button(sheet, path, label, partial(_with_rows, path=path, rows=first))


def _with_rows(text: str, path: Path, rows: list[Any]) -> str:
    for row in rows:
        text = add_row(text, path, row)
    return text


def _grid_row(sheet: Sheet, grid: Grid, columns: list[Field], path: Path) -> None:
    number = path[-1]
    assert isinstance(number, int)
    row = f"{GRID}_{'first' if number == 1 else 'later'}_{_css(sheet, path)}"
    with st.container(horizontal=True, key=row):
        if grid.heads:
            month = plain(grid.heads[number - 1]) if number <= len(grid.heads) else "?"
            st.markdown(month, width=2 * CELL_PX + 16)
        for field in columns:
            at: Path = (*path, int(field.key) + 1) if grid.pairs else (*path, field.key)
            field_part(sheet, field, at, width=CELL_PX)
        if not sheet.read_only and not grid.heads:
            _button(sheet, path, "Copy", partial(copy_row, place=path[:-1], number=number))
            _button(sheet, path, "Delete", partial(delete_row, place=path[:-1], number=number))
    _problems(sheet, (each for each in sheet.problems if each.key == ".".join(map(str, path))))


def _long(sheet: Sheet, grid: Grid, path: Path, rows: list[Any]) -> None:
    """A long table as a text: one row a line, as it comes from a spreadsheet."""
    key = sheet.key(path, "rows")
    lines = [", ".join(str(cell) for cell in _cells(row)) for row in rows]
    heads = ", ".join(field.head for field in grid.columns)
    st.text_area(
        f"One row a line: {heads}",
        "\n".join(lines),
        key=key,
        height=260,
        disabled=sheet.read_only,
        on_change=_typed_rows,
        args=(sheet.kind, grid, path, key),
    )
    _problems(sheet, problems_at(sheet.problems, ".".join(map(str, path))), named=True)


def _cells(row: Any) -> Iterable[Any]:
    """The cells of a row; what is none, as its reader will tell, is a cell by itself."""
    if isinstance(row, dict):
        return row.values()
    return row if isinstance(row, list) else (row,)


def _typed_rows(kind: str, grid: Grid, path: Path, key: str) -> None:
    lines = [line for line in str(st.session_state[key]).splitlines() if line.strip()]
    cells = [[part.strip() for part in line.replace("\t", ",").split(",")] for line in lines]
    found = [
        [typed_value(field, cell) for field, cell in zip(grid.columns, row, strict=False)]
        if grid.pairs
        else {
            field.key: typed_value(field, cell)
            for field, cell in zip(grid.columns, row, strict=False)
            if cell
        }
        for row in cells
    ]
    change(kind, partial(_with_all_rows, path=path, rows=found), True)


def _with_all_rows(text: str, path: Path, rows: list[Any]) -> str:
    """The table with these rows; where their number stays, only what differs is touched."""
    held = value_at(parse(text.encode("utf-8", "replace"), "text"), path)
    if not isinstance(held, list) or len(held) != len(rows):
        return with_value(text, path, rows or None)
    for number, (old, new) in enumerate(zip(held, rows, strict=True), start=1):
        if old != new:
            text = with_value(text, (*path, number), new)
    return text
