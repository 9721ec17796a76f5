"""A table written row by row: CSV or Parquet, valid whenever writing stops.

A text that a spreadsheet would take for a formula is written with an apostrophe before it, as OWASP advises
("CSV injection"); numbers stay numbers. Quoting by RFC 4180.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path
from types import TracebackType
from typing import Any, Protocol, Self, TextIO

Cell = str | float | None
ROW_GROUP = 4096
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\0", "\uff1d", "\uff0b", "\uff0d", "\uff20")


class TableFile(Protocol):
    """Something rows can be written to."""

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


class CsvTable:
    """Rows to a text stream, each complete as it is written."""

    def __init__(self, stream: TextIO, columns: Sequence[str], owned: bool) -> None:
        self.stream, self.owned = stream, owned
        self.write(columns)

    def write(self, row: Sequence[Cell]) -> None:
        """Write one row and let go of it, so that a stop leaves no half row."""
        line = io.StringIO()
        csv.writer(line, lineterminator="\n").writerow([cell_text(cell) for cell in row])
        self.stream.write(line.getvalue())
        self.stream.flush()

    def close(self) -> None:
        """Close the stream if it is ours."""
        if self.owned:
            self.stream.close()

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
            columns = [self._arrow.array(column, kind.type) for column, kind in
                       zip(zip(*self._rows, strict=True), self._schema, strict=True)]  # fmt: skip
            self._writer.write_table(self._arrow.Table.from_arrays(columns, schema=self._schema))
            self._rows = []

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 trace: TracebackType | None) -> None:  # fmt: skip
        self.close()
