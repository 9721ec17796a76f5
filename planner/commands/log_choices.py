"""What a log's file leaves open, said on the command line; a refusal that asks for it names the flag to say it by."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

from planner.errors import InputRefused, Problem
from planner.units import UnitError, to_si

if TYPE_CHECKING:
    from planner.log_file.stated import LogOptions

COLUMN = '--column "{key}=HEADING [UNIT]"'
# how a refusal of the readers begins to say how to mend it -> the flag; the readers serve the app and the files as well
FLAGS = {
    "Say date_order": '--date-order "day first" or "month first"',
    "Say decimal comma": "--decimal-comma",
    "Say which": COLUMN,
    "Give the unit with the heading": COLUMN,
    "Spell the heading": COLUMN,
    "Name one of these quantities": "--column",
    "Give the time column": '--column "time=HEADING [UNIT]", or --interval "2 s" where rows are equally far apart',
    "Leave the interval out": "--interval",
    "Say discharge": "--discharge negative",
}


def add_log_choices(parser: argparse.ArgumentParser) -> None:
    """--decimal-comma, --date-order, --interval, --discharge and --column."""
    parser.add_argument("--decimal-comma", action="store_true", help="numbers are written 12,5")
    parser.add_argument(
        "--date-order", choices=("day first", "month first"), help="for dates that can be read two ways"
    )
    parser.add_argument(
        "--interval", type=_duration, metavar="TIME", help='time between rows of a log without a time: "2 s"'
    )
    parser.add_argument(
        "--discharge", choices=("positive", "negative"), help="the current's sign where it is discharge"
    )
    parser.add_argument(
        "--column", action="append", default=[], type=_named_column, metavar="QUANTITY=HEADING",
        help='where there is a choice: "voltage=Pack", or with its unit "voltage=Pack [mV]"',
    )  # fmt: skip


def log_options(given: argparse.Namespace) -> LogOptions:
    """What the flags say."""
    from planner.log_file.stated import LogOptions

    return LogOptions(given.decimal_comma, dict(given.column), given.date_order, given.interval, given.discharge)


@contextmanager
def flags_told() -> Iterator[None]:
    """A refusal from inside names the flag beside what it asks for."""
    try:
        yield
    except InputRefused as refused:
        raise InputRefused([_with_flag(problem) for problem in refused.problems]) from refused


def _with_flag(problem: Problem) -> Problem:
    flag = next((flag for begin, flag in FLAGS.items() if problem.fix.startswith(begin)), None)
    if flag is None:
        return problem
    return replace(problem, fix=f"{problem.fix} The flag for it: {flag.format(key=problem.key)}.")


def _duration(typed: str) -> float:
    """A length of time [s]. Raises argparse.ArgumentTypeError."""
    try:
        return to_si(typed, "duration")
    except UnitError as error:
        raise argparse.ArgumentTypeError(str(error)) from error


def _named_column(typed: str) -> tuple[str, str]:
    """A quantity and the heading of its column. Raises argparse.ArgumentTypeError."""
    quantity, equals, heading = typed.partition("=")
    if not (equals and quantity.strip() and heading.strip()):
        raise argparse.ArgumentTypeError(f"{typed[:40]!r}; accepted: QUANTITY=HEADING, such as voltage=Pack")
    return quantity.strip(), heading.strip()
