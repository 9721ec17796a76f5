"""What can be varied on the page of many answers: the numbers a file has, by the names that the editor gives them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from planner.errors import InputRefused, Problem
from planner.screens.form import NUMBER, WHOLE, Field, Group, is_asked
from planner.screens.form_climate import FORM as CLIMATE_FORM
from planner.screens.form_outing import FORM as OUTING_FORM
from planner.screens.state import CLIMATE, OUTING
from planner.screens.typed import shown_value, value_at
from planner.units import KINDS

FORMS = {OUTING: OUTING_FORM, CLIMATE: CLIMATE_FORM}
PLACE = "the ranges"  # where a problem of a range is


@dataclass(frozen=True, slots=True)
class Varied:
    """A number of a file. key : as a range of the command names it. present : what the file has, as typed there."""

    key: str
    label: str
    present: str


@dataclass(frozen=True, slots=True)
class Range:
    """What is to be varied, between which ends as typed, and over how many values."""

    of: Varied
    low: str
    high: str
    count: int

    @property
    def text(self) -> str:
        """As the command takes it. Raises InputRefused where an end is missing or is more than one."""
        problems = [*_end(self.of, "from", self.low), *_end(self.of, "to", self.high)]
        if problems:
            raise InputRefused(problems)
        return f"{self.of.key}={self.low.strip()}:{self.high.strip()}:{self.count}"


def _end(varied: Varied, which: str, typed: str) -> list[Problem]:
    if typed.strip() and not set(typed) & set(":;="):
        return []
    fix = f"The file has {varied.present} there: write a number like it."
    return [Problem(PLACE, f"{varied.label}, {which}", typed.strip() or "nothing", "one number with its unit", fix)]


def numbers_of(kind: str, values: dict[str, Any]) -> dict[str, Varied]:
    """Every number and quantity that a file has, by key, in the order of its editor. kind : OUTING or CLIMATE."""
    before = "" if kind == OUTING else f"{kind}."
    found = (each for group in FORMS[kind] for each in _of_group(group, values))
    return {before + varied.key: Varied(before + varied.key, varied.label, varied.present) for varied in found}


def _of_group(group: Group, values: dict[str, Any]) -> Iterator[Varied]:
    held = values if not group.key else values.get(group.key)
    if group.rows == "list":
        for number, row in enumerate(held if isinstance(held, list) else [], start=1):
            name = row.get("name") if isinstance(row, dict) else None
            called = f"{group.one.capitalize()} {number}" + (f", {name}" if isinstance(name, str) else "")
            yield from _of_table(group, row, f"{group.key}.{number}.", f"{called}: ")
    else:
        yield from _of_table(group, held, f"{group.key}." if group.key else "", f"{group.title}: " if group.key else "")


def _of_table(group: Group, table: Any, key: str, label: str) -> Iterator[Varied]:
    if not isinstance(table, dict):
        return
    yield from _of_fields(group.fields, table, table, key, label)
    for grid in group.grids:
        rows = table.get(grid.key)
        for number, row in enumerate(rows if isinstance(rows, list) and not grid.pairs else [], start=1):
            yield from _of_fields(grid.columns, table, row, f"{key}{grid.key}.{number}.",
                                  f"{label}{grid.title[0].lower()}{grid.title[1:]} {number}, ")  # fmt: skip


def _of_fields(fields: Iterable[Field], table: dict[str, Any], row: Any, key: str, label: str) -> Iterator[Varied]:
    """Of the fields that the editor asks of this table. A label that goes on from the one before is told with it."""
    before = ""
    for field in fields:
        if not is_asked(field, table):
            continue
        called = field.label.removeprefix("or ")
        if called.startswith("… "):
            called = f"{before}, {called.removeprefix('… ')}"
        else:
            before = called = called[0].upper() + called[1:]
        value = value_at(row, tuple(field.key.split(".")))
        number = field.kind in (NUMBER, WHOLE) and isinstance(value, int | float) and not isinstance(value, bool)
        if number or (field.kind in KINDS and isinstance(value, str) and not value.upper().startswith("AWG")):
            yield Varied(key + field.key, label + called, shown_value(field, value))
