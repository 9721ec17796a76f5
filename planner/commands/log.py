"""log LOG: what a raw test log says, ready to paste in a record."""

from __future__ import annotations

import argparse
from pathlib import Path

from planner.commands import options

HELP = "what a raw test log says, ready to paste in a record"


def arguments(parser: argparse.ArgumentParser) -> None:
    """What `log` takes."""
    parser.add_argument(
        "log", metavar="LOG", help="a .csv, .xlsx or .parquet file of time, voltage and current"
    )
    options.add_json(parser)


def run(given: argparse.Namespace) -> str:
    """The summary and tables to paste, or JSON."""
    from planner.record.log_summary import summarise_log

    summary = summarise_log(Path(given.log))
    if given.json:
        return options.as_json(summary.to_json())
    return f"{summary.to_text()}\n\n{summary.to_toml()}"
