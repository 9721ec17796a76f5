"""log LOG: what a raw test log says, ready to paste in a record."""

from __future__ import annotations

import argparse
from pathlib import Path

from planner.commands import options
from planner.commands.log_choices import add_log_choices, flags_told, log_options

HELP = "what a raw test log says, ready to paste in a record"
EXAMPLE = "log profiles/logs/bench_unit_one_invented.csv"


def arguments(parser: argparse.ArgumentParser) -> None:
    """What `log` takes."""
    parser.add_argument(
        "log", metavar="LOG", help="a .csv, .xlsx or .parquet file of time, voltage and current"
    )
    add_log_choices(parser)
    options.add_json(parser)


def run(given: argparse.Namespace) -> str:
    """The summary and tables to paste, or JSON."""
    from planner.record.log_summary import summarise_log

    with flags_told():
        summary = summarise_log(Path(given.log), log_options(given))
    if given.json:
        return options.as_json(summary.to_json())
    return f"{summary.to_text()}\n\n{summary.to_toml()}"
