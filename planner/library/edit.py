"""Edits of a profile's TOML text that keep every comment and every byte they do not concern.

A place is written as problems name it: "load.2.use.1.speed", list places counted from 1; or as a tuple,
where a key itself has a dot. Each edit is checked: read again, the text differs in that place alone.
"""

from __future__ import annotations

import copy
import datetime
import tomllib
from collections.abc import Callable, Mapping, MutableMapping, Sequence
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AbstractTable, Array, Item

from planner import toml_text
from planner.errors import InputRefused, Problem
from planner.library.sections import Path, Section, joined, split

Value = str | int | float | bool | datetime.date | Sequence[Any] | Mapping[str, Any]
Place = str | Path
_FILE = "(text)"
_WITH_LAYOUT = (tomlkit.TOMLDocument, AbstractTable)


def set_value(text: str, place: Place, value: Value | None) -> str:
    """The text with one value set, or its key removed for None.

    A key that is there keeps its line and comment; a new one goes behind the last of its table, and a
    table that is not there is made. The same value gives the same text. None for a row deletes the row.
    Raises InputRefused: no TOML, a list place that does not exist, or a layout that cannot be kept.
    """
    path = _path(place)
    if value is None and isinstance(path[-1], int):
        return delete_row(text, path[:-1], path[-1])

    def change(values: dict[str, Any]) -> None:
        holder = _descend(values, path[:-1], make=value is not None)
        if value is None:
            _drop(holder, path)
        else:
            _put(holder, path, _plain(value))

    emptied = path if value is None else ()
    return _edited(text, change, lambda plain: _set_text(plain, path, value), emptied)


def add_row(text: str, place: Place, row: Value) -> str:
    """The text with one more row at the end of a list: a table for [[load]], else an entry in brackets."""
    path = _path(place)

    def change(values: dict[str, Any]) -> None:
        holder = _descend(values, path[:-1], make=True)
        _rows(holder.setdefault(path[-1], []), path).append(_plain(row))

    return _edited(text, change, lambda plain: _add_text(plain, path, row))


def copy_row(text: str, place: Place, number: int) -> str:
    """The text with row `number` (from 1) written once more below itself, its comments too."""
    path = _path(place)

    def change(values: dict[str, Any]) -> None:
        rows = _rows(_descend(values, path), path)
        rows.insert(number, copy.deepcopy(rows[_index(rows, number, path)]))

    return _edited(text, change, lambda plain: _copy_text(plain, path, number))


def delete_row(text: str, place: Place, number: int) -> str:
    """The text without row `number` (from 1) and the comments that stand in or directly above it."""
    path = _path(place)

    def change(values: dict[str, Any]) -> None:
        rows = _rows(_descend(values, path), path)
        del rows[_index(rows, number, path)]

    return _edited(text, change, lambda plain: _delete_text(plain, path, number), (*path, number))


# ---- the text ----


def _edited(
    text: str, change: Callable[[dict[str, Any]], None], edit: Callable[[str], str], emptied: Path = ()
) -> str:
    """The edited text, once its values are those that `change` makes of the old ones.

    emptied : a place that was removed: tables and lists around it that are empty without it may go too.
    """
    before = toml_text.parse(_encoded(text), _FILE)
    wanted = copy.deepcopy(before)
    change(wanted)
    if _same(wanted, before):
        return text
    plain, mark, end = _lines(text)
    try:
        found = edit(_ended(plain))
        if not plain.endswith("\n"):
            found = found.removesuffix("\n")
        values = tomllib.loads(found)
        kept = _same(values, wanted) or _same(values, _without_empty(wanted, emptied[:-1]))
    except (TOMLKitError, tomllib.TOMLDecodeError, ValueError, TypeError, KeyError, IndexError) as error:
        raise _cannot(f"{type(error).__name__}") from error
    if not kept:
        raise _cannot("another place would change")
    return mark + found.replace("\n", end)


def _without_empty(values: dict[str, Any], path: Path) -> dict[str, Any]:
    """The values without the table or list at the place, and those around it, as far as they are empty."""
    left = copy.deepcopy(values)
    for end in range(len(path), 0, -1):
        if _descend(left, path[:end]) or isinstance(path[end - 1], int):
            break
        del _descend(left, path[: end - 1])[path[end - 1]]
    return left


def _same(one: Any, other: Any) -> bool:
    """Equal in every value and its type: for Python alone 1, 1.0 and true are equal."""
    if type(one) is not type(other):
        return False
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(_same(value, other[key]) for key, value in one.items())
    if isinstance(one, list):
        return len(one) == len(other) and all(map(_same, one, other))
    return bool(one == other)


def _lines(text: str) -> tuple[str, str, str]:
    """The text with plain line ends and no byte-order mark; the mark and the line end it had."""
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    plain = text[len(mark) :]
    if "\r\n" in plain and plain.count("\r\n") == plain.count("\n"):
        return plain.replace("\r\n", "\n"), mark, "\r\n"
    return plain, mark, "\n"


def _set_text(text: str, path: Path, value: Value | None) -> str:
    sections = split(text)
    number = _holder(sections, path[:-1])
    section = sections[number]
    rest = path[len(section.path) :]
    if value is not None and _wants_heading(sections, section, path):
        heading = f"[{_dotted(path[:-1])}]\n"
        return _with_section(sections, heading + _body({str(path[-1]): value}), path[:-2])
    own = [at for at, each in enumerate(sections) if each.path[: len(path)] == path]
    if own and value is None:
        return joined([each for at, each in enumerate(sections) if at not in own])
    document = tomlkit.parse(section.body)
    holder = _descend(document, rest[:-1], make=True)
    if value is None:
        _drop(holder, rest)
    else:
        _put(holder, rest, _item(value))
    sections[number] = section.with_body(_ended(tomlkit.dumps(document)))
    return joined(sections)


def _add_text(text: str, path: Path, row: Value) -> str:
    sections = split(text)
    headed = any(each.path == (*path, 1) and each.in_list for each in sections)
    values = tomllib.loads(text)
    if headed or (len(path) == 1 and path[0] not in values and isinstance(row, Mapping)):
        if not isinstance(row, Mapping):
            raise TypeError("a table wanted")
        return _with_section(sections, f"[[{_dotted(path)}]]\n{_body(row)}", path)
    number = _holder(sections, path)
    section = sections[number]
    document = tomlkit.parse(section.body)
    rest = path[len(section.path) :]
    holder = _descend(document, rest[:-1], make=True)
    if rest[-1] not in holder:
        holder[rest[-1]] = _item([row])
    else:
        holder[rest[-1]].append(_item(row))
    sections[number] = section.with_body(_ended(tomlkit.dumps(document)))
    return joined(sections)


def _copy_text(text: str, path: Path, number: int) -> str:
    sections = split(text)
    own = _row_sections(sections, path, number)
    if not own:
        return _with_array(sections, path, lambda rows: rows.insert(number, copy.deepcopy(rows[number - 1])))
    end = own[-1] + 1
    copied = [sections[at] for at in own]
    before = sections[own[-1]]
    sections[own[-1]] = before.with_body(_ended(before.body))
    if not copied[0].lead.startswith("\n"):
        copied[0] = Section("\n" + copied[0].lead, *_after_lead(copied[0]))
    return joined(sections[:end] + copied + sections[end:])


def _delete_text(text: str, path: Path, number: int) -> str:
    sections = split(text)
    own = _row_sections(sections, path, number)
    if not own:
        return _with_array(sections, path, lambda rows: rows.__delitem__(number - 1))
    return joined([each for at, each in enumerate(sections) if at not in own])


def _with_array(sections: list[Section], path: Path, change: Callable[[Array], object]) -> str:
    at = _holder(sections, path)
    document = tomlkit.parse(sections[at].body)
    rows = _descend(document, path[len(sections[at].path) :])
    change(rows)
    sections[at] = sections[at].with_body(_ended(tomlkit.dumps(document)))
    return joined(sections)


def _row_sections(sections: list[Section], path: Path, number: int) -> list[int]:
    """Places of the row's own section and those below it; empty when the rows stand in brackets."""
    row = (*path, number)
    return [at for at, each in enumerate(sections) if each.path[: len(row)] == row]


def _holder(sections: list[Section], path: Path) -> int:
    """The section in whose body the place stands: the one with the longest path that leads there."""
    fitting = [at for at, each in enumerate(sections) if path[: len(each.path)] == each.path]
    return max(fitting, key=lambda at: len(sections[at].path))


def _wants_heading(sections: list[Section], section: Section, path: Path) -> bool:
    """Whether the place needs a table that is not there yet and no bracket may take it: at the top."""
    if section.path or len(path) > 2 or any(isinstance(part, int) for part in path):
        below = any(
            each.path[:1] == path[:1] for each in sections
        )  # [instruments.load] without [instruments]
        return not section.path and len(path) == 3 and below and not isinstance(path[1], int)
    return len(path) == 2 and path[0] not in tomllib.loads(section.body)


def _with_section(sections: list[Section], text: str, near: Path) -> str:
    """A new section behind the last one below `near`, else at the end."""
    fitting = [at for at, each in enumerate(sections) if near and each.path[: len(near)] == near]
    at = fitting[-1] if fitting else len(sections) - 1
    last = sections[at]
    sections[at] = last.with_body(_ended(last.body))
    blank = "\n" if joined(sections[: at + 1]).strip() else ""
    return joined(sections[: at + 1]) + blank + text + joined(sections[at + 1 :])


def _after_lead(section: Section) -> tuple[str, str, Path, bool]:
    return section.header, section.body, section.path, section.in_list


def _ended(text: str) -> str:
    return text if not text or text.endswith("\n") else text + "\n"


def _body(table: Mapping[str, Any]) -> str:
    document = tomlkit.document()
    for key, value in table.items():
        document.add(key, _item(value))
    return tomlkit.dumps(document)


def _dotted(path: Path) -> str:
    return ".".join(tomlkit.key(str(part)).as_string() for part in path if isinstance(part, str))


def _item(value: Any) -> Item:
    """A value as it is written: tables in one line, a list of tables one a line."""
    if isinstance(value, Mapping):
        table = tomlkit.inline_table()
        for key, inner in value.items():
            table.append(key, _item(inner))
        return table
    if isinstance(value, (list, tuple)):
        array = tomlkit.array()
        for inner in value:
            array.append(_item(inner))
        nested = bool(value) and all(isinstance(inner, (Mapping, list, tuple)) for inner in value)
        return array.multiline(nested)
    item: Item = tomlkit.item(value)
    return item


def _plain(value: Any) -> Any:
    """The value as it will be read back."""
    try:
        return tomllib.loads(f"value = {_item(value).as_string()}\n")["value"]
    except (TOMLKitError, tomllib.TOMLDecodeError, ValueError, TypeError) as error:
        shown = f"a {type(value).__name__}"
        raise toml_text.refusal(_FILE, shown, "a text, number, date, list or table", "Mend it.") from error


# ---- places ----


def _path(place: Place) -> Path:
    if isinstance(place, str):
        parts = place.split(".")
        return tuple(int(part) if part.isascii() and part.isdigit() else part for part in parts)
    return tuple(place)


def _descend(values: Any, path: Path, *, make: bool = False) -> Any:
    """The table or list at a place; missing tables are made on the way when asked to."""
    for at, part in enumerate(path):
        if isinstance(part, int):
            values = values[_index(values, part, path[:at])]
        elif isinstance(values, Mapping) and part in values:
            values = values[part]
        elif make and isinstance(values, MutableMapping):
            values[part] = tomlkit.inline_table() if isinstance(values, _WITH_LAYOUT) else {}
            values = values[part]
        else:
            raise _no_place(path[: at + 1])
    return values


def _put(holder: Any, path: Path, value: Any) -> None:
    last = path[-1]
    if isinstance(last, int):
        holder[_index(holder, last, path[:-1])] = value
    elif isinstance(holder, MutableMapping):
        holder[last] = value
    else:
        raise _no_place(path)


def _drop(holder: Any, path: Path) -> None:
    last = path[-1]
    if isinstance(last, int):
        del holder[_index(holder, last, path[:-1])]
    elif isinstance(holder, MutableMapping):
        if last in holder:
            del holder[last]
    else:
        raise _no_place(path)


def _rows(rows: Any, path: Path) -> list[Any]:
    if not isinstance(rows, list):
        raise _no_place(path)
    return rows


def _index(rows: Any, number: int, path: Path) -> int:
    if not isinstance(rows, list) or not 1 <= number <= len(rows):
        raise _no_place((*path, number))
    return number - 1


def _encoded(text: str) -> bytes:
    try:
        return text.encode("utf-8")
    except UnicodeEncodeError as error:
        raise toml_text.refusal(_FILE, "half a letter", "UTF-8 text", "Type it anew.") from error


def _no_place(path: Path) -> InputRefused:
    shown = ".".join(str(part) for part in path)[:80]
    return InputRefused([Problem(_FILE, shown, "not there", "a place in the text", "Add it first.")])


def _cannot(reason: str) -> InputRefused:
    fix = "Edit the text itself at this place."
    return InputRefused([Problem(_FILE, "(file)", f"laid out so that {reason}", "a plain layout", fix)])
