"""A TOML file as a table that is asked for its keys and remembers what was wrong.

Every getter notes its problems instead of raising, so that `finish()` can report all of a file at
once, unknown keys included. Until `finish()` has returned, values are provisional: a required value
that is missing or wrong comes back as a harmless stand-in (NaN, "", the first option).
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Literal, TypedDict, TypeVar, Unpack, overload

from planner import toml_text, units
from planner.errors import InputRefused, Problem, is_blank, is_visible
from planner.other_words import nearest
from planner.toml_entries import NO_LIMITS, Findings, Limits

LONGEST_LIST = 20_000  # entries of one list; a longer one is a log and belongs in a CSV
MOST_PROBLEMS = 50  # reported of one file; nobody mends more in one go
FORMAT = 1

FloatDefault = TypeVar("FloatDefault", float, None)
TextDefault = TypeVar("TextDefault", str, None)


def read_toml(path: Path, named: Mapping[str, Path] | None = None) -> Table:
    """The file's top table, its `format` already checked.

    named : of an upload, the files it may name, by the last part of the name as written; it reaches no others.

    Raises InputRefused at once when there is nothing to ask: no such file, a folder, more than 2 MB,
    not UTF-8, not TOML. All other problems wait for `finish()`.
    """
    return table_from_bytes(toml_text.read_file(Path(path)), str(path), Path(path).parent, named)


def table_from_bytes(
    data: bytes, file: str, folder: Path | None = None, named: Mapping[str, Path] | None = None
) -> Table:
    """As `read_toml`, from bytes already in hand.

    file : the name used in messages. folder : where relative paths start; None (an upload) refuses
    every path, as what a stranger sends must not name files here.
    """
    top = Table(toml_text.parse(data, file), Findings(file, folder, named=named), [])
    top.check_format()
    return top


def table_of_values(values: Mapping[str, Any], file: str, folder: Path | None = None) -> Table:
    """As `table_from_bytes`, from values parsed before and changed since."""
    top = Table(values, Findings(file, folder), [])
    top.check_format()
    return top


class Range(TypedDict, total=False):
    """Limits of a value in SI: low <= value <= high, and value > above."""

    low: float
    high: float
    above: float


def _ends(low: float = -math.inf, high: float = math.inf, above: float = -math.inf) -> Limits:
    """Both ends as values that belong to the range."""
    return (low if above == -math.inf else max(low, math.nextafter(above, math.inf))), high


class Table:
    """One table of a file. Getters mark their key as known and note what is wrong with its value.

    A missing key gives None, its `default` or an empty tuple, and is a problem when `required`. A
    wrong value is a problem and gives the same. Limits are in SI: `low` and `high` belong to the range,
    `above` does not.
    """

    def __init__(
        self, values: Mapping[str, Any], found: Findings, tables: list[Table], place: str = ""
    ) -> None:
        self._values = values
        self._found = found
        self._tables = tables  # every table of the file that was opened
        self._known: dict[str, None] = {}
        self.place = place  # dotted path in the file, such as "capacity_test.1"; "" for the top
        tables.append(self)

    @property
    def file(self) -> str:
        """Name of the file, for messages."""
        return self._found.file

    @property
    def files(self) -> tuple[Path, ...]:
        """Files named so far anywhere in this file, in order of mention, each once."""
        return tuple(dict.fromkeys(self._found.files))

    @property
    def warnings(self) -> tuple[str, ...]:
        """Warnings noted so far anywhere in this file."""
        return tuple(self._found.warnings)

    def has(self, key: str) -> bool:
        """Whether the key is there, valid or not. Marks it as known."""
        return self._take(key) is not None

    def problem(self, key: str, value: object, allowed: str, fix: str) -> None:
        """Note a problem of this table's `key` ("" for the table itself)."""
        self._found.note(self._path_to(key), value, allowed, fix)

    def warn(self, text: str) -> None:
        """Note a warning; the table's place is put before it."""
        self._found.warnings.append(f"{self.place}: {text}" if self.place else text)

    def warn_if(self, text: str | None) -> None:
        """Note a warning where there is one."""
        if text is not None:
            self.warn(text)

    def add_problems(self, problems: Sequence[Problem]) -> None:
        """Add what another file that this one names was refused for."""
        self._found.problems.extend(problems)

    def add_files(self, paths: Sequence[Path]) -> None:
        """Add the files that a named file names in turn."""
        self._found.files.extend(paths)

    def check_format(self) -> None:
        """Note a problem unless `format`, the version of the file's own layout, is the one read here."""
        value = self._take("format")
        if value is None:
            self.problem("format", "absent", str(FORMAT), f"Put format = {FORMAT} on the first line.")
        elif value != FORMAT or not isinstance(value, int) or isinstance(value, bool):
            self.problem("format", value, str(FORMAT), f"This program reads format = {FORMAT} only.")

    def finish(self) -> None:
        """Raise InputRefused with every problem of the file, unknown keys included; else return."""
        for table in self._tables:
            table._note_unknown_keys()
        problems = self._found.problems
        if problems:
            listed = problems[:MOST_PROBLEMS]
            if len(problems) > MOST_PROBLEMS:
                fix = "Mend those above first."
                listed.append(Problem(self.file, "(file)", "more problems than listed", "none", fix))
            raise InputRefused(listed)

    def _note_unknown_keys(self) -> None:
        for key in self._values:
            if key in self._known or len(self._found.problems) > MOST_PROBLEMS:
                continue
            near = nearest(key, self._known)
            fix = f"Did you mean {near}?" if near else "Remove it."
            self.problem(key[:80], "not a known key", "the keys " + ", ".join(sorted(self._known)), fix)

    def _take(self, key: str) -> Any:
        """The raw value; None when absent (TOML itself has no null)."""
        self._known[key] = None
        return self._values.get(key)

    def _path_to(self, key: str) -> str:
        return ".".join(part for part in (self.place, key) if part)

    @overload
    def quantity(self, key: str, kind: str, *, required: Literal[True], **limits: Unpack[Range]) -> float: ...
    @overload
    def quantity(
        self, key: str, kind: str, *, default: FloatDefault, **limits: Unpack[Range]
    ) -> float | FloatDefault: ...
    @overload
    def quantity(self, key: str, kind: str, **limits: Unpack[Range]) -> float | None: ...
    def quantity(
        self,
        key: str,
        kind: str,
        *,
        required: bool = False,
        default: float | None = None,
        **limits: Unpack[Range],
    ) -> float | None:
        """A quantity text such as "12.5 A" as an SI float. kind : one of units.KINDS."""
        value = self._take(key)
        if value is None and required:
            self.problem(key, "absent", units.accepted_form(kind), f'Write {key} = "{units.example(kind)}".')
        found = None
        if value is not None:
            found = self._found.quantity(self._path_to(key), value, kind, _ends(**limits))
        return found if found is not None else math.nan if required else default

    @overload
    def number(
        self, key: str, *, required: Literal[True], whole: bool = ..., **limits: Unpack[Range]
    ) -> float: ...
    @overload
    def number(
        self, key: str, *, default: FloatDefault, whole: bool = ..., **limits: Unpack[Range]
    ) -> float | FloatDefault: ...
    @overload
    def number(self, key: str, *, whole: bool = ..., **limits: Unpack[Range]) -> float | None: ...
    def number(
        self,
        key: str,
        *,
        required: bool = False,
        default: float | None = None,
        whole: bool = False,
        **limits: Unpack[Range],
    ) -> float | None:
        """A plain number without unit; `whole` accepts integers only."""
        value = self._take(key)
        if value is None and required:
            self.problem(key, "absent", "a number", f"Write {key} = and a number.")
        found = None
        if value is not None:
            found = self._found.number(self._path_to(key), value, _ends(**limits), whole)
        return found if found is not None else math.nan if required else default

    @overload
    def text(self, key: str, *, required: Literal[True], longest: int = ...) -> str: ...
    @overload
    def text(self, key: str, *, longest: int = ...) -> str | None: ...
    def text(self, key: str, *, required: bool = False, longest: int = 200) -> str | None:
        """A text of at most `longest` characters, not blank, without characters that steer a terminal."""
        value = self._take(key)
        allowed = f"a text of 1 to {longest} characters"
        if value is None:
            if required:
                self.problem(key, "absent", allowed, f'Write {key} = "…".')
        elif isinstance(value, str) and not is_visible(value):
            self.problem(key, value, allowed + " that can be seen", "Write it anew, without hidden characters.")
        elif isinstance(value, str) and not is_blank(value) and len(value) <= longest:
            return value
        elif isinstance(value, str):
            fix = "Write it, or leave the key out." if is_blank(value) else "Shorten it."
            self.problem(key, '""' if is_blank(value) else value, allowed, fix)
        else:
            self.problem(key, value, allowed, "Put it in quotes.")
        return "" if required else None

    def flag(self, key: str) -> bool | None:
        """true or false; None when absent, which is unknown and not false."""
        value = self._take(key)
        if isinstance(value, bool):
            return value
        if value is not None:
            self.problem(key, value, "true or false", "Write true or false, without quotes.")
        return None

    @overload
    def choice(self, key: str, options: Sequence[str], *, required: Literal[True]) -> str: ...
    @overload
    def choice(self, key: str, options: Sequence[str], *, default: TextDefault) -> str | TextDefault: ...
    @overload
    def choice(self, key: str, options: Sequence[str]) -> str | None: ...
    def choice(
        self, key: str, options: Sequence[str], *, required: bool = False, default: str | None = None
    ) -> str | None:
        """One of a few words."""
        value = self._take(key)
        if value is None and required:
            self.problem(
                key, "absent", " | ".join(options), f"Write {key} = and one of these words in quotes."
            )
        found = None if value is None else self._found.choice(self._path_to(key), value, options)
        return found or (options[0] if required else default)

    def choices(self, key: str, options: Sequence[str]) -> tuple[str, ...] | None:
        """A list of words out of a few; None when absent."""
        if not self.has(key):
            return None
        found = [self._found.choice(place, entry, options) for place, entry in self._entries(key)]
        return tuple(entry for entry in found if entry is not None)

    def date(self, key: str) -> datetime.date | None:
        """A day written as TOML writes it: 2026-03-14."""
        value = self._take(key)
        if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
            return value
        if value is not None:
            self.problem(key, value, "a date such as 2026-03-14", "Write year-month-day without quotes.")
        return None

    def conductor(self, key: str) -> tuple[str, float] | None:
        """A conductor's size as typed and its area [m2], from "AWG 4" or "25 mm^2"."""
        value = self._take(key)
        if value is None:
            return None
        area = self._found.quantity(self._path_to(key), value, "area", (1e-8, 1e-2))  # 0.01 to 10,000 mm2
        return None if area is None else (str(value), area)

    def path(self, key: str, *, required: bool = False) -> Path | None:
        """An existing file, relative to this file's folder; joins `files`."""
        value = self._take(key)
        if value is None and required:
            self.problem(key, "absent", "a file's path", f'Write {key} = "…".')
        return None if value is None else self._found.path(self._path_to(key), value)

    def paths(self, key: str) -> tuple[Path, ...]:
        """A list of existing files; they join `files`."""
        found = [self._found.path(place, entry) for place, entry in self._entries(key)]
        return tuple(path for path in found if path is not None)

    def quantity_list(self, key: str, kind: str, **limits: Unpack[Range]) -> tuple[float, ...]:
        """A list of quantities as SI floats."""
        ends = _ends(**limits)
        found = [self._found.quantity(place, entry, kind, ends) for place, entry in self._entries(key)]
        return tuple(value for value in found if value is not None)

    def number_list(self, key: str, *, whole: bool = False, **limits: Unpack[Range]) -> tuple[float, ...]:
        """A list of plain numbers."""
        ends = _ends(**limits)
        found = [self._found.number(place, entry, ends, whole) for place, entry in self._entries(key)]
        return tuple(value for value in found if value is not None)

    def pairs(
        self, key: str, kinds: Sequence[str], *, limits: Sequence[Limits] | None = None
    ) -> tuple[tuple[float, ...], ...]:
        """A list of rows, such as [["0 Ah", "13.35 V"], …]; empty when absent, refused when it has no row.

        kinds : one a column, of units.KINDS, or "number" for a plain number.
        limits : (low, high) in SI, one a column.
        """
        bounds = limits or [NO_LIMITS] * len(kinds)
        if self._take(key) == []:
            self.problem(key, "no row", "one row or more", f"Add a row, or leave {key} out.")
        rows = [self._row(place, row, kinds, bounds) for place, row in self._entries(key)]
        return tuple(row for row in rows if row is not None)

    def _row(
        self, place: str, row: object, kinds: Sequence[str], bounds: Sequence[Limits]
    ) -> tuple[float, ...] | None:
        if not isinstance(row, list) or len(row) != len(kinds):
            forms = ", ".join("a number" if kind == "number" else units.example(kind) for kind in kinds)
            self._found.note(
                place, row, f"a row of {len(kinds)}: {forms}", "Write the row in square brackets."
            )
            return None
        cells = []
        for j, (cell, kind, bound) in enumerate(zip(row, kinds, bounds, strict=True), start=1):
            if kind == "number":
                cells.append(self._found.number(f"{place}.{j}", cell, bound, whole=False))
            else:
                cells.append(self._found.quantity(f"{place}.{j}", cell, kind, bound))
        found = tuple(cell for cell in cells if cell is not None)
        return found if len(found) == len(kinds) else None

    def table(self, key: str) -> Table | None:
        """The table [key]; None when absent."""
        value = self._take(key)
        if value is None:
            return None
        place = self._path_to(key)
        return self._table_of(place, value, f"Write [{place}] on its own line, its keys below it.")

    def tables(self, key: str, *, required: bool = False) -> tuple[Table, ...]:
        """The tables [[key]], in order."""
        value = self._take(key)
        header = f"[[{self._path_to(key)}]]"
        fix = f"Write {header} on its own line, its keys below it."
        if value is None or value == []:
            if required:
                self.problem(key, "absent", f"at least one {header}", fix)
            return ()
        if not isinstance(value, list):
            self.problem(key, value, f"one or more {header}", fix)
            return ()
        found = [self._table_of(place, entry, fix) for place, entry in self._entries(key)]
        return tuple(table for table in found if table is not None)

    def named_tables(self, key: str) -> dict[str, Table]:
        """The tables [key.NAME] by their names."""
        outer = self.table(key)
        if outer is None:
            return {}
        found = {name: outer.table(name) for name in outer._values}
        return {name: table for name, table in found.items() if table is not None}

    def _table_of(self, place: str, value: object, fix: str) -> Table | None:
        if not isinstance(value, dict):
            self._found.note(place, value, "a table", fix)
            return None
        return Table(value, self._found, self._tables, place)

    def _entries(self, key: str) -> list[tuple[str, Any]]:
        """(place, raw value) of each entry of a list; empty when absent, no list, or too long."""
        value = self._take(key)
        if value is None:
            return []
        if not isinstance(value, list):
            self.problem(key, value, "a list in square brackets", f"Write {key} = [ … ].")
            return []
        if len(value) > LONGEST_LIST:
            self.problem(key, value, f"at most {LONGEST_LIST} entries", "Put long data in a CSV log.")
            return []
        return [(f"{self._path_to(key)}.{i}", entry) for i, entry in enumerate(value, start=1)]
