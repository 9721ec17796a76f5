"""What a record or an outing says of a log it names, where the file itself leaves it open: the table `log_options`."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from planner.errors import InputRefused
from planner.log_file.columns import QUANTITIES, FloatArray, LogColumns
from planner.log_file.reading import read_columns
from planner.toml_table import Table

DATE_ORDERS = ("day first", "month first")
SIGNS = ("positive", "negative")
LONGEST_INTERVAL_S = 86400.0


@dataclass(frozen=True, slots=True)
class LogOptions:
    """How a log is to be read. discharge : the sign of the current that is discharge, None where the log is to tell.

    columns : quantity -> heading. The rest as in `planner.log_file.reading.read_columns`.
    """

    decimal_comma: bool = False
    columns: dict[str, str] = field(default_factory=dict)
    date_order: str | None = None
    interval_s: float | None = None
    discharge: str | None = None

    def read(self, path: Path, required: tuple[str, ...] = ("time", "current")) -> LogColumns:
        """The whole log. Raises InputRefused as `read_columns` does, and says where an answer is to be written."""
        try:
            return self.read_alone(path, required)
        except InputRefused as refused:
            raise InputRefused([replace(one, fix=_placed(one.fix)) for one in refused.problems]) from refused

    def read_alone(self, path: Path, required: tuple[str, ...] = ("time", "current")) -> LogColumns:
        """The whole log where no file names it. Raises InputRefused as `read_columns` does."""
        return read_columns(path, decimal_comma=self.decimal_comma, columns=self.columns, date_order=self.date_order,
                            interval_s=self.interval_s, required=required)  # fmt: skip

    def turned(self, current_a: FloatArray) -> FloatArray:
        """The current with discharge positive where the sign is stated, else as it is."""
        turned: FloatArray = np.negative(current_a) if self.discharge == "negative" else current_a
        return turned


def _placed(fix: str) -> str:
    """How to mend it, with the place where what is asked is to be said."""
    return f"{fix} That is said in log_options, beside log." if fix.startswith("Say") else fix


def read_options(owner: Table) -> LogOptions:
    """The table `log_options` beside a `log`; without it, nothing is decided. Problems are noted in the table."""
    table = owner.table("log_options")
    if table is None:
        return LogOptions()
    if not owner.has("log"):
        owner.problem("log_options", "given without log", "beside log", "Name the log, or remove its options.")
    named, columns = table.table("columns"), {}
    if named is not None:
        found = {quantity: named.text(quantity) for quantity in QUANTITIES}
        columns = {quantity: heading for quantity, heading in found.items() if heading is not None}
    return LogOptions(
        bool(table.flag("decimal_comma")),
        columns,
        table.choice("date_order", DATE_ORDERS),
        table.quantity("interval", "duration", above=0.0, high=LONGEST_INTERVAL_S),
        table.choice("discharge", SIGNS),
    )
