"""A raw log, whole or block by block, whatever the kind of file."""

from __future__ import annotations

from collections.abc import Generator, Iterator, Mapping
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Protocol

import numpy as np

from planner.log_file.columns import MAX_ROWS, FloatArray, LogChoices, LogColumns, Selection, refuse
from planner.log_file.headings import select_columns
from planner.log_file.replaced import unchanged
from planner.log_file.rows import Arrays, Row, careful_blocks, sound
from planner.log_file.tables import open_parquet, open_sheet
from planner.log_file.text import open_text

MIN_ROWS = 2  # one sample has no duration


class _Log(Protocol):
    """A file whose headings are known."""

    @property
    def headings(self) -> tuple[str, ...]: ...
    @property
    def units(self) -> tuple[object, ...]: ...
    @property
    def sample(self) -> tuple[tuple[object, ...], ...]: ...
    @property
    def above(self) -> int: ...
    def fast(self, selection: Selection, choices: LogChoices) -> Iterator[Arrays]: ...
    def rows(self, skip: int) -> Generator[Row, None, None]: ...


def iter_blocks(
    path: Path,
    *,
    decimal_comma: bool = False,
    columns: Mapping[str, str] | None = None,
    date_order: str | None = None,
    interval_s: float | None = None,
    required: tuple[str, ...] = ("time", "current"),
) -> Iterator[LogColumns]:
    """The log block by block, so that memory does not grow with the file.

    path : .csv, .txt, .tsv (fields apart by comma, semicolon, tab or bar), .xlsx or .parquet.
    decimal_comma : numbers are written 12,5.
    columns : quantity ("time", "voltage", "current", "temperature") -> heading, where there is a choice;
        "Voltage [mV]" gives the heading "Voltage" its unit.
    date_order : "day first" | "month first", where dates leave both open.
    interval_s : time between rows [s], for a log without a time column.
    required : quantities the caller cannot do without.
    Yields LogColumns in SI units, the current with the file's own sign.
    Raises InputRefused with every problem of the file, the first ten in words.
    """
    choices = LogChoices(decimal_comma, dict(columns or {}), date_order, interval_s, tuple(required))
    if interval_s is not None and not 0.0 < interval_s < float("inf"):
        refuse(path, "interval", f"{interval_s} s", "more than 0 s", "Give the time between two rows.")
    try:
        rows = 0
        with unchanged(path):
            log = _opened(path, choices)
            selection = select_columns(path, log.headings, log.units, log.sample, choices)
            selection = replace(selection, warnings=above_warnings(log.above) + selection.warnings)
            with closing(_columns(path, log, selection, choices)) as blocks:
                for block in blocks:
                    rows += block.rows
                    if rows > MAX_ROWS:
                        most = f"at most {MAX_ROWS} rows"
                        refuse(path, "(file)", f"more than {MAX_ROWS} rows", most, "Split the log.")
                    yield block
    except FileNotFoundError:
        refuse(path, "(file)", "not there", "a log file", "Check the name and the folder.")
    except OSError as error:
        refuse(
            path, "(file)", f"not readable ({error.strerror})", "a file that may be read", "Check the file."
        )
    if rows < MIN_ROWS:
        refuse(path, "(file)", f"{rows} row of data", "at least two rows of data", "Export the whole log.")


def read_columns(
    path: Path,
    *,
    decimal_comma: bool = False,
    columns: Mapping[str, str] | None = None,
    date_order: str | None = None,
    interval_s: float | None = None,
    required: tuple[str, ...] = ("time", "current"),
) -> LogColumns:
    """The whole log at once: the blocks of `iter_blocks` joined, with the same arguments and errors."""
    blocks = list(
        iter_blocks(
            path,
            decimal_comma=decimal_comma,
            columns=columns,
            date_order=date_order,
            interval_s=interval_s,
            required=required,
        )
    )
    repeats = sum(block.repeats for block in blocks)
    return LogColumns(
        np.concatenate([block.time_s for block in blocks]),
        _joined([block.voltage_v for block in blocks]),
        _joined([block.current_a for block in blocks]),
        _joined([block.temperature_k for block in blocks]),
        blocks[0].headings,
        blocks[0].warnings + repeat_warnings(repeats),
        repeats,
    )


def above_warnings(above: int) -> tuple[str, ...]:
    """What to say about lines above the headings."""
    if not above:
        return ()
    return (f"{above} line{'' if above == 1 else 's'} above the headings left out.",)


def repeat_warnings(repeats: int) -> tuple[str, ...]:
    """What to say about rows that carry the time of the row before."""
    if not repeats:
        return ()
    rows = "1 row carries" if repeats == 1 else f"{repeats} rows carry"
    return (
        f"{rows} the same time as the row before: no time passes between them, and a step there is sudden.",
    )


def _opened(path: Path, choices: LogChoices) -> _Log:
    suffix = path.suffix.lower()
    if path.is_dir():
        refuse(path, "(file)", "a folder", "a log file", "Name the file itself.")
    if suffix == ".xlsx":
        if not path.stat().st_size:
            refuse(path, "(file)", "empty", "a log with headings and rows", "Export the log again.")
        return open_sheet(path)
    if suffix == ".parquet":
        return open_parquet(path)
    if suffix in (".csv", ".txt", ".tsv"):
        return open_text(path, choices)
    refuse(
        path, "(file)", f'of kind "{suffix}"', ".csv, .txt, .tsv, .xlsx or .parquet", "Export the log as CSV."
    )


def _columns(path: Path, log: _Log, selection: Selection,
             choices: LogChoices) -> Generator[LogColumns, None, None]:  # fmt: skip
    """SI blocks with the time from its own start where it is a clock, and repeats counted across blocks."""
    clock = "time" in selection.columns and selection.columns["time"].clock is not None
    origin_s: float | None = None
    last_s = float("-inf")
    for arrays in _arrays(path, log, selection, choices):
        time_s = arrays["time"]
        if time_s.size == 0:
            continue
        if origin_s is None:
            origin_s = float(time_s[0]) if clock else 0.0
        repeats = int(np.count_nonzero(time_s[1:] == time_s[:-1])) + int(time_s[0] == last_s)
        last_s = float(time_s[-1])
        yield LogColumns(
            time_s - origin_s if clock else time_s,
            arrays.get("voltage"),
            arrays.get("current"),
            arrays.get("temperature"),
            selection.headings,
            selection.warnings,
            repeats,
        )


def _arrays(path: Path, log: _Log, selection: Selection, choices: LogChoices) -> Iterator[Arrays]:
    """Blocks by the fast way while they are sound, from there on row by row."""
    done, last_s = 0, float("-inf")
    if choices.interval_s is None:
        try:
            for arrays in log.fast(selection, choices):
                if not sound(arrays, last_s):
                    break
                if arrays["time"].size:
                    done, last_s = done + arrays["time"].size, float(arrays["time"][-1])
                    yield arrays
            else:
                if done:
                    return
        except (ValueError, KeyError, OSError):
            pass  # the careful reader finds the row and says what is wrong with it
    with closing(log.rows(done)) as rows:  # a row that is refused would else leave the file open
        yield from careful_blocks(
            path,
            rows,
            selection,
            len(log.headings),
            choices.decimal_comma,
            last_s,
            choices.interval_s,
            done,
        )


def _joined(parts: list[FloatArray | None]) -> FloatArray | None:
    found = [part for part in parts if part is not None]
    return np.concatenate(found) if found else None
