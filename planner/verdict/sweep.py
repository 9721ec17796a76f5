"""A sweep: rows worked out block by block, in order, over any executor of concurrent.futures.

A row depends on nothing but its own values, so the same table comes from threads, processes or a cluster, and
from blocks of any size.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor, Future
from pathlib import Path

from planner import toml_text
from planner.battery.fit import fit_record
from planner.errors import InputRefused, Problem
from planner.outing.reader import read_outing
from planner.record.reader import read_record
from planner.record.schema import Record
from planner.toml_table import read_toml
from planner.verdict.sweep_row import Cell, Sweep, block_cells, changed_outing
from planner.verdict.vary import Vary, parse_vary, unknown_key

MOST_ROWS = 10_000_000
BLOCK = 100  # rows handed out at once: some seconds of work, and what is lost when it is interrupted
AHEAD = 2  # blocks waiting for each worker

Row = tuple[Cell, ...]


def plan_sweep(outing: Path, records: Sequence[Record], varied: Sequence[str], draws: int = 0,
               seed: int = 1) -> Sweep:  # fmt: skip
    """Read the outing file and the --vary arguments. Raises InputRefused with the problems of all of them.

    outing : its path. draws : of every row, 0 for the centre of the inputs alone.
    """
    bank = read_outing(outing).bank  # the file itself must be valid
    read_toml(outing)
    values = toml_text.parse(toml_text.read_file(outing), str(outing))
    found: list[Vary] = []
    problems: list[Problem] = []
    for text in varied:
        try:
            found.append(parse_vary(text, values, str(outing)))
        except InputRefused as refusal:
            problems += refusal.problems
    keys = [vary.key for vary in found]
    problems += [
        Problem("arguments", f"--vary {key}", "given twice", "every key once", "Leave one out.")
        for key in dict.fromkeys(keys)
        if keys.count(key) > 1
    ]
    if problems:
        raise InputRefused(problems)
    units = tuple(read_record(path) for path in bank.units) if bank else ()
    known = tuple(fit_record(record) for record in records)
    sweep = Sweep(values, outing, tuple(records), known, tuple(found), units, draws, seed)
    if sweep.rows > MOST_ROWS:
        raise InputRefused(
            [Problem("arguments", "--vary", f"{sweep.rows:,} rows", f"at most {MOST_ROWS:,}", "Take fewer values.")]
        )
    _check_keys(sweep)
    return sweep


def _check_keys(sweep: Sweep) -> None:
    """Refuse a key that the outing's reader does not know, before any row is run."""
    first = [vary.numbers[0] for vary in sweep.varied]
    try:
        changed_outing(sweep, first)
    except InputRefused as refusal:
        unknown = {problem.key for problem in refusal.problems if problem.value == "not a known key"}
        for vary in sweep.varied:
            if vary.key in unknown:
                raise unknown_key(vary.key, sweep.values, str(sweep.path)) from refusal


def run_sweep(sweep: Sweep, executor: Executor | None = None, workers: int = 1, block: int = BLOCK) -> Iterator[Row]:
    """All rows in order; no more than a few blocks are under way or kept at once.

    executor : where blocks are worked out; here when None. workers : how many it has. block : rows handed out at once.
    """
    spans = [(first, min(first + block, sweep.rows)) for first in range(0, sweep.rows, block)]
    if executor is None:
        for first, end in spans:
            yield from block_cells(sweep, first, end)
        return
    waiting: deque[Future[list[Row]]] = deque()
    try:
        for first, end in spans:
            waiting.append(executor.submit(block_cells, sweep, first, end))
            if len(waiting) >= workers * AHEAD:
                yield from waiting.popleft().result()
        while waiting:
            yield from waiting.popleft().result()
    finally:
        for future in waiting:
            future.cancel()
