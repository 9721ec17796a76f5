"""log LOG: what a raw test log says, ready to paste in a record."""

from __future__ import annotations

import argparse
from pathlib import Path

from planner.commands import options
from planner.units import UnitError, to_si

HELP = "what a raw test log says, ready to paste in a record"
EXAMPLE = "log profiles/logs/bench_unit_one_invented.csv"


def arguments(parser: argparse.ArgumentParser) -> None:
    """What `log` takes."""
    parser.add_argument(
        "log", metavar="LOG", help="a .csv, .xlsx or .parquet file of time, voltage and current"
    )
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
    options.add_json(parser)


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


def run(given: argparse.Namespace) -> str:
    """The summary and tables to paste, or JSON."""
    from planner.record.log_summary import summarise_log

    summary = summarise_log(
        Path(given.log),
        decimal_comma=given.decimal_comma,
        columns=dict(given.column),
        date_order=given.date_order,
        interval_s=given.interval,
        discharge=given.discharge,
    )
    if given.json:
        return options.as_json(summary.to_json())
    return f"{summary.to_text()}\n\n{summary.to_toml()}"
