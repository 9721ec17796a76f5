"""One battery against many buyers' outings: who is served, who is not and why.

Every answer equals the single `assess` with the same draws and seed.
"""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from planner import toml_text
from planner.battery.fit import fit_record
from planner.errors import InputRefused, Problem
from planner.outing.schema import Outing
from planner.record.reader import read_record
from planner.record.schema import Record
from planner.verdict.assess import DRAWS, SEED, Assessment, judge
from planner.verdict.batch import run_batch
from planner.verdict.bench import bench_of
from planner.verdict.check import GOOD, WORST_FIRST
from planner.verdict.sweep_row import read_changed
from planner.verdict.swept_files import OUTING, SweptFile, open_swept
from planner.verdict.vary import Place, find_place
from planner.winter.schema import Climate

MOST_BUYERS = 100_000
MOST_BYTES = 50_000_000
DELIMITERS = (",", ";", "\t")  # a spreadsheet writes semicolons where a comma is the decimal one
BUYER, FILE = "buyer", "outing"  # columns of a buyers' file; every other one is a key of the outing


@dataclass(frozen=True, slots=True)
class Buyer:
    """One buyer's need: an outing file and what is changed of it. name : as the table has it, else the file's."""

    name: str
    file: SweptFile
    changes: tuple[tuple[Place, Any], ...] = ()

    def outing(self) -> Outing:
        """The need. Raises InputRefused."""
        found: Outing = read_changed(self.file, self.changes)
        return found


@dataclass(frozen=True, slots=True)
class Served:
    """The answer to one buyer, or why the outing was refused."""

    buyer: str
    outing: str
    answer: Assessment | None
    refused: str | None = None


@dataclass(frozen=True, slots=True)
class Fleet:
    """All answers, in the order of the buyers."""

    record: Record
    served: tuple[Served, ...]

    @property
    def fitting(self) -> int:
        """How many buyers have a good verdict, limits included."""
        return sum(one.answer is not None and one.answer.verdict in GOOD for one in self.served)

    def verdicts(self) -> dict[str, int]:
        """How many have each verdict, best first; those there are."""
        counted = Counter(one.answer.verdict for one in self.served if one.answer is not None)
        return {verdict: counted[verdict] for verdict in reversed(WORST_FIRST) if counted[verdict]}

    def causes(self) -> dict[tuple[str, str], int]:
        """How many are without a good verdict for each check: (verdict, check) to a number, the commonest first."""
        counted = Counter(
            (one.answer.verdict, check.id)
            for one in self.served
            if one.answer is not None and one.answer.verdict not in GOOD
            for check in one.answer.deciding
        )
        return dict(counted.most_common())


def buyers_of(files: Mapping[str, Path]) -> tuple[Buyer, ...]:
    """A buyer for each outing file, by name. Raises InputRefused."""
    return tuple(Buyer(name, _opened(file)) for name, file in files.items())


def read_buyers(path: Path, files: Mapping[str, Path] | None = None) -> tuple[Buyer, ...]:
    """Buyers from a folder of outing files, or from a CSV of them.

    files : the only outing files a CSV may name, by name; those of its folder when None.

    A CSV has a column `outing`, the file's name from the CSV's folder; perhaps `buyer`; and for every further key of
    the outing a column headed KEY, or KEY (UNIT) with bare numbers below; an empty cell leaves the file's value.
    Raises InputRefused for what cannot be read at all; an outing that may not be is told of its buyer alone.
    """
    if path.is_dir():
        found = sorted(path.glob("*.toml"))
        if not found:
            raise _refused(
                path, "(file)", "a folder without a .toml file", "a folder of outing files", "Name another."
            )
        return buyers_of({file.stem: file for file in found})
    rows = _rows(path)
    heads = [head.strip() for head in rows[0]] if rows else []
    if FILE not in heads:
        headed = f"headed {', '.join(heads)[:80] or 'nothing'}"
        fix = "Add the column outing, with the name of an outing file in each row."
        raise _refused(path, "(file)", headed, "a column outing", fix)
    opened: dict[Path, SweptFile] = {}
    buyers = []
    for number, cells in enumerate(rows[1:], start=2):
        row = dict(zip(heads, (cell.strip() for cell in cells), strict=False))
        if not row.get(FILE):
            fix = "Fill in the cell."
            raise _refused(path, f"row {number}", "without an outing", "the name of an outing file", fix)
        file = _named(path, row[FILE], files, number)
        if file not in opened:
            opened[file] = _opened(file)
        own = opened[file]
        named = row.get(BUYER) or f"row {number}"
        buyers.append(Buyer(named, own, _changes(own.values, row, path)))
    return tuple(buyers)


def _named(path: Path, name: str, files: Mapping[str, Path] | None, number: int) -> Path:
    """The file a row names. Raises InputRefused for one that is not among the files."""
    if files is None:
        return path.parent / name
    if name not in files:
        known = ", ".join(sorted(key for key in files if not key.endswith(".toml")))[:200]
        raise _refused(path, f"row {number}", name[:80], f"one of {known}", "Name one of them.")
    return files[name]


def _opened(path: Path) -> SweptFile:
    return open_swept(OUTING, path)


def _rows(path: Path) -> list[list[str]]:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise _refused(
                path, "(file)", "too large", f"at most {MOST_BYTES // 1_000_000} MB", "Cut it into parts."
            )
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise toml_text.refusal(str(path), "not UTF-8", "UTF-8 text", "Save it as UTF-8.") from error
    except OSError as error:
        fix = "Check the path and its spelling."
        raise toml_text.refusal(
            str(path), error.strerror or "not readable", "a folder or a CSV file", fix
        ) from error
    try:
        tables = (_table(text, delimiter) for delimiter in DELIMITERS)
        rows = next((rows for rows in tables if rows and FILE in map(str.strip, rows[0])), None) or _table(text, ",")
    except csv.Error as error:
        raise toml_text.refusal(
            str(path), "not a CSV file", "rows of cells with commas", f"{error}."
        ) from error
    if len(rows) - 1 > MOST_BUYERS:
        raise _refused(
            path, "(file)", f"{len(rows) - 1:,} rows", f"at most {MOST_BUYERS:,}", "Cut it into parts."
        )
    return rows


def _table(text: str, delimiter: str) -> list[list[str]]:
    """The rows that are not empty. Raises csv.Error."""
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    return [row for row in rows if any(cell.strip() for cell in row)]


def _changes(values: Mapping[str, Any], row: Mapping[str, str], path: Path) -> tuple[tuple[Place, Any], ...]:
    """The row's own values of keys, as the outing file would have them."""
    found = []
    for head, cell in row.items():
        if head in (BUYER, FILE) or not cell or not head:
            continue
        key, bracket, unit = head.partition(" (")
        place, present = find_place(key, values, str(path))
        plain = isinstance(present, int | float) and not isinstance(present, bool)
        text = f"{cell} {unit.rstrip(')')}" if bracket and unit != "1)" else cell
        found.append((place, _number(text) if plain or unit == "1)" else text))
    return tuple(found)


def _number(text: str) -> int | float | str:
    """A plain number, or the text itself for the reader to refuse."""
    try:
        value = float(text)
    except ValueError:
        return text
    return int(value) if value.is_integer() else value


def serve(record: Record, buyers: Sequence[Buyer], climate: Climate | None = None, draws: int = DRAWS,
          seed: int = SEED) -> Iterator[Served]:  # fmt: skip
    """The answer to every buyer, one at a time."""
    bench = bench_of(record, fit_record(record))
    for buyer in buyers:
        try:
            outing = buyer.outing()
            units = tuple(read_record(path) for path in outing.bank.units) if outing.bank else ()
        except InputRefused as refusal:
            yield Served(
                buyer.name, buyer.file.path.name, None, "; ".join(str(one) for one in refusal.problems)
            )
            continue
        batch = run_batch(record, outing, draws, seed, bench.fitted, units)
        yield Served(buyer.name, outing.name, judge(batch, climate, draws, seed, bench))


def _refused(path: Path, key: str, value: str, allowed: str, fix: str) -> InputRefused:
    return InputRefused([Problem(str(path), key, value, allowed, fix)])
