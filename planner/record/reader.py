"""A battery's record from its TOML file. Every problem of the file is reported at once."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from planner.constants import COULOMB_PER_AH, ZERO_CELSIUS_K
from planner.errors import InputRefused
from planner.record.capacity_reader import MAX_CHARGE_C, read_capacity_test
from planner.record.conditions import (
    COLDEST_K,
    HIGHEST_UNIT_V,
    HOTTEST_K,
    LOWEST_UNIT_V,
    MAX_CURRENT_A,
    read_instruments,
)
from planner.record.schema import FULL_ENDINGS, Claims, Instrument, Record, Teardown
from planner.record.tests_reader import (
    read_charge_test,
    read_cold_charge_test,
    read_current_test,
    read_step_test,
    read_terminal_test,
)
from planner.toml_table import Table, read_toml

TEST_KINDS = (
    "capacity_test",
    "current_test",
    "step_test",
    "cold_charge_test",
    "terminal_test",
    "charge_test",
)
MOST_HELD = 2.0  # times the largest full discharge, which may be one in the cold
Test = TypeVar("Test")


def read_record(path: Path, named: Mapping[str, Path] | None = None) -> Record:
    """The record in a TOML file.

    path : the file; paths inside it start at its folder. named : of an upload, the only files it may name.
    Returns a checked Record; what is missing is None or empty, what had to be assumed is in `warnings`.
    Raises InputRefused with every problem of the file, and of the files it names, at once.
    """
    return _read(Path(path), is_repeat=False, named=named)


def record_from_table(top: Table, path: Path | None = None) -> Record:
    """A record from a table already opened, such as a text that is being edited. Raises InputRefused.

    path : the file it will be, so that `repeats` cannot name the record itself.
    """
    return _record(top, path, is_repeat=False, named=None)


def _read(path: Path, is_repeat: bool, named: Mapping[str, Path] | None) -> Record:
    return _record(read_toml(path, named), path, is_repeat, named)


def _record(top: Table, path: Path | None, is_repeat: bool, named: Mapping[str, Path] | None) -> Record:
    instruments = read_instruments(top)
    record = Record(
        name=top.text("name", required=True),
        tag=top.text("tag"),
        tested_on=top.date("tested_on"),
        mass_kg=top.quantity("mass", "mass", above=0.0, high=1_000.0),
        price=top.number("price", low=0.0, high=1e7),
        currency=top.text("currency", longest=20),
        series_allowed=top.flag("series_allowed"),
        claims=_claims(top.table("claims")),
        capacity_tests=_tests(top, "capacity_test", instruments, read_capacity_test),
        current_tests=_tests(top, "current_test", instruments, read_current_test),
        step_tests=_tests(top, "step_test", instruments, read_step_test),
        cold_charge_tests=_tests(top, "cold_charge_test", instruments, read_cold_charge_test),
        terminal_tests=_tests(top, "terminal_test", instruments, read_terminal_test),
        charge_tests=_tests(top, "charge_test", instruments, read_charge_test),
        teardown=_teardown(top.table("teardown")),
        path=path,
    )
    record = _with_storage(record, top.table("storage"))
    _check_whole(top, record)
    _check_holds(top, record)
    record = replace(record, repeats=_repeats(top, record, is_repeat, named))
    top.finish()
    return replace(record, files=top.files, warnings=top.warnings)


def _tests(
    top: Table,
    key: str,
    instruments: dict[str, Instrument],
    read: Callable[[Table, dict[str, Instrument]], Test],
) -> tuple[Test, ...]:
    return tuple(read(table, instruments) for table in top.tables(key))


def _claims(table: Table | None) -> Claims:
    """What label or seller says; kept apart from every measurement."""
    if table is None:
        return Claims()
    surges = tuple(
        (
            surge.quantity("current", "current", above=0.0, high=MAX_CURRENT_A, required=True),
            surge.quantity("duration", "duration", above=0.0, high=3_600.0, required=True),
        )
        for surge in table.tables("surges")
    )
    return Claims(
        capacity_c=table.quantity("capacity", "charge", above=0.0, high=MAX_CHARGE_C),
        energy_j=table.quantity("energy", "energy", above=0.0, high=MAX_CHARGE_C * HIGHEST_UNIT_V),
        continuous_current_a=table.quantity("continuous_current", "current", above=0.0, high=MAX_CURRENT_A),
        surges=surges,
        charge_min_temperature_k=_cell_temperature(table, "charge_min_temperature"),
        charge_max_temperature_k=_cell_temperature(table, "charge_max_temperature"),
        discharge_min_temperature_k=_cell_temperature(table, "discharge_min_temperature"),
        discharge_max_temperature_k=_cell_temperature(table, "discharge_max_temperature"),
        charge_voltage_v=table.quantity("charge_voltage", "voltage", low=LOWEST_UNIT_V, high=HIGHEST_UNIT_V),
        charge_current_a=table.quantity("charge_current", "current", above=0.0, high=MAX_CURRENT_A),
        charge_bands=_charge_bands(table),
    )


def _cell_temperature(table: Table, key: str) -> float | None:
    return table.quantity(key, "temperature", low=COLDEST_K, high=HOTTEST_K)


def _charge_bands(table: Table) -> tuple[tuple[float, float, float], ...]:
    """Largest charge current between two temperatures: rows of from, until, current."""
    limits = ((COLDEST_K, HOTTEST_K), (COLDEST_K, HOTTEST_K), (0.0, MAX_CURRENT_A))
    rows = table.pairs("charge_bands", ("temperature", "temperature", "current"), limits=limits)
    bands = tuple((from_k, until_k, current_a) for from_k, until_k, current_a in rows)
    for i, (from_k, until_k, _) in enumerate(bands, start=1):
        if not from_k < until_k:
            found = f"from {from_k - ZERO_CELSIUS_K:g} until {until_k - ZERO_CELSIUS_K:g} degC"
            table.problem(f"charge_bands.{i}", found, "from below until", "Put the colder end first.")
    ordered = sorted(bands)
    if any(later[0] < earlier[1] for earlier, later in itertools.pairwise(ordered)):
        table.warn("two charge bands overlap: the smaller current holds where they do")
    return bands


def _teardown(table: Table | None) -> Teardown | None:
    if table is None:
        return None
    positive, negative = table.conductor("positive_lead"), table.conductor("negative_lead")
    return Teardown(
        positive_lead=positive[0] if positive else None,
        negative_lead=negative[0] if negative else None,
        positive_area_m2=positive[1] if positive else None,
        negative_area_m2=negative[1] if negative else None,
        insulation_k=table.quantity(
            "insulation", "temperature", low=ZERO_CELSIUS_K + 40.0, high=ZERO_CELSIUS_K + 300.0
        ),
        temperature_sensor=table.flag("temperature_sensor"),
        surge_suppressor=table.flag("surge_suppressor"),
        notes=table.text("notes", longest=10_000) or "",
    )


def _with_storage(record: Record, table: Table | None) -> Record:
    """The record with its sleep current, and its self-discharge as a fraction in 30 days."""
    if table is None:
        return record
    return replace(
        record,
        sleep_current_a=table.quantity("sleep_current", "current", low=0.0, high=10.0),
        self_discharge_per_month=table.quantity("self_discharge", "fraction", low=0.0, high=1.0),
    )


def _check_whole(top: Table, record: Record) -> None:
    """What no single section can check."""
    if not any(top.has(key) for key in TEST_KINDS):
        fix = "Add a [[capacity_test]]: a record without a test says nothing."
        top.problem("capacity_test", "absent", "at least one test of any kind", fix)
    if record.price is not None and record.currency is None and not top.has("currency"):
        top.warn("price without currency: prices are compared as plain numbers")
    claimed_c = record.claims.capacity_c
    for test in record.capacity_tests:
        if claimed_c is not None and test.charge_c > 2.0 * claimed_c:
            times = test.charge_c / claimed_c
            top.warn(
                f"{test.at.place}: {times:.1f} times the claimed capacity was measured: check both figures"
            )


def _check_holds(top: Table, record: Record) -> None:
    """Refuse a hold that took out more than the unit was measured to hold: its figures are not those of the test."""
    held_c = max((test.charge_c for test in record.capacity_tests if test.ended_by in FULL_ENDINGS), default=math.nan)
    for test in record.current_tests:
        if test.duration_s is None or not test.current_a * test.duration_s > MOST_HELD * held_c:
            continue
        taken = f"{test.current_a * test.duration_s / COULOMB_PER_AH:.4g} Ah"
        allowed = f"a hold of no more than the unit holds, {held_c / COULOMB_PER_AH:.4g} Ah"
        fix = "Check its current and duration and their units, minutes and hours too."
        top.problem(f"{test.at.place}.duration", f"a hold that takes out {taken}", allowed, fix)


def _repeats(
    top: Table, record: Record, is_repeat: bool, named: Mapping[str, Path] | None
) -> tuple[Record, ...]:
    """Records of further units of the same kind, named by `repeats`; one of them names none of its own."""
    if is_repeat:
        if top.has("repeats"):
            fix = "Name all units in the first record."
            top.problem(
                "repeats", "given in a record that is itself named by repeats", "no repeats there", fix
            )
        return ()
    found: list[Record] = []
    seen = set() if record.path is None else {record.path.resolve()}
    tags = {record.tag}
    for i, path in enumerate(top.paths("repeats"), start=1):
        if path.resolve() in seen:
            # one unit counted twice would make the kind look more alike than it was shown to be
            top.problem(f"repeats.{i}", str(path), "a file that is not read already", "Remove it.")
            continue
        seen.add(path.resolve())
        try:
            repeat = _read(path, is_repeat=True, named=named)
        except InputRefused as refusal:
            top.add_problems(refusal.problems)
            continue
        if repeat.tag is not None and repeat.tag in tags:
            whose = "this record's own tag" if repeat.tag == record.tag else "the tag of another one, also"
            top.warn(f"{path.name} has {whose} {repeat.tag}: one unit is counted twice")
        tags.add(repeat.tag)
        top.add_files(repeat.files)
        found.append(repeat)
    return tuple(found)
