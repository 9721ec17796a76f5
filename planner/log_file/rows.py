"""Rows read one by one, with every fault named by row and column.

This is the careful way: the readers take it for spreadsheets, and for a text file from the first block
that the fast way could not take as it stands.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np

from planner.constants import ZERO_CELSIUS_K
from planner.log_file.clock import clock_cell, clock_seconds
from planner.log_file.columns import Column, Faults, FloatArray, Selection

Row = tuple[int, Sequence[object]]  # (number of the row in the file, its cells)
Arrays = dict[str, FloatArray]

HALF_DAY_S = 43_200.0  # a clock of hours, minutes and seconds that falls by more has passed midnight
BLOCK_ROWS = 100_000
# Beyond these a number is garbled, not measured (common practice, no source). SI units.
LIMITS = {
    "time": (-1e12, 1e12),
    "voltage": (-1000.0, 1000.0),
    "current": (-100_000.0, 100_000.0),
    "temperature": (ZERO_CELSIUS_K - 100.0, ZERO_CELSIUS_K + 500.0),
}
_NUMBER = re.compile(r"^[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?$")
_COMMA_NUMBER = re.compile(r"^[+-]?\d+,\d+([eE][+-]?\d{1,3})?$")


def sound(arrays: Arrays, last_s: float) -> bool:
    """Whether a block may be taken as it stands: finite, in range, and time not falling from last_s on."""
    for quantity, values in arrays.items():
        given = values[np.isfinite(values)] if quantity == "temperature" else values
        low, high = LIMITS[quantity]
        # NaN fails a comparison, so it is caught here as well.
        if given.size and not (given.min() >= low and given.max() <= high):
            return False
    time = arrays["time"]
    return time.size == 0 or bool(time[0] >= last_s and np.all(time[1:] >= time[:-1]))


def careful_blocks(
    path: Path,
    rows: Iterator[Row],
    selection: Selection,
    width: int,
    decimal_comma: bool,
    last_s: float,
    interval_s: float | None = None,
    done: int = 0,
) -> Iterator[Arrays]:
    """Blocks of SI arrays from rows; once a fault is found the rest is only searched for more.

    width : number of headings. last_s : time of the last row already delivered, of which there were `done`.
    Raises InputRefused at the end with every fault, the first ten in words.
    """
    reader = _RowReader(path, selection, width, decimal_comma, last_s, interval_s, done)
    block: list[list[float]] = []
    for number, cells in rows:
        values = reader.values(number, cells)
        if values is not None and not reader.faults.count:
            block.append(values)
        if len(block) >= BLOCK_ROWS:
            yield reader.arrays(block)
            block = []
    if reader.faults.count:
        reader.faults.stop()
    if block:
        yield reader.arrays(block)


class _RowReader:
    """Turns one row after the other into SI numbers and gathers the faults."""

    def __init__(
        self,
        path: Path,
        selection: Selection,
        width: int,
        decimal_comma: bool,
        last_s: float,
        interval_s: float | None,
        done: int,
    ) -> None:
        self.faults = Faults(path)
        self.columns = list(selection.columns.items())
        self.quantities = [q for q, _ in self.columns]
        self.width = width
        self.decimal_comma = decimal_comma
        self.last_s = last_s
        self.interval_s = interval_s
        self.done = done
        self._comma_seen = False

    def arrays(self, block: list[list[float]]) -> Arrays:
        """The block as one array a quantity."""
        table = np.array(block, dtype=np.float64).reshape(len(block), -1)
        arrays = {quantity: np.ascontiguousarray(table[:, i]) for i, quantity in enumerate(self.quantities)}
        if self.interval_s is not None:
            arrays["time"] = np.arange(self.done, self.done + len(block), dtype=np.float64) * self.interval_s
            self.done += len(block)
        return arrays

    def values(self, number: int, cells: Sequence[object]) -> list[float] | None:
        """The SI values of one row; None when something is wrong with it."""
        extra = [cell for cell in cells[self.width :] if cell not in (None, "")]
        if len(cells) < self.width or extra:
            self.faults.add(
                f"row {number}",
                f"{len(cells)} fields",
                f"{self.width} fields, as in the heading",
                "Complete or delete the row; mind that fields and decimals are told apart.",
            )
            return None
        before = self.faults.count
        values = [
            self._value(number, quantity, column, clock_cell(cells, column.place, column.date_place))
            for quantity, column in self.columns
        ]
        if self.faults.count > before:
            return None
        if "time" in self.quantities:
            self._forward(number, values[self.quantities.index("time")])
        return values

    def _forward(self, number: int, time_s: float) -> None:
        if time_s < self.last_s:
            back = self.last_s - time_s
            self.faults.add(
                f"row {number}",
                f"{back:g} s before the row above",
                "a time that does not fall",
                "Add the date, as a column of its own: this clock passed midnight."
                if back > HALF_DAY_S
                else "Sort or split the log; an hour back is a clock set to winter time.",
            )
        self.last_s = time_s

    def _value(self, number: int, quantity: str, column: Column, cell: object) -> float:
        place = f'row {number}, "{column.heading}"'
        if quantity == "temperature" and (cell is None or str(cell).strip() == ""):
            return math.nan  # a slow temperature logger leaves cells empty; that is unknown, not a fault
        try:
            if column.clock:
                return clock_seconds(cell, column.clock)
            value = self._number(place, cell) * column.scale + column.offset
        except ValueError:
            shown = str(cell)[:40]
            self.faults.add(
                place,
                f'"{shown}"' if shown.strip() else "empty",
                "a clock time as in the rows above" if column.clock else "a number",
                "Correct the cell or delete the row.",
            )
            return math.nan
        low, high = LIMITS[quantity]
        if not math.isnan(value) and not low <= value <= high:
            self.faults.add(
                place, f'"{str(cell)[:40]}"', f"{low:g} to {high:g} in SI units", "Correct the cell."
            )
        return value

    def _number(self, place: str, cell: object) -> float:
        if isinstance(cell, bool):
            raise ValueError("a truth value is no number")  # noqa: TRY004  same refusal as text
        if isinstance(cell, (int, float)):
            if not math.isfinite(cell):
                raise ValueError("not finite")
            return float(cell)
        text = str(cell).strip() if cell is not None else ""
        if self.decimal_comma and _COMMA_NUMBER.match(text):
            return float(text.replace(",", "."))
        if not self.decimal_comma and _COMMA_NUMBER.match(text):
            self._both_readings(place, text)
            return math.nan
        if not _NUMBER.match(text) or (self.decimal_comma and "." in text):
            raise ValueError(text)
        return float(text)

    def _both_readings(self, place: str, text: str) -> None:
        """One message for the whole file: the same question in every row is one question."""
        if not self._comma_seen:
            point, thousands = text.replace(",", "."), text.replace(",", "")
            self.faults.add(
                place,
                f'"{text}", which can be read as {point} (decimal comma) or as {thousands} '
                "(comma between thousands)",
                "one reading",
                "Say decimal comma if that is meant; else write the numbers without comma.",
            )
        self._comma_seen = True
