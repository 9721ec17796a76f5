"""Delimited text: what separates the fields, where the data start, and blocks of numbers from there on."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Generator, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from planner.log_file.clock import clock_cell, clock_seconds
from planner.log_file.columns import Column, LogChoices, Selection, refuse
from planner.log_file.headings import heading_row, is_unit_row, recognised
from planner.log_file.rows import Arrays, Row

DELIMITERS = (",", ";", "\t", "|")
HEAD_BYTES = 1 << 16  # enough for any heading and a first look at the data
BLOCK_BYTES = 1 << 22  # bytes handed to the fast reader at a time: memory stays bounded by a few of these
MAX_LINE = 1 << 16  # characters; a longer line is no row of a log
SAMPLE_ROWS = 20
MOST_ABOVE = 60  # lines in which the headings are looked for: a logger's settings above them are fewer
_SEPARATOR_LINE = re.compile(r"sep=.\s*$", re.IGNORECASE)  # a spreadsheet's own hint, above the headings


@dataclass(frozen=True, slots=True)
class TextLog:
    """A delimited text file whose headings have been found.

    first_line : lines before the first row of data. sample : the first rows of data. above : lines above the headings.
    """

    path: Path
    encoding: str
    delimiter: str
    headings: tuple[str, ...]
    units: tuple[str, ...]
    first_line: int
    sample: tuple[tuple[str, ...], ...]
    above: int = 0

    def fast(self, selection: Selection, choices: LogChoices) -> Iterator[Arrays]:
        """Blocks by the streaming reader. Raises ValueError where a block is not plain numbers."""
        import pyarrow as pa
        from pyarrow import csv as arrow_csv

        names = [str(i) for i in range(len(self.headings))]
        wanted = {
            quantity: [names[place] for place in column.places]
            for quantity, column in selection.columns.items()
        }
        types = {
            names[place]: pa.string() if column.clock else pa.float64()
            for column in selection.columns.values()
            for place in column.places
        }
        read = arrow_csv.ReadOptions(
            block_size=BLOCK_BYTES, skip_rows=self.first_line, column_names=names, encoding=self.encoding
        )
        parse = arrow_csv.ParseOptions(delimiter=self.delimiter, invalid_row_handler=_comment_or_error)
        convert = arrow_csv.ConvertOptions(
            column_types=types,
            include_columns=list(dict.fromkeys(name for every in wanted.values() for name in every)),
            decimal_point="," if choices.decimal_comma else ".",
        )
        # A file of our own: one the library opened would stay open for a moment after it refused a row.
        with self.path.open("rb") as stream:
            for batch in _one_ahead(arrow_csv.open_csv(stream, read, parse, convert)):
                yield {
                    q: _si([batch.column(name) for name in every], selection.columns[q])
                    for q, every in wanted.items()
                }

    def rows(self, skip: int) -> Generator[Row, None, None]:
        """Rows of data one by one, each with its line number, after the first `skip` of them."""
        with self.path.open(encoding=self.encoding, errors="replace", newline="") as stream:
            lines = _Lines(self.path, stream)
            for _ in range(self.first_line):
                lines.read()
            try:
                for cells in csv.reader(lines, delimiter=self.delimiter, strict=True):
                    if not any(cell.strip() for cell in cells):
                        continue  # a spreadsheet writes its empty rows as well
                    if skip:
                        skip -= 1
                        continue
                    yield lines.number, cells
            except csv.Error as error:
                refuse(
                    self.path,
                    f"row {lines.number}",
                    str(error),
                    "fields with matching quotes",
                    "Correct the quotation marks of this row.",
                )


class _Lines:
    """The lines of a stream, comments and empty lines left out, their number kept, none of them endless."""

    def __init__(self, path: Path, stream: io.TextIOBase | io.TextIOWrapper) -> None:
        self.path = path
        self.stream = stream
        self.number = 0

    def read(self) -> str:
        line = self.stream.readline(MAX_LINE)
        self.number += 1
        if len(line) >= MAX_LINE:
            refuse(
                self.path,
                f"line {self.number}",
                f"longer than {MAX_LINE} characters",
                "rows of a log",
                "This is no text log, or it is damaged here.",
            )
        return line

    def __iter__(self) -> Iterator[str]:
        return self

    def __next__(self) -> str:
        while True:
            line = self.read()
            if not line:
                raise StopIteration
            if "\0" in line:
                line = line.replace("\0", "\N{REPLACEMENT CHARACTER}")
            if line.strip() and not line.lstrip().startswith("#"):
                return line


def _one_ahead(batches: Iterable[Any]) -> Iterator[Any]:
    """The same batches, the next one parsed by a second thread while the caller works on this one."""
    source = iter(batches)
    with ThreadPoolExecutor(max_workers=1) as pool:
        ahead = pool.submit(next, source, None)
        while (batch := ahead.result()) is not None:
            ahead = pool.submit(next, source, None)
            yield batch


def _comment_or_error(row: object) -> str:
    return "skip" if str(getattr(row, "text", "")).lstrip().startswith("#") else "error"


def _si(values: list[Any], column: Column) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """SI values of one quantity. values : the cells of its column, and of its date where that stands apart."""
    if column.clock:
        date = None if column.date_place is None else 1
        rows = zip(*(every.to_pylist() for every in values), strict=True)
        return np.array([clock_seconds(clock_cell(row, 0, date), column.clock) for row in rows])
    raw = values[0].to_numpy(zero_copy_only=False)
    if column.scale == 1.0 and column.offset == 0.0:
        return np.asarray(raw)
    return np.asarray(raw * column.scale + column.offset)


def open_text(path: Path, choices: LogChoices) -> TextLog:
    """Find encoding, delimiter, headings and the first row of data. Raises InputRefused."""
    with path.open("rb") as stream:
        head = stream.read(HEAD_BYTES)
    if not head.strip():
        refuse(path, "(file)", "empty", "a log with headings and rows", "Export the log again.")
    encoding = _encoding(head)
    text = head.decode(encoding, errors="replace")
    if "\0" in text:
        refuse(path, "(file)", "not text", "text, .xlsx or .parquet", "Export the log as CSV.")
    lines = re.split(r"\r\n|\n|\r", text.removeprefix("\ufeff"))
    if len(head) == HEAD_BYTES and len(lines) > 1:
        lines.pop()  # cut in the middle
    used = [(i, line) for i, line in enumerate(lines) if line.strip() and not line.lstrip().startswith("#")]
    if used and _SEPARATOR_LINE.match(used[0][1]):
        used = used[1:]
    if not used:
        refuse(path, "(file)", "comments only", "a log with headings and rows", "Export the log again.")
    above = _lines_above([line for _, line in used[:MOST_ABOVE]])
    used = used[above:]
    delimiter = _delimiter([line for _, line in used[: SAMPLE_ROWS + 2]], choices.decimal_comma)
    cells = [(i, tuple(_cells(line, delimiter))) for i, line in used[: SAMPLE_ROWS + 2]]
    with_units = len(cells) > 1 and is_unit_row(cells[1][1])
    data = cells[2:] if with_units else cells[1:]
    if not data:
        refuse(path, "(file)", "headings only", "at least two rows of data", "Export the log again.")
    return TextLog(
        path,
        encoding,
        delimiter,
        cells[0][1],
        cells[1][1] if with_units else (),
        data[0][0],
        tuple(row for _, row in data[:SAMPLE_ROWS]),
        above,
    )


def _lines_above(lines: list[str]) -> int:
    """How many lines stand above the headings, whatever separates the fields."""
    found = [[tuple(_cells(line, delimiter)) for line in lines] for delimiter in DELIMITERS]
    starts = [(rows, heading_row(rows)) for rows in found]
    _, start = max(starts, key=lambda each: (recognised(each[0][each[1]]), -each[1]))
    return start


def _encoding(head: bytes) -> str:
    """UTF-8 unless a mark or the bytes say otherwise; then the Windows code page loggers write ° in."""
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    try:
        head.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        if error.start < len(head) - 3:  # a character cut at the end of the look-ahead is no sign
            return "cp1252"
    return "utf-8-sig" if head.startswith(b"\xef\xbb\xbf") else "utf-8"


def _cells(line: str, delimiter: str) -> list[str]:
    try:
        return next(csv.reader([line], delimiter=delimiter), [])
    except csv.Error:
        return line.split(delimiter)


def _delimiter(lines: list[str], decimal_comma: bool) -> str:
    """The delimiter under which most headings are known; ties go to the one the first row agrees with."""

    def rank(delimiter: str) -> tuple[int, bool, int]:
        headings = _cells(lines[0], delimiter)
        agrees = len(lines) > 1 and len(_cells(lines[-1], delimiter)) == len(headings)
        return recognised(headings), agrees, len(headings)

    def may_be(delimiter: str) -> bool:
        """A comma beside decimal commas parts fields only where each number stands in quotes: the rows then agree."""
        if not (decimal_comma and delimiter == ","):
            return True
        return len({len(_cells(line, delimiter)) for line in lines}) == 1

    return max(filter(may_be, DELIMITERS), key=rank)
