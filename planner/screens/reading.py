"""From what was chosen to what the readers make of it, or to every problem at once; and what is kept of answers."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from contextlib import ExitStack
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Generic, TypeVar

import streamlit as st

from planner.battery.fit import Fitted, fit_record
from planner.errors import InputRefused, Problem
from planner.outing.reader import outing_from_table, read_outing
from planner.outing.schema import Outing
from planner.record.reader import read_record, record_from_table
from planner.record.schema import Record
from planner.screens.given import Given, Placed, placed, titled, with_names_restored
from planner.toml_table import Table, table_from_bytes
from planner.verdict.bench import Bench, bench_of
from planner.winter.reader import climate_from_table, read_climate
from planner.winter.schema import Climate

Read = TypeVar("Read")
Found = TypeVar("Found")

KEPT, KEPT_FOR = 24, 7200.0  # a view is about 0.5 MB (measured); for that long [s]


@dataclass(frozen=True, slots=True)
class Way(Generic[Read]):
    """How one kind of input is read: as a file, which may name files beside it, and as the table of a text."""

    kind: str
    file: Callable[[Path, Mapping[str, Path] | None], Read]
    text: Callable[[Table], Read]


RECORD: Way[Record] = Way("record", read_record, record_from_table)
OUTING: Way[Outing] = Way("outing", read_outing, outing_from_table)
CLIMATE: Way[Climate] = Way("climate", read_climate, climate_from_table)


@dataclass(frozen=True, slots=True)
class Refused:
    """Why there is no answer."""

    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True)
class Choices:
    """What a page was given: one battery or several, and what it asks for beside them."""

    batteries: tuple[Given, ...]
    outing: Given | None = None
    climate: Given | None = None

    @property
    def digest(self) -> str:
        """Changes with every byte that can change what is read."""
        given = (*self.batteries, self.outing, self.climate)
        text = " ".join("none" if one is None else one.digest for one in given)
        return hashlib.sha256(text.encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class Inputs:
    """What was read. restored : puts the user's own file names back into a text. benches : one a record.

    units : records of a bank's units, where the outing names them.
    """

    records: tuple[Record, ...]
    benches: tuple[Bench, ...]
    outing: Outing | None
    climate: Climate | None
    restored: Callable[[str], str]
    units: tuple[Record, ...] = ()

    @property
    def models(self) -> tuple[Fitted, ...]:
        """The records' models."""
        return tuple(bench.fitted for bench in self.benches)

    def needed_outing(self) -> Outing:
        """The outing of a page that always asks for one."""
        assert self.outing is not None
        return self.outing

    def needed_climate(self) -> Climate:
        """The climate of a page that always asks for one."""
        assert self.climate is not None
        return self.climate


def worked(chosen: Choices, work: Callable[[Inputs], Found]) -> Found | Refused:
    """Read all of it, so that all problems are told at once; then do the work while the uploads are on disk."""
    with ExitStack() as folders:
        try:
            batteries = [folders.enter_context(placed(given)) for given in chosen.batteries]
            outing, climate = (
                None if given is None else folders.enter_context(placed(given))
                for given in (chosen.outing, chosen.climate)
            )
        except InputRefused as refused:
            return Refused(refused.problems)
        return _read_and_work(chosen, batteries, outing, climate, work)


def _read_and_work(
    chosen: Choices,
    batteries: list[Placed],
    outing: Placed | None,
    climate: Placed | None,
    work: Callable[[Inputs], Found],
) -> Found | Refused:
    problems: list[Problem] = []

    def read(way: Way[Read], given: Given | None, place: Placed | None) -> Read | None:
        if given is None or place is None:
            return None
        try:
            return _read(way, given, place)
        except InputRefused as refused:
            problems.extend(titled(given, with_names_restored(refused, place.restored)))
            return None

    def restored(text: str) -> str:
        for place in (*batteries, outing, climate):
            text = text if place is None else place.restored(text)
        return text

    records = [read(RECORD, given, place) for given, place in zip(chosen.batteries, batteries, strict=True)]
    need, weather = read(OUTING, chosen.outing, outing), read(CLIMATE, chosen.climate, climate)
    units = [read(RECORD, Given(place.path), place) for place in _places_of_units(need, outing)]
    if problems:
        return Refused(tuple(problems))
    found = tuple(record for record in records if record is not None)
    known = tuple(unit for unit in units if unit is not None)
    try:
        benches = tuple(
            replace(_bench(given.digest, record), record=record)
            for given, record in zip(chosen.batteries, found, strict=True)
        )
        return work(Inputs(found, benches, need, weather, restored, known))
    except InputRefused as refused:  # a weather file is opened late
        return Refused(with_names_restored(refused, restored))


def _read(way: Way[Read], given: Given, place: Placed) -> Read:
    if place.text is not None:
        return way.text(table_from_bytes(place.text, str(place.path), place.path.parent))
    if place.named is not None:
        return way.file(place.path, place.named)  # lies in a folder that goes with this run
    kept: Read = _profile(f"{way.kind} {given.digest}", way, place.path)
    return kept


@st.cache_resource(max_entries=KEPT, ttl=KEPT_FOR, show_spinner=False)  # a log of 20 MB may hang on each
def _profile(digest: str, _way: Way[Read], _path: Path) -> Read:  # frozen; a refusal is not kept
    return _way.file(_path, None)


def _places_of_units(need: Outing | None, outing: Placed | None) -> list[Placed]:
    """The records an outing names for its bank; of an upload only what was uploaded beside it."""
    if need is None or need.bank is None or outing is None:
        return []
    return [replace(outing, path=path, text=None) for path in need.bank.units]


@st.cache_resource(max_entries=KEPT, ttl=KEPT_FOR, show_spinner=False)
def _bench(digest: str, _record: Record) -> Bench:  # frozen, and nobody writes into its arrays
    return bench_of(_record, fit_record(_record))


def kept(subject: str, digest: str, work: Callable[[], Found]) -> Found:
    """What `work` gives, from the store when the same was asked before.

    subject : which work it is, with its settings. digest : of everything it reads.
    """
    found: Found = _kept(subject, digest, work)
    return found


@st.cache_data(max_entries=4 * KEPT, ttl=KEPT_FOR, show_spinner=False)
def _kept(subject: str, digest: str, _work: Callable[[], Found]) -> Found:  # subject and digest are the key
    return _work()
