"""What a raw log gives: columns in SI units, and the choices the reader may need from the user."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import NoReturn

import numpy as np
import numpy.typing as npt

from planner.errors import InputRefused, Problem

FloatArray = npt.NDArray[np.float64]

QUANTITIES = ("time", "voltage", "current", "temperature")
SHOWN_PROBLEMS = 10  # a message longer than this is not read
MAX_ROWS = 200_000_000  # a 30 A supply logged at 1 kHz for two days; above this a file is damaged or hostile


@dataclass(frozen=True, slots=True)
class LogColumns:
    """A log, or one block of it, in SI units.

    time_s : ndarray, shape (rows,)  never falling; a clock column counts from its first row.
    voltage_v, current_a, temperature_k : ndarray, shape (rows,), or None when the log has no such column.
        The current's sign is the file's own. A temperature may be NaN where its cell is empty.
    headings : quantity -> heading used, as the file spells it.
    warnings : about the file as a whole.
    repeats : rows whose time equals that of the row before.
    """

    time_s: FloatArray
    voltage_v: FloatArray | None
    current_a: FloatArray | None
    temperature_k: FloatArray | None
    headings: dict[str, str]
    warnings: tuple[str, ...]
    repeats: int = 0

    @property
    def rows(self) -> int:
        """Number of samples."""
        return int(self.time_s.size)


@dataclass(frozen=True, slots=True)
class LogChoices:
    """What the user has decided about a file that could be read in more than one way.

    decimal_comma : numbers are written 12,5.
    columns : quantity -> heading; "Voltage [mV]" also gives the heading "Voltage" its unit.
    date_order : "day first" | "month first" for dates such as 03/04/2026.
    interval_s : seconds between rows of a log that has no time column.
    required : quantities without which the log is of no use to the caller.
    """

    decimal_comma: bool = False
    columns: Mapping[str, str] = field(default_factory=dict)
    date_order: str | None = None
    interval_s: float | None = None
    required: tuple[str, ...] = ("time", "current")


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the file: where it stands and how its cells become SI values (cell·scale + offset).

    clock : None for a number, else how a clock time is written: "iso", "iso with zone", "day first",
        "month first", "h:m:s". date_place : where the date stands when it has a column of its own.
    """

    place: int
    heading: str
    scale: float = 1.0
    offset: float = 0.0
    clock: str | None = None
    date_place: int | None = None

    @property
    def places(self) -> tuple[int, ...]:
        """Every cell it is made of."""
        return (self.place,) if self.date_place is None else (self.place, self.date_place)


@dataclass(frozen=True, slots=True)
class Selection:
    """The columns chosen for one file, and what to tell the user about the choice."""

    columns: dict[str, Column]
    warnings: tuple[str, ...] = ()

    @property
    def headings(self) -> dict[str, str]:
        """Quantity -> heading as the file spells it."""
        return {quantity: column.heading for quantity, column in self.columns.items()}


class Faults:
    """Gathers what is wrong with a file: the first few in words, all of them by number."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.count = 0
        self._shown: list[Problem] = []

    def add(self, key: str, value: str, allowed: str, fix: str) -> None:
        """Record one problem of this file."""
        self.count += 1
        if len(self._shown) < SHOWN_PROBLEMS:
            self._shown.append(Problem(self.path.name, key, value, allowed, fix))

    def stop(self) -> NoReturn:
        """Raise what was gathered."""
        more = self.count - len(self._shown)
        tail = (
            []
            if more <= 0
            else [
                Problem(
                    self.path.name,
                    "(file)",
                    f"… and {more} more problems like these",
                    "none",
                    "Mend these first.",
                )
            ]
        )
        raise InputRefused([*self._shown, *tail])


def refuse(path: Path, key: str, value: str, allowed: str, fix: str) -> NoReturn:
    """Raise InputRefused with one problem of one file."""
    raise InputRefused([Problem(path.name, key, value, allowed, fix)])
