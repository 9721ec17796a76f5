"""sweep OUTING BATTERY…: the answer over ranges of the outing's numbers, as a table."""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING

from planner.commands import options
from planner.commands.inputs import read_all
from planner.errors import InputRefused, Problem

if TYPE_CHECKING:
    from planner.verdict.sweep_row import Sweep
    from planner.verdict.table_file import TableFile

HELP = "the answer over ranges of the outing's numbers, as a table"
MOST_WORKERS = 256
TELL_EVERY_S = 0.5


def arguments(parser: argparse.ArgumentParser) -> None:
    """What `sweep` takes."""
    parser.add_argument("outing", metavar="OUTING", help="an outing, or a profile's name")
    parser.add_argument("batteries", metavar="BATTERY", nargs="+", help="records, or profiles' names")
    parser.add_argument(
        "--vary", action="append", required=True, metavar="KEY=LOW:HIGH:N",
        help='a key of the outing file and its values, such as "load.1.current=5 A:60 A:50"; may be repeated',
    )  # fmt: skip
    parser.add_argument(
        "-o", "--output", metavar="FILE", help=".csv or .parquet; standard output when absent"
    )
    parser.add_argument(
        "--workers", type=_workers, default=1, metavar="N", help="processes to share the work"
    )
    options.add_draws(parser, default=None)
    options.add_library(parser)


def run(given: argparse.Namespace) -> None:
    """Write the table row by row."""
    path, *records = read_all(
        lambda: options.outing_path(given),
        *(lambda typed=typed: options.battery(given, typed) for typed in given.batteries),
    )
    from planner.verdict.sweep import plan_sweep, run_sweep

    sweep = plan_sweep(path, records, given.vary, given.draws or 0, given.seed)
    with _table(given.output, sweep) as table, _executor(given.workers) as executor:
        progress = Progress(sweep.rows)
        for row in run_sweep(sweep, executor, given.workers):
            table.write(row)
            progress.tell()


class Progress:
    """Rows done and time left on standard error, where someone is looking at it."""

    def __init__(self, rows: int) -> None:
        self.rows, self.done = rows, 0
        self.began = self.told = time.monotonic()
        self.shown = sys.stderr.isatty()

    def tell(self) -> None:
        """One more row is done."""
        self.done += 1
        now = time.monotonic()
        last = self.done == self.rows
        if not self.shown or (now - self.told < TELL_EVERY_S and not last):
            return
        self.told = now
        left = (now - self.began) / self.done * (self.rows - self.done)
        end = "\n" if last else ""
        print(
            f"\r{self.done:,} of {self.rows:,} rows, {_clock(left)} left ",
            end=end,
            file=sys.stderr,
            flush=True,
        )


def _clock(seconds: float) -> str:
    whole = int(seconds + 0.5)
    return f"{whole // 3600}:{whole // 60 % 60:02}:{whole % 60:02}"


def _workers(typed: str) -> int:
    if not (typed.isascii() and typed.isdigit() and len(typed) < 4 and 1 <= int(typed) <= MOST_WORKERS):
        raise argparse.ArgumentTypeError(f"{typed[:40]!r}; accepted: a whole number, 1 to {MOST_WORKERS}")
    return int(typed)


def _table(output: str | None, sweep: Sweep) -> TableFile:
    """Where the rows go, by the file's ending. Raises InputRefused."""
    from planner.verdict.table_file import CsvTable, ParquetTable

    columns = sweep.columns()
    if output is None:
        return CsvTable(sys.stdout, columns, owned=False)
    path = Path(output)
    if path.suffix.lower() == ".csv":
        return CsvTable(path.open("w", encoding="utf-8", newline=""), columns, owned=True)
    if path.suffix.lower() == ".parquet":
        return ParquetTable(path, columns, [sweep.is_number(column) for column in columns])
    fix = "Name a file that ends in one of them."
    raise InputRefused([Problem("arguments", "-o", path.suffix or output, ".csv or .parquet", fix)])


@contextmanager
def _executor(workers: int) -> Iterator[Executor | None]:
    """Processes to share the work; None for one."""
    if workers == 1:
        yield None
        return
    executor = ProcessPoolExecutor(
        workers, mp_context=get_context("spawn"), initializer=_leave_interrupts_to_us
    )
    try:
        yield executor
    finally:
        executor.shutdown(wait=True, cancel_futures=True)


def _leave_interrupts_to_us() -> None:
    """In a worker: Ctrl-C reaches the whole group, and the parent ends the work. One thread of arithmetic each."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    os.environ.setdefault("OMP_NUM_THREADS", "1")
