"""Rows of a sweep: changed files, judged at the centre of their inputs or with draws."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.battery.fit import Fitted, fit_record
from planner.constants import COULOMB_PER_AH, SECONDS_PER_HOUR
from planner.errors import InputRefused, Problem
from planner.outing.reader import outing_from_table
from planner.outing.schema import QUESTIONS, Outing
from planner.record.reader import record_from_table
from planner.record.schema import Record
from planner.simulate.setup import LONGEST_RUN_S
from planner.toml_table import table_of_values
from planner.verdict.assess import Assessment, judge
from planner.verdict.bench import Bench, bench_of
from planner.verdict.sweep_group import run_rows
from planner.verdict.swept_files import BATTERY, CLIMATE, OUTING, SweptFile
from planner.verdict.vary import Place, Vary, with_values
from planner.winter.reader import climate_from_table
from planner.winter.schema import Climate

Cell = str | float | None
Case = tuple[int, tuple[float, ...]]  # which battery, and the values of the keys


@dataclass(frozen=True, slots=True)
class Sweep:
    """What is swept: every battery over the grid of all values, the last key moving fastest, or over a hypercube.

    files : the outing, every battery and perhaps a climate, parsed. fits : the records' models, climate : as the
    file has it. units : records of the bank's units where the outing names them. draws : 0 for the centre alone.
    shares : (points, keys) places of a hypercube in the ranges, 0 to 1; None for the grid.
    """

    files: tuple[SweptFile, ...]
    records: tuple[Record, ...]
    fits: tuple[Fitted, ...]
    climate: Climate | None
    varied: tuple[Vary, ...]
    units: tuple[Record, ...] = ()
    draws: int = 0
    seed: int = 1
    shares: NDArray[np.float64] | None = None

    @property
    def grid(self) -> int:
        """Rows of one battery."""
        if self.shares is not None:
            return len(self.shares)
        return math.prod(len(vary.numbers) for vary in self.varied)

    @property
    def rows(self) -> int:
        """All rows."""
        return self.grid * len(self.records)

    def columns(self) -> tuple[str, ...]:
        """Headings, in order."""
        keys = [vary.heading for vary in self.varied]
        return ("battery", *keys, "verdict", *QUESTIONS, *RESULTS, "refused")

    def is_number(self, column: str) -> bool:
        """Whether a column holds numbers, not words."""
        words = {"battery", "verdict", *QUESTIONS, "ended_by", "refused"}
        return column not in words

    def numbers(self, row: int) -> tuple[float, ...]:
        """The values of the keys in a row of the whole table."""
        place = row % self.grid
        if self.shares is not None:
            return tuple(
                vary.at(float(share)) for vary, share in zip(self.varied, self.shares[place], strict=True)
            )
        found = []
        for vary in reversed(self.varied):
            place, own = divmod(place, len(vary.numbers))
            found.append(vary.numbers[own])
        return tuple(reversed(found))

    def cases(self, rows: Sequence[int]) -> list[Case]:
        """Battery and values of some rows."""
        return [(row // self.grid, self.numbers(row)) for row in rows]

    def bare(self) -> Sweep:
        """The same without the values of all rows, to be sent about with the cases of a few."""
        return replace(self, varied=tuple(replace(vary, numbers=()) for vary in self.varied), shares=None)


RESULTS = ("nominal_h", "p10_h", "p90_h", "charge_used_Ah", "min_voltage_V", "ended_by")


def read_changed(file: SweptFile, changes: Sequence[tuple[Place, Any]]) -> Any:
    """The outing, record or climate of a file with other values. Raises InputRefused as the file would be refused."""
    table = table_of_values(with_values(file.values, changes), str(file.path), file.path.parent)
    if file.kind == OUTING:
        return outing_from_table(table)
    return (
        record_from_table(table, file.path) if file.kind == BATTERY else climate_from_table(table, file.path)
    )


class _Reader:
    """The files of a sweep with the values of a case. What several cases share is read and fitted once."""

    def __init__(self, sweep: Sweep) -> None:
        self.sweep = sweep
        self.batteries: dict[tuple[int, tuple[float, ...]], Bench | InputRefused] = {}

    def case(self, place: int, numbers: tuple[float, ...]) -> tuple[Bench, Outing, Climate | None]:
        """Battery, outing and climate of a case. Raises InputRefused with the problems of all three."""
        problems: list[Problem] = []
        found: list[Any] = []
        for read in (self._bench, self._outing, self._climate):
            try:
                found.append(read(place, numbers))
            except InputRefused as refusal:
                problems += refusal.problems
        if problems:
            raise InputRefused(problems)
        bench, outing, climate = found
        return bench, outing, climate

    def _changes(self, kind: str, numbers: tuple[float, ...]) -> list[tuple[Place, Any]]:
        pairs = zip(self.sweep.varied, numbers, strict=True)
        return [(vary.place, vary.written(number)) for vary, number in pairs if vary.file == kind]

    def _of(self, kind: str) -> list[SweptFile]:
        return [file for file in self.sweep.files if file.kind == kind]

    def _outing(self, place: int, numbers: tuple[float, ...]) -> Outing:
        outing: Outing = read_changed(self._of(OUTING)[0], self._changes(OUTING, numbers))
        return outing

    def _climate(self, place: int, numbers: tuple[float, ...]) -> Climate | None:
        changes = self._changes(CLIMATE, numbers)
        climate: Climate | None = (
            read_changed(self._of(CLIMATE)[0], changes) if changes else self.sweep.climate
        )
        return climate

    def _bench(self, place: int, numbers: tuple[float, ...]) -> Bench:
        own = tuple(
            number for vary, number in zip(self.sweep.varied, numbers, strict=True) if vary.file == BATTERY
        )
        if (place, own) not in self.batteries:
            self.batteries[place, own] = self._battery(place, numbers)
        found = self.batteries[place, own]
        if isinstance(found, InputRefused):
            raise found
        return found

    def _battery(self, place: int, numbers: tuple[float, ...]) -> Bench | InputRefused:
        changes = self._changes(BATTERY, numbers)
        if not changes:
            return bench_of(self.sweep.records[place], self.sweep.fits[place])
        try:
            record = read_changed(self._of(BATTERY)[place], changes)
        except InputRefused as refusal:
            return refusal
        return bench_of(record, fit_record(record))


def block_cells(sweep: Sweep, cases: Sequence[Case]) -> list[tuple[Cell, ...]]:
    """The rows of some cases, in their order, the cells in the order of the columns. sweep : may be bare."""
    cells: dict[int, tuple[Cell, ...]] = {}
    reader = _Reader(sweep)
    waiting: dict[int, tuple[Bench, dict[int, tuple[Outing, Climate | None]]]] = {}
    for row, (place, numbers) in enumerate(cases):
        try:
            bench, outing, climate = reader.case(place, numbers)
        except InputRefused as refusal:
            empty = (None,) * (1 + len(QUESTIONS) + len(RESULTS))
            reason = "; ".join(str(problem) for problem in refusal.problems)
            cells[row] = (sweep.records[place].name, *numbers, *empty, reason)
            continue
        waiting.setdefault(id(bench), (bench, {}))[1][row] = (outing, climate)
    for bench, needs in waiting.values():
        for row, found in _answers(sweep, bench, needs):
            cells[row] = (found.record.name, *cases[row][1], *_result(found, bool(sweep.draws)), None)
    return [cells[row] for row in range(len(cases))]


def _answers(sweep: Sweep, bench: Bench, needs: dict[int, tuple[Outing, Climate | None]]
             ) -> Iterator[tuple[int, Assessment]]:  # fmt: skip
    """The answers of one battery to several outings, run together where they may be; in any order."""
    rows = list(needs)
    outings = [needs[row][0] for row in rows]
    for place, batch in run_rows(bench, outings, sweep.units, sweep.draws, sweep.seed):
        row = rows[place]
        yield row, judge(batch, needs[row][1], sweep.draws, sweep.seed, bench)


def _result(found: Assessment, drawn: bool) -> tuple[Cell, ...]:
    checks = {check.id: check.verdict for check in found.checks}
    run = found.runtime
    return (
        found.verdict,
        *(checks.get(name) for name in QUESTIONS),
        _hours(run.nominal_s, run.charge_c),
        _hours(run.p10_s, run.charge_c) if drawn else None,
        _hours(run.p90_s, run.charge_c) if drawn else None,
        _finite(run.charge_c / COULOMB_PER_AH),
        _finite(run.min_v),
        run.ended_by,
    )


def _hours(duration_s: float, charge_c: float) -> float | None:
    """Hours; None when no charge is drawn or beyond the longest run."""
    if charge_c <= 0.0 or not math.isfinite(duration_s) or duration_s > LONGEST_RUN_S:
        return None
    return duration_s / SECONDS_PER_HOUR


def _finite(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None
