"""Tests found in a bench log, put into a battery's record."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from planner.library.edit import add_row, set_value
from planner.library.history import Version
from planner.library.parcel import copy_to_edit
from planner.library.store import Library

BATTERIES = "batteries"
Row = tuple[str, Mapping[str, Any]]  # key of the list in the record, the test's own keys


def new_record(name: str) -> str:
    """The text of a record that holds nothing yet but its name."""
    return set_value("format = 1\n", "name", name)


def with_tests(text: str, rows: Sequence[Row]) -> str:
    """The record's text with these tests behind those it has; no other byte is touched. Raises InputRefused."""
    for kind, values in rows:
        text = add_row(text, kind, values)
    return text


def save_with_tests(library: Library, rows: Sequence[Row], name: str, key: str | None = None,
                    expected: Version | None = None) -> Version:  # fmt: skip
    """Save the record with these tests as a new version.

    key : the record; None for a new one called `name`. A demo record is copied first, under `name`.
    expected : the version the tests were accepted into. Raises InputRefused, and SavedMeanwhile when the library
    holds another version.
    """
    if key is None:
        return library.save(BATTERIES, name, with_tests(new_record(name), rows), None)
    if library.find(BATTERIES, key).read_only:
        key = copy_to_edit(library, BATTERIES, key, name)
        expected = None
    text, version = library.load(BATTERIES, key)
    return library.save(BATTERIES, key, with_tests(text, rows), expected or version)
