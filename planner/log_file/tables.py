"""Spreadsheets (.xlsx) and Parquet files, with a guard against files that unpack to more than they say."""

from __future__ import annotations

from collections.abc import Generator, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

import numpy as np

from planner.errors import InputRefused
from planner.log_file.columns import MAX_ROWS, LogChoices, Selection, refuse
from planner.log_file.headings import heading_row, is_unit_row, recognised
from planner.log_file.rows import BLOCK_ROWS, Arrays, Row
from planner.log_file.unpack_guard import guard_parquet, guard_workbook

MAX_SHEET_ROWS = 1_048_576  # the format's own limit, ECMA-376 part 1, 18.3.1.73, as applications apply it
SAMPLE_ROWS = 20
MOST_ABOVE = 60  # rows in which the headings are looked for, as in a text


@dataclass(frozen=True, slots=True)
class SheetLog:
    """One sheet of a workbook.

    first_row : number of the row before the first row of data. above : rows above the headings.
    """

    path: Path
    sheet: str
    headings: tuple[str, ...]
    units: tuple[object, ...]
    first_row: int
    sample: tuple[tuple[object, ...], ...]
    above: int = 0

    def fast(self, selection: Selection, choices: LogChoices) -> Iterator[Arrays]:
        """A workbook is read row by row: no block is delivered this way."""
        return iter(())

    def rows(self, skip: int) -> Generator[Row, None, None]:
        """Rows of data with their row number in the sheet."""
        for number, cells in _sheet_rows(self.path, self.sheet):
            if number > self.first_row + skip and any(cell not in (None, "") for cell in cells):
                # A sheet ends a row at its last filled cell: the rest of it is empty, not cut.
                yield number, tuple(cells) + (None,) * (len(self.headings) - len(cells))


@dataclass(frozen=True, slots=True)
class ParquetLog:
    """A Parquet file; its column names are the headings."""

    path: Path
    headings: tuple[str, ...]
    sample: tuple[tuple[object, ...], ...]
    units: tuple[object, ...] = ()
    above: int = 0

    def fast(self, selection: Selection, choices: LogChoices) -> Iterator[Arrays]:
        """Blocks of numbers. Raises ValueError where a column holds anything else."""
        import pyarrow as pa

        if any(column.clock for column in selection.columns.values()):
            return
        for batch in _batches(self.path):
            arrays: Arrays = {}
            for quantity, column in selection.columns.items():
                values = batch.column(column.place)
                if not (pa.types.is_integer(values.type) or pa.types.is_floating(values.type)):
                    raise ValueError(f"{column.heading} is no number")
                raw = np.asarray(values.to_numpy(zero_copy_only=False), dtype=np.float64)
                arrays[quantity] = raw * column.scale + column.offset
            yield arrays

    def rows(self, skip: int) -> Generator[Row, None, None]:
        """Rows of data, numbered from 1."""
        number = 0
        for batch in _batches(self.path):
            if number + batch.num_rows > skip:
                try:
                    columns = [column.to_pylist() for column in batch.columns]
                except (ValueError, OverflowError) as error:
                    _damaged(self.path, error)
                for at, cells in enumerate(zip(*columns, strict=True), start=number + 1):
                    if at > skip:
                        yield at, cells
            number += batch.num_rows


def open_sheet(path: Path) -> SheetLog:
    """The one sheet of a workbook that holds a log. Raises InputRefused."""
    guard_workbook(path)
    with _workbook(path) as workbook:
        names = workbook.sheetnames
    found = []
    for sheet in names:
        head = []
        for number, cells in _sheet_rows(path, sheet):
            texts = [str(cell).strip() for cell in cells if cell is not None]
            if any(texts) and not texts[0].startswith("#"):
                head.append((number, tuple(cells)))
            if len(head) > MOST_ABOVE or number > 10 * SAMPLE_ROWS:
                break
        above = heading_row([[_heading(cell) for cell in cells] for _, cells in head])
        if head and recognised([_heading(cell) for cell in head[above][1]]):
            found.append((sheet, head[above:], above))
    if len(found) != 1:
        refuse(
            path,
            "(file)",
            f"{len(found)} sheets with the headings of a log",
            "one sheet with a log",
            "Keep the sheet with the log, its headings with units in one row.",
        )
    sheet, head, above = found[0]
    with_units = len(head) > 1 and is_unit_row(head[1][1])
    data = head[2:] if with_units else head[1:]
    if not data:
        refuse(path, "(file)", "headings only", "at least two rows of data", "Export the log again.")
    headings = tuple(_heading(cell) for cell in head[0][1])
    sample = tuple(tuple(cells) for _, cells in data[:SAMPLE_ROWS])
    return SheetLog(path, sheet, headings, head[1][1] if with_units else (), data[0][0] - 1, sample, above)


def open_parquet(path: Path) -> ParquetLog:
    """Headings and first rows of a Parquet file. Raises InputRefused."""
    file = _parquet(path)
    rows = file.metadata.num_rows
    if not 0 < rows <= MAX_ROWS:
        refuse(path, "(file)", f"{rows} rows", f"2 to {MAX_ROWS} rows", "Export the log again, or split it.")
    guard_parquet(path, file.metadata)
    log = ParquetLog(path, tuple(str(name) for name in file.schema_arrow.names), ())
    sample = []
    for number, cells in log.rows(0):
        sample.append(tuple(cells))
        if number >= SAMPLE_ROWS:
            break
    return ParquetLog(path, log.headings, tuple(sample))


def _heading(cell: object) -> str:
    return "" if cell is None else str(cell).strip()


@contextmanager
def _workbook(path: Path) -> Iterator[Any]:
    """The workbook while it is read. Opened here, as the library leaves a damaged one open."""
    import openpyxl

    with path.open("rb") as stream:
        try:
            workbook = openpyxl.load_workbook(stream, read_only=True, data_only=True)
        except Exception as error:  # noqa: BLE001  the library raises nearly anything on a damaged workbook
            _damaged(path, error)
        with closing(workbook):
            yield workbook


def _damaged(path: Path, error: Exception) -> NoReturn:
    refuse(path, "(file)", f"damaged ({type(error).__name__})", "a readable log", "Export the log again.")


def _sheet_rows(path: Path, sheet: str) -> Iterator[tuple[int, tuple[object, ...]]]:
    with _workbook(path) as workbook:
        try:
            page = workbook[sheet]
            if hasattr(page, "reset_dimensions"):
                page.reset_dimensions()  # a sheet may claim any size: rows are taken as they come
            for number, cells in enumerate(page.iter_rows(values_only=True), start=1):
                if number > MAX_SHEET_ROWS:
                    most = f"more than {MAX_SHEET_ROWS} rows"
                    refuse(path, "(file)", most, "rows of a sheet", "Save it as CSV.")
                yield number, cells
        except InputRefused:
            raise
        except Exception as error:  # noqa: BLE001  as above: the sheet itself is parsed only here
            _damaged(path, error)


def _parquet(path: Path) -> Any:
    from pyarrow import parquet

    try:
        return parquet.ParquetFile(path)
    except FileNotFoundError:
        raise
    except Exception as error:  # noqa: BLE001  a damaged footer raises what its bytes happen to say
        _damaged(path, error)


def _batches(path: Path) -> Iterator[Any]:
    batches = _parquet(path).iter_batches(batch_size=BLOCK_ROWS)
    while True:
        try:
            batch = next(batches, None)
        except Exception as error:  # noqa: BLE001  as above
            _damaged(path, error)
        if batch is None:
            return
        yield batch
