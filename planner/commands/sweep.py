"""sweep OUTING BATTERY…: the answer over ranges of the files' numbers, as a table."""

from __future__ import annotations

import argparse
import errno
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from planner.commands import options
from planner.commands.executors import add_workers, crew
from planner.commands.inputs import read_all
from planner.commands.progress import Progress
from planner.errors import InputRefused, Problem

if TYPE_CHECKING:
    from planner.verdict.sweep_row import Sweep
    from planner.verdict.table_file import TableFile

HELP = "the answer over ranges of the files' numbers, as a table"
EXAMPLE = 'sweep trolling_day unit_one --vary "ambient=0 degC:25 degC:6" -o table.csv'
NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


def arguments(parser: argparse.ArgumentParser) -> None:
    """What `sweep` takes."""
    parser.add_argument("outing", metavar="OUTING", help="an outing, or a profile's name")
    parser.add_argument("batteries", metavar="BATTERY", nargs="+", help="records, or profiles' names")
    parser.add_argument(
        "--vary", action="append", required=True, metavar="KEY=LOW:HIGH:N",
        help='a key and its values, such as "load.1.current=5 A:60 A:50", or a list, "load.1.current=5 A;20 A"; a key '
        'of the outing, or of another file as "battery.KEY" or "climate.KEY"; may be repeated',
    )  # fmt: skip
    parser.add_argument(
        "--points", type=options.points, metavar="N",
        help="a Latin hypercube of N points over the ranges instead of the full grid, drawn with --seed; "
        "a range may then be KEY=LOW:HIGH",
    )  # fmt: skip
    parser.add_argument(
        "-o", "--output", metavar="FILE", help=".csv or .parquet; standard output when absent"
    )
    add_workers(parser)
    options.add_climate(parser)
    options.add_draws(parser, default=None)
    options.add_library(parser)


def run(given: argparse.Namespace) -> None:
    """Write the table row by row."""
    path, climate, *records = read_all(
        lambda: options.outing_path(given),
        lambda: options.climate_path(given),
        *(lambda typed=typed: options.battery(given, typed) for typed in given.batteries),
    )
    from planner.verdict.sweep import plan_sweep, run_blocks

    sweep = plan_sweep(path, records, given.vary, given.draws or 0, given.seed, climate, given.points)
    progress = Progress(sweep.rows)
    try:
        with _table(given.output, sweep) as table, crew(given) as workers:
            try:
                for rows in run_blocks(sweep, workers.executor, workers.hands):
                    for row in rows:
                        table.write(row)
                    progress.tell(len(rows))
            finally:
                progress.done = table.rows
    except KeyboardInterrupt:
        progress.stopped(given.output)
        raise
    except OSError as failure:
        if failure.errno in NO_ROOM:
            raise _no_room(given.output, progress) from failure
        raise


def _no_room(output: str | None, progress: Progress) -> InputRefused:
    found = f"no room left on the disk after {progress.done:,} of {progress.rows:,} rows"
    fix = "Make room, or name a file elsewhere."
    if output is not None and output.lower().endswith(".parquet"):
        fix += " A Parquet file without its end cannot be read: a .csv would keep its rows."
    where = f"-o {output or '(standard output)'}"
    return InputRefused([Problem("arguments", where, found, "a place with room for the table", fix)])


def _table(output: str | None, sweep: Sweep) -> TableFile:
    """Where the rows go, by the file's ending. Raises InputRefused."""
    from planner.verdict.table_file import CsvFile, CsvTable, ParquetTable

    columns = sweep.columns()
    if output is None:
        return CsvTable(sys.stdout, columns)
    path = Path(output)
    if path.suffix.lower() == ".csv":
        return CsvFile(path, columns)
    if path.suffix.lower() == ".parquet":
        return ParquetTable(path, columns, [sweep.is_number(column) for column in columns])
    fix = "Name a file that ends in one of them."
    raise InputRefused([Problem("arguments", "-o", path.suffix or output, ".csv or .parquet", fix)])
