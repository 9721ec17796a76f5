"""A recorded current as a load: what the buyer's logger saw, and what it cannot have seen."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from planner.constants import COULOMB_PER_AH, SECONDS_PER_HOUR
from planner.errors import InputRefused
from planner.log_file import LogColumns
from planner.log_file.stated import LogOptions, read_options
from planner.outing.build import samples_needed
from planner.outing.schema import FINE_INTERVAL_S, Log
from planner.outing.timeline import Floats
from planner.toml_table import Table

GAP_INTERVALS = 5.0  # a pause longer than this many usual intervals is a gap and not sampling
TOP_SAMPLES = 3  # of one highest value in a row, where readings else move, are the end of the logger's range
MOVING = 0.5  # share of readings that differ from the one before: readings that move (both common practice, no source)
MAX_SAMPLES = 2_000_000  # changes of current one outing may hold

BETWEEN = ("hold", "line")


def read_log(load: Table) -> Log | None:
    """The log of a [[load]] of kind "recorded", times from 0, samples that say nothing left out.

    Notes problems in the load's table and gives None when there is no usable log. A log that does not say
    what lies between its samples is refused with the charge of both answers: we cannot know.
    """
    path, options = load.path("log", required=True), read_options(load)
    between = load.choice("between_samples", BETWEEN)
    columns = None if path is None else _columns(load, path, options)
    if path is None or columns is None or columns.current_a is None:
        return None
    time_s, current_a = columns.time_s - columns.time_s[0], options.turned(columns.current_a)
    if not _usable(load, time_s, current_a):
        return None
    current_a = _without_charging(load, time_s, current_a, between or BETWEEN[0])
    usual_s = _note_sampling(load, time_s)
    _note_flat_tops(load, current_a)
    if between is None:
        if not load.has("between_samples"):
            load.problem("between_samples", "absent", *_both_answers(time_s, current_a))
        return None
    needed = samples_needed(current_a, between)
    if np.count_nonzero(needed) > MAX_SAMPLES:
        found = f"{np.count_nonzero(needed)} changes of current"
        load.problem("log", found, f"at most {MAX_SAMPLES:,}", "Thin the log, or cut it into outings.")
        return None
    return Log(path, tuple(time_s[needed].tolist()), tuple(current_a[needed].tolist()), between, usual_s)


def charge_c(time_s: Floats, current_a: Floats, between_samples: str) -> float:
    """Charge of a sampled current [C]: held until the next sample, or joined by straight lines.

    time_s, current_a : (n,) [s], [A]. Held, the last sample has no time of its own.
    """
    length_s = np.diff(time_s)
    level_a = current_a[:-1] if between_samples == "hold" else 0.5 * (current_a[:-1] + current_a[1:])
    return float(np.sum(level_a * length_s))


def _columns(load: Table, path: Path, options: LogOptions) -> LogColumns | None:
    try:
        columns = options.read(path)
    except InputRefused as refused:
        for problem in refused.problems:
            load.problem(
                "log", f"{problem.file}, {problem.key}: {problem.value}", problem.allowed, problem.fix
            )
        return None
    for warning in columns.warnings:
        load.warn(warning)
    if columns.current_a is None:
        load.problem("log", path.name, "a log with a column of current", 'Head it "Current (A)".')
    return columns


def _usable(load: Table, time_s: Floats, current_a: Floats) -> bool:
    """Whether the samples make a discharge current over time; what is wrong is noted."""
    if time_s.size < 2 or time_s[-1] <= 0.0:
        load.problem(
            "log", f"{time_s.size} samples over {time_s[-1]:g} s", "two or more", "Give a longer log."
        )
        return False
    back = np.flatnonzero(np.diff(time_s) < 0.0)
    if back.size:
        found = f"sample {back[0] + 2} is before the one above it"
        load.problem("log", found, "times that do not fall", "Sort or split the log.")
    if not (np.isfinite(current_a).all() and np.isfinite(time_s).all()):
        load.problem("log", "a sample that is not a number", "numbers only", "Remove the row or correct it.")
        return False
    if current_a.max() <= 0.0 and current_a.min() < 0.0:
        allowed = "discharge as positive current"
        fix = 'If negative is discharge in this log, write log_options = { discharge = "negative" }.'
        load.problem("log", "no positive current", allowed, fix)
        return False
    return not back.size


def _without_charging(load: Table, time_s: Floats, current_a: Floats, between: str) -> Floats:
    """The current with charging taken as nothing drawn, both totals told."""
    if current_a.min() >= 0.0:
        return current_a
    drawn = np.maximum(current_a, 0.0)
    total = charge_c(time_s, drawn, between) / COULOMB_PER_AH
    back = total - charge_c(time_s, current_a, between) / COULOMB_PER_AH
    load.warn(
        f"the log holds negative current, read as charging: {total:.2f} Ah drawn, {back:.2f} Ah put back. "
        'What was put back is left out; if the sign is wrong, write log_options = { discharge = "negative" }'
    )
    return drawn


def _note_sampling(load: Table, time_s: Floats) -> float:
    """Warn of what the sampling hides. Returns the usual interval [s]."""
    steps_s = np.diff(time_s)
    usual_s = float(np.median(steps_s[steps_s > 0.0]))
    if usual_s > FINE_INTERVAL_S:
        load.warn(f"one sample in {usual_s:g} s: a surge shorter than that is hidden or averaged away")
    gaps = np.flatnonzero(steps_s > GAP_INTERVALS * usual_s)
    if gaps.size:
        at, longest = time_s[gaps[0]], steps_s[gaps].max()
        count = "one pause" if gaps.size == 1 else f"{gaps.size} pauses"
        load.warn(
            f"{count} longer than {GAP_INTERVALS:g} usual intervals, the first at {at:g} s, the longest {longest:g} s: "
            "what was drawn there is not known, it is read as between samples"
        )
    return usual_s


def _note_flat_tops(load: Table, current_a: Floats) -> None:
    """Warn of a highest reading that stands still where the others move: pulls beyond a logger's range look so."""
    top = float(current_a.max())
    at_top = current_a >= top
    change = np.diff(at_top.astype(np.int8), prepend=0, append=0)
    longest = int((np.flatnonzero(change == -1) - np.flatnonzero(change == 1)).max())
    below = ~(at_top[1:] | at_top[:-1])
    moves = float(np.mean(np.diff(current_a)[below] != 0.0)) if below.any() else 0.0
    if top > 0.0 and longest >= TOP_SAMPLES and moves > MOVING:
        load.warn(
            f"the highest reading, {top:g} A, stands unchanged for {longest} samples in a row where the others move: "
            "if the logger reads no further, the pulls were harder than the log shows, by an amount nobody knows"
        )


def _both_answers(time_s: Floats, current_a: Floats) -> tuple[str, str]:
    """What is accepted and how to mend it, with the charge either way."""
    hold, line = (charge_c(time_s, current_a, between) / COULOMB_PER_AH for between in BETWEEN)
    hours = time_s[-1] / SECONDS_PER_HOUR
    return '"hold" or "line"', (
        f'Say what lies between samples: "hold" (each until the next) makes {hold:.2f} Ah, mean '
        f'{hold / hours:.2f} A; "line" (straight between them) makes {line:.2f} Ah, mean '
        f"{line / hours:.2f} A. The plain mean of the samples, {current_a.mean():.2f} A, is neither."
    )
