"""A sweep: rows worked out block by block, in order, over any executor of concurrent.futures.

A row depends on nothing but its own values, so the same table comes from threads, processes or a cluster, and
from blocks of any size. What is handed out is the files and the block's own values, never the whole table's.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import Executor, Future
from contextlib import closing
from pathlib import Path

import numpy as np
from scipy.stats import qmc

from planner.battery.fit import fit_record
from planner.errors import InputRefused, Problem
from planner.outing.reader import read_outing
from planner.record.reader import read_record
from planner.record.schema import Record
from planner.verdict.sweep_row import Cell, Sweep, block_cells, read_changed
from planner.verdict.swept_files import (
    BATTERY,
    CLIMATE,
    OUTING,
    UNKNOWN,
    SweptFile,
    find_vary,
    open_swept,
)
from planner.verdict.vary import Vary
from planner.winter.reader import read_climate

MOST_ROWS = 10_000_000
BLOCK_COLUMNS = (
    4000  # scenarios handed out at once: some seconds of work, and what is lost when it is interrupted
)
MOST_BLOCK = 400
# what a row costs, in scenarios: centre and moved assumptions, a model fitted anew, a year of charging
PLAIN, FITTED_ANEW, A_YEAR = 10, 150, 300
AHEAD = 2  # blocks waiting for each worker

Row = tuple[Cell, ...]


def plan_sweep(outing: Path, records: Sequence[Record], varied: Sequence[str], draws: int = 0, seed: int = 1,
               climate: Path | None = None, points: int | None = None) -> Sweep:  # fmt: skip
    """Read the files and the --vary arguments. Raises InputRefused with the problems of all of them.

    outing, climate : their paths; records come with theirs. draws : of every row, 0 for the centre of the inputs
    alone. points : of a Latin hypercube over the ranges, drawn with the seed; None for the full grid.
    """
    planned = read_outing(outing)  # the files themselves must be valid
    weather = None if climate is None else read_climate(climate)
    files = [open_swept(OUTING, outing)]
    files += [open_swept(BATTERY, record.path) for record in records if record.path is not None]
    files += [] if climate is None else [open_swept(CLIMATE, climate)]
    keys = _keys(varied, files, points is not None)
    shares = None
    if points is not None:
        shares = qmc.LatinHypercube(d=max(len(keys), 1), rng=np.random.default_rng(seed)).random(points)
    units = tuple(read_record(path) for path in planned.bank.units) if planned.bank else ()
    fits = tuple(fit_record(record) for record in records)
    sweep = Sweep(tuple(files), tuple(records), fits, weather, keys, units, draws, seed, shares)
    if sweep.rows > MOST_ROWS:
        raise InputRefused(
            [
                Problem(
                    "arguments",
                    "--vary",
                    f"{sweep.rows:,} rows",
                    f"at most {MOST_ROWS:,}",
                    "Take fewer values.",
                )
            ]
        )
    return sweep


def _keys(varied: Sequence[str], files: Sequence[SweptFile], between: bool) -> tuple[Vary, ...]:
    """All keys, or the problems of all of them."""
    found: list[Vary] = []
    problems: list[Problem] = []
    for text in varied:
        try:
            found.append(find_vary(text, files, between, _knows))
        except InputRefused as refusal:
            problems += refusal.problems
    places = [(vary.file, vary.place) for vary in found]
    problems += [
        Problem("arguments", f"--vary {vary.key}", "given twice", "every key once", "Leave one out.")
        for number, vary in enumerate(found)
        if places.index((vary.file, vary.place)) < number
    ]
    if problems:
        raise InputRefused(problems)
    return tuple(found)


def _knows(file: SweptFile, vary: Vary) -> bool:
    """Whether the file's reader has such a key at all, by reading the file with the first value."""
    try:
        read_changed(file, [(vary.place, vary.written(vary.numbers[0]))])
    except InputRefused as refusal:
        bare = vary.key.removeprefix(f"{vary.file}.")
        return not any(problem.key == bare and problem.value == UNKNOWN for problem in refusal.problems)
    return True


def usual_block(sweep: Sweep, workers: int = 1) -> int:
    """Rows handed out at once: fewer when a row is much work, and so that each of several workers has some."""
    cost = PLAIN + sweep.draws + (0 if sweep.climate is None else A_YEAR)
    cost += FITTED_ANEW if any(vary.file == BATTERY for vary in sweep.varied) else 0
    most = max(min(MOST_BLOCK, BLOCK_COLUMNS // cost), 1)
    return most if workers == 1 else max(min(most, sweep.rows // (4 * workers)), 1)


def run_sweep(sweep: Sweep, executor: Executor | None = None, workers: int | Callable[[], int] = 1,
              block: int | None = None) -> Iterator[Row]:  # fmt: skip
    """All rows in order, as in `run_blocks`."""
    with closing(run_blocks(sweep, executor, workers, block)) as blocks:
        for rows in blocks:
            yield from rows


def run_blocks(sweep: Sweep, executor: Executor | None = None, workers: int | Callable[[], int] = 1,
               block: int | None = None) -> Generator[list[Row]]:  # fmt: skip
    """All rows in order, in lists; no more than a few blocks are under way or kept at once.

    executor : where blocks are worked out; here when None. workers : how many it has, or what tells it at any time.
    block : rows handed out at once, chosen when None.
    """
    count = workers if callable(workers) else lambda: workers
    size = block or usual_block(sweep, count())
    bare = sweep.bare()
    spans = [range(first, min(first + size, sweep.rows)) for first in range(0, sweep.rows, size)]
    if executor is None:
        for span in spans:
            yield block_cells(bare, sweep.cases(span))
        return
    waiting: deque[Future[list[Row]]] = deque()
    try:
        for span in spans:
            waiting.append(executor.submit(block_cells, bare, sweep.cases(span)))
            if len(waiting) >= count() * AHEAD:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
    finally:
        for future in waiting:
            future.cancel()
