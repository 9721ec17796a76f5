"""Rows done and time left on standard error, where someone is looking at it."""

from __future__ import annotations

import sys
import time

TELL_EVERY_S = 0.5


class Progress:
    """Counts rows as blocks of them are written. rows : of all."""

    def __init__(self, rows: int) -> None:
        self.rows, self.done = rows, 0
        self.began = self.told = time.monotonic()
        self.shown = sys.stderr.isatty()
        self.open = False  # a line without its end

    def tell(self, more: int) -> None:
        """So many more rows are done."""
        self.done += more
        now = time.monotonic()
        last = self.done == self.rows
        if not self.shown or (now - self.told < TELL_EVERY_S and not last):
            return
        self.told, self.open = now, not last
        left = (now - self.began) / self.done * (self.rows - self.done)
        end = "\n" if last else ""
        print(
            f"\r{self.done:,} of {self.rows:,} rows, {_clock(left)} left ",
            end=end,
            file=sys.stderr,
            flush=True,
        )

    def stopped(self, name: str | None) -> None:
        """Say what there is when the work ended early. name : of the file, None for standard output."""
        line = "\n" if self.open else ""
        where = "standard output" if name is None else name
        print(f"{line}{self.done:,} of {self.rows:,} rows are in {where}.", file=sys.stderr, flush=True)


def _clock(seconds: float) -> str:
    whole = int(seconds + 0.5)
    return f"{whole // 3600}:{whole // 60 % 60:02}:{whole % 60:02}"
