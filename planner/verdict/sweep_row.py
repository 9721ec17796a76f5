"""One row of a sweep: a changed outing, judged at the centre of its inputs or with draws."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from planner.battery.fit import Fitted
from planner.constants import COULOMB_PER_AH, SECONDS_PER_HOUR
from planner.errors import InputRefused
from planner.outing.reader import outing_from_table
from planner.outing.schema import QUESTIONS, Outing
from planner.record.schema import Record
from planner.simulate.setup import LONGEST_RUN_S
from planner.toml_table import table_of_values
from planner.verdict.assess import Assessment, assess, judge
from planner.verdict.sweep_group import run_rows
from planner.verdict.vary import Vary, with_values

Cell = str | float | None


@dataclass(frozen=True, slots=True)
class Sweep:
    """What is swept: every battery over the grid of all values, the last key moving fastest.

    values, path : the outing file, parsed, and where it lies. fits : the records' models.
    units : records of the bank's units where the file names them. draws : 0 for the centre alone.
    """

    values: Mapping[str, Any]
    path: Path
    records: tuple[Record, ...]
    fits: tuple[Fitted, ...]
    varied: tuple[Vary, ...]
    units: tuple[Record, ...] = ()
    draws: int = 0
    seed: int = 1

    @property
    def grid(self) -> int:
        """Rows of one battery."""
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
        place, found = row % self.grid, []
        for vary in reversed(self.varied):
            place, own = divmod(place, len(vary.numbers))
            found.append(vary.numbers[own])
        return tuple(reversed(found))


RESULTS = ("nominal_h", "p10_h", "p90_h", "charge_used_Ah", "min_voltage_V", "ended_by")


def changed_outing(sweep: Sweep, numbers: Sequence[float]) -> Outing:
    """The outing with these values. Raises InputRefused as the file would be refused."""
    changes = [
        (vary.place, vary.written(number)) for vary, number in zip(sweep.varied, numbers, strict=True)
    ]
    values = with_values(sweep.values, changes)
    return outing_from_table(table_of_values(values, str(sweep.path), sweep.path.parent))


def block_cells(sweep: Sweep, first: int, end: int) -> list[tuple[Cell, ...]]:
    """Rows from first up to end, end left out, the cells in the order of the columns."""
    cells: dict[int, tuple[Cell, ...]] = {}
    waiting: dict[int, dict[int, Outing]] = {}
    for row in range(first, end):
        numbers = sweep.numbers(row)
        try:
            waiting.setdefault(row // sweep.grid, {})[row] = changed_outing(sweep, numbers)
        except InputRefused as refusal:
            empty = (None,) * (1 + len(QUESTIONS) + len(RESULTS))
            reason = "; ".join(str(problem) for problem in refusal.problems)
            cells[row] = (sweep.records[row // sweep.grid].name, *numbers, *empty, reason)
    for place, outings in waiting.items():
        for row, found in zip(outings, _answers(sweep, place, list(outings.values())), strict=True):
            cells[row] = (found.record.name, *sweep.numbers(row), *_result(found, bool(sweep.draws)), None)
    return [cells[row] for row in range(first, end)]


def _answers(sweep: Sweep, place: int, outings: list[Outing]) -> Iterator[Assessment]:
    """The answers of one battery to several outings: together at the centre, one by one with draws."""
    record, fitted = sweep.records[place], sweep.fits[place]
    if sweep.draws:
        for outing in outings:
            yield assess(record, outing, None, sweep.draws, sweep.seed, fitted, sweep.units)
        return
    for batch in run_rows(record, fitted, outings, sweep.units):
        yield judge(batch, None, 0, sweep.seed)


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
