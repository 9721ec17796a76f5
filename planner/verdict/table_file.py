"""A table written row by row: CSV or Parquet, valid whenever writing stops.

A text that a spreadsheet would take for a formula is written with an apostrophe before it, as OWASP advises
("CSV injection"); numbers stay numbers. Quoting by RFC 4180.
"""

from __future__ import annotations

import csv
import io
import os
import stat
from collections.abc import Sequence
from pathlib import Path
from types import TracebackType
from typing import Any, Protocol, Self, TextIO

Cell = str | float | None
ROW_GROUP = 4096
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\0", "\uff1d", "\uff0b", "\uff0d", "\uff20")


class TableFile(Protocol):
    """Something rows can be written to."""

    @property
    def rows(self) -> int:
        """How many it holds, the headings left out."""

    def write(self, row: Sequence[Cell]) -> None:
        """Write one row."""

    def close(self) -> None:
        """End the file; it holds every row written."""

    def __enter__(self) -> Self: ...
    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 trace: TracebackType | None) -> None: ...  # fmt: skip


def safe_text(text: str) -> str:
    """A text that no spreadsheet takes for a formula: an apostrophe before it, or before a line of it, where needed."""
    lines = text.replace("\r\n", "\n").split("\n")
    return "\n".join("'" + line if line.startswith(FORMULA_STARTS) else line for line in lines)


def cell_text(cell: Cell) -> str:
    """A cell as CSV has it: numbers in full, nothing for what is not there."""
    if cell is None:
        return ""
    return safe_text(cell) if isinstance(cell, str) else repr(float(cell))


def csv_line(row: Sequence[Cell]) -> str:
    """One row as a line of a CSV file."""
    line = io.StringIO()
    csv.writer(line, lineterminator="\n").writerow([cell_text(cell) for cell in row])
    return line.getvalue()


class CsvTable:
    """Rows to a text stream that is somebody else's."""

    def __init__(self, stream: TextIO, columns: Sequence[str]) -> None:
        self.stream, self.rows = stream, -1
        self.write(columns)

    def write(self, row: Sequence[Cell]) -> None:
        """Write one row and let go of it."""
        self.stream.write(csv_line(row))
        self.stream.flush()
        self.rows += 1

    def close(self) -> None:
        """Nothing: every row is written and the stream is not ours."""

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 trace: TracebackType | None) -> None:  # fmt: skip
        self.close()


class CsvFile:
    """Rows to a file of our own, each whole as soon as it is written: a stop or a full disk leaves no half row."""

    def __init__(self, path: Path, columns: Sequence[str]) -> None:
        self._file = path.open("wb", buffering=0)
        self._whole, self.rows = 0, -1  # bytes of the rows that are wholly in it, and how many they are
        try:
            self.write(columns)
        except BaseException:
            self.close()
            raise

    def write(self, row: Sequence[Cell]) -> None:
        """Write one row. Raises OSError when there is no room for it; what was written of it is taken back."""
        data = memoryview(csv_line(row).encode())
        done = 0
        try:
            while done < len(data):
                done += self._file.write(data[done:])
        except BaseException:
            if stat.S_ISREG(os.fstat(self._file.fileno()).st_mode):
                self._file.truncate(self._whole)
            raise
        self._whole, self.rows = self._whole + len(data), self.rows + 1

    def close(self) -> None:
        """Close the file."""
        self._file.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 trace: TracebackType | None) -> None:  # fmt: skip
        self.close()


class ParquetTable:
    """Rows to a Parquet file in groups; closing writes the rest. numeric : columns of numbers."""

    def __init__(self, path: Path, columns: Sequence[str], numeric: Sequence[bool]) -> None:
        import pyarrow
        import pyarrow.parquet

        self._arrow: Any = pyarrow
        kinds = [pyarrow.float64() if number else pyarrow.string() for number in numeric]
        self._schema = pyarrow.schema(list(zip(columns, kinds, strict=True)))
        self._writer: Any = pyarrow.parquet.ParquetWriter(str(path), self._schema)
        self._rows: list[Sequence[Cell]] = []
        self._flushed = 0

    @property
    def rows(self) -> int:
        """Those in the file and those that closing will write."""
        return self._flushed + len(self._rows)

    def write(self, row: Sequence[Cell]) -> None:
        """Keep one row; a full group goes to the file."""
        self._rows.append(row)
        if len(self._rows) >= ROW_GROUP:
            self._flush()

    def close(self) -> None:
        """Write what is left and the file's end."""
        self._flush()
        self._writer.close()

    def _flush(self) -> None:
        if self._rows:
            # first, so that a stop in between writes none of them twice
            rows, self._rows, self._flushed = self._rows, [], self._flushed + len(self._rows)
            columns = [self._arrow.array(column, kind.type) for column, kind in
                       zip(zip(*rows, strict=True), self._schema, strict=True)]  # fmt: skip
            self._writer.write_table(self._arrow.Table.from_arrays(columns, schema=self._schema))

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 trace: TracebackType | None) -> None:  # fmt: skip
        self.close()
