"""A key of a file and the values it takes in a sweep: "load.1.current=5 A:60 A:50"."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from planner import units
from planner.errors import InputRefused, Problem

MOST_VALUES = 1_000_000
FORM = "KEY=LOW:HIGH:N, such as load.1.current=5 A:60 A:50, or a list, such as load.1.current=5 A;20 A"
OPEN_FORM = "KEY=LOW:HIGH, such as load.1.current=5 A:60 A, or KEY=LOW:HIGH:N or a list for chosen values"
LIST_MARK = ";"
LARGEST = 1e9  # of a number in a range: beyond it a power of ten was mistyped
_BARE = re.compile(r"[+-]?[0-9]{1,9}(?:\.[0-9]{1,17})?(?:[eE][+-]?[0-9]{1,2})?")
_UNIT_OF_PARTS = {"duration": "h", "mass": "kg", "length": "m"}  # of a value written in several parts

Place = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Vary:
    """One key and its values. place : the way to it, list places from 0. unit : of the numbers, "1" for plain ones.

    numbers : its values, or both ends when it takes any value between them (continuous). file : which kind of file
    the key is in.
    """

    key: str
    place: Place
    unit: str
    numbers: tuple[float, ...]
    continuous: bool = False
    file: str = "outing"

    @property
    def heading(self) -> str:
        """The key with its unit, as a column's heading."""
        return f"{self.key} ({self.unit})"

    def written(self, number: float) -> str | float | int:
        """A value as the file would have it."""
        if self.unit != "1":
            return f"{number:.12g} {self.unit}"
        return int(number) if number.is_integer() else number

    def at(self, share: float) -> float:
        """The value at a share, 0 <= share < 1, of the range; of the values in equal parts where they are given."""
        if self.continuous:
            low, high = self.numbers
            return float(f"{low + (high - low) * share:.12g}")
        return self.numbers[min(int(share * len(self.numbers)), len(self.numbers) - 1)]


def parse_vary(text: str, values: Mapping[str, Any], file: str, between: bool = False) -> Vary:
    """A --vary argument for one file.

    text : KEY=LOW:HIGH:N; KEY is a dotted path, list places counted from 1; LOW and HIGH are quantities, or plain
    numbers where the file has a plain number; N values evenly spaced, both ends included. Or KEY=A;B;C, a list.
    between : N may be left out, for any value of the range.
    values : the file, parsed. Raises InputRefused naming what is wrong, and for a key that is not there the nearest.
    """
    key, equals, rest = text.partition("=")
    key, form = key.strip(), OPEN_FORM if between else FORM
    listed = [part.strip() for part in rest.split(LIST_MARK) if part.strip()] if LIST_MARK in rest else None
    parts = rest.split(":")
    if not equals or not key or (listed is None and len(parts) not in ({2, 3} if between else {3})):
        raise _refused(
            "--vary", text, form, "Write the key, =, and low, high and how many with colons between."
        )
    place = _place(key, values, file)
    present = _at(values, place)
    if listed is not None:
        if not listed:
            raise _refused(f"--vary {key}", rest.strip(), form, "Write the values with ; between.")
        ends = [_ends(key, listed[0], other, present) for other in listed]
        return Vary(key, place, ends[0][2], tuple(high for _, high, _ in ends))
    count = parts[2].strip() if len(parts) == 3 else "1"
    if not (count.isascii() and count.isdigit() and len(count) <= 7 and 1 <= int(count) <= MOST_VALUES):
        raise _refused(
            f"--vary {key}", count, f"a whole number, 1 to {MOST_VALUES:,}", "Write how many values."
        )
    low, high, unit = _ends(key, parts[0].strip(), parts[1].strip(), present)
    if len(parts) == 2:
        return Vary(key, place, unit, (low, high), continuous=True)
    return Vary(key, place, unit, _spaced(low, high, int(count)))


def with_values(values: Mapping[str, Any], changes: Sequence[tuple[Place, Any]]) -> dict[str, Any]:
    """A copy of a parsed file with other values in places; what is not on the way to them is shared."""
    copy: Any = dict(values)
    for place, value in changes:
        copy = _with(copy, place, value)
    return dict(copy)


def _with(node: Any, place: Place, value: Any) -> Any:
    step, rest = place[0], place[1:]
    copy: Any = list(node) if isinstance(node, list) else dict(node)
    if rest:
        value = _with(copy[step], rest, value)
    copy[step] = value
    return copy


def _spaced(low: float, high: float, count: int) -> tuple[float, ...]:
    """Evenly spaced, both ends included, in digits that a file can have."""
    steps = max(count - 1, 1)
    return tuple(float(f"{low + (high - low) * k / steps:.12g}") for k in range(count))


def _ends(key: str, low: str, high: str, present: object) -> tuple[float, float, str]:
    """Both ends as numbers of LOW's unit."""
    where = f"--vary {key}"
    if isinstance(present, bool | list | dict):
        raise _refused(where, "not a number or a quantity", "a key that holds one", "Vary another key.")
    if isinstance(present, int | float):
        for end in (low, high):
            if not _BARE.fullmatch(end):
                fix = "The file has a plain number there: write both ends without unit."
                raise _refused(where, end, "a plain number", fix)
        return float(low), float(high), "1"
    try:
        kinds = [kind for kind in units.KINDS if present is None or _reads(present, kind)]
        if not kinds:
            raise _refused(
                where, f"a text, {present!s:.30}", "a key that holds a quantity", "Vary another key."
            )
        kind = next((kind for kind in kinds if _reads(low, kind)), None)
        number, unit = _split(low, kind or (kinds[0] if present is not None else None))
        if kind is None:
            raise _refused(where, low, units.accepted_form(kinds[0]), f"The file has {present!s:.30} there.")
        top = units.from_si(units.to_si(high, kind), unit)
    except units.UnitError as error:
        raise _refused(where, error.value, error.allowed, error.fix) from error
    for end, value in ((low, number), (high, top)):
        if not abs(value) <= LARGEST:
            raise _refused(
                where, end, f"a number up to {LARGEST:g}", "Write the end of the range that is meant."
            )
    return number, _as_typed(high, unit, top), unit


def _as_typed(text: str, unit: str, converted: float) -> float:
    """The number as it was typed where it is in this unit already, so that no digit is rounded."""
    try:
        number, own = units.split_quantity(text)
    except units.UnitError:  # a duration in several parts
        return converted
    return number if own == unit else converted


def _split(text: str, kind: str | None) -> tuple[float, str]:
    """Number and unit; of several parts in one unit. kind : of the quantity that is meant, where known."""
    try:
        return units.split_quantity(text, kind)
    except units.UnitError:
        if kind is None:
            raise
        value = units.to_si(text, kind)  # which says best what is wrong
        unit = _UNIT_OF_PARTS.get(kind)
        if unit is None:
            raise
        return units.from_si(value, unit), unit


def _reads(text: object, kind: str) -> bool:
    """Whether a text is a quantity of this kind."""
    try:
        return isinstance(text, str) and math.isfinite(units.to_si(text, kind))
    except units.UnitError:
        return False


def _place(key: str, values: Mapping[str, Any], file: str) -> Place:
    """The way to a key; the last part may be one the file leaves out. Refused with the nearest key otherwise."""
    found: list[str | int] = []
    node: Any = values
    parts = key.split(".")
    for number, part in enumerate(parts):
        if isinstance(node, list) and part.isascii() and part.isdigit() and 1 <= int(part[:6]) <= len(node):
            found.append(int(part) - 1)
            node = node[int(part) - 1]
        elif isinstance(node, dict) and part in node:
            found.append(part)
            node = node[part]
        elif isinstance(node, dict) and number == len(parts) - 1 and part and not _like(part, node):
            return (*found, part)  # an optional key: the file's reader says whether there is one of this name
        else:
            raise unknown_key(key, values, file)
    return tuple(found)


def unknown_key(key: str, values: Mapping[str, Any], file: str) -> InputRefused:
    """The refusal of a key that is not there, naming the nearest that is."""
    near = difflib.get_close_matches(key[:80], list(leaves(values)), n=1, cutoff=0.0)
    fix = f"Did you mean {near[0]}?" if near else "Name a key of the file."
    return InputRefused([Problem(file, key[:80], "not there", "a key of the file, list places from 1", fix)])


def _like(part: str, node: Mapping[str, Any]) -> bool:
    """Whether a key is most likely a misspelling of one that is there."""
    return bool(difflib.get_close_matches(part[:80], list(node), n=1, cutoff=0.8))


def find_place(key: str, values: Mapping[str, Any], file: str) -> tuple[Place, Any]:
    """The way to a key and what stands there, None where the file leaves it out. Raises InputRefused."""
    place = _place(key, values, file)
    return place, _at(values, place)


def leaves(node: Any, before: str = "") -> Iterator[str]:
    """Dotted paths of every number and text in a parsed file."""
    if isinstance(node, dict | list):
        pairs = node.items() if isinstance(node, dict) else enumerate(node, start=1)
        for name, value in pairs:
            yield from leaves(value, f"{before}.{name}" if before else str(name))
    else:
        yield before


def _at(values: Mapping[str, Any], place: Place) -> Any:
    """What stands at a place; None when the file leaves it out."""
    node: Any = values
    for step in place:
        if isinstance(node, dict) and step not in node:
            return None
        node = node[step]
    return node


def _refused(key: str, value: str, allowed: str, fix: str) -> InputRefused:
    return InputRefused([Problem("arguments", key, value[:80] or '""', allowed, fix)])
