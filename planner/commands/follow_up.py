"""follow-up BATTERY OUTING LOG: a real outing against what was predicted of it."""

from __future__ import annotations

import argparse
from pathlib import Path

from planner.commands import options
from planner.commands.log_choices import add_log_choices, flags_told, log_options

HELP = "a log of a real outing against its prediction: inside the band, and if not, which input was wrong"
EXAMPLE = "follow-up unit_one recorded_morning profiles/logs/outing_reservoir_invented.csv"


def arguments(parser: argparse.ArgumentParser) -> None:
    """What `follow-up` takes."""
    parser.add_argument("battery", metavar="BATTERY", help="a record, or a profile's name")
    parser.add_argument("outing", metavar="OUTING", help="an outing, or a profile's name")
    parser.add_argument(
        "log",
        metavar="LOG",
        help="a .csv, .xlsx or .parquet file of time, current, and voltage where it was logged",
    )
    add_log_choices(parser)
    options.add_draws(parser)
    options.add_json(parser)
    options.add_library(parser)


def run(given: argparse.Namespace) -> str:
    """The comparison as text or JSON. No file is written."""
    from planner.commands.inputs import read_all
    from planner.explain.follow_up_answer import follow_up_json, follow_up_text
    from planner.verdict.follow_up import follow_up

    record, outing = read_all(lambda: options.battery(given), lambda: options.outing(given))
    with flags_told():
        found = follow_up(record, outing, Path(given.log), given.draws, given.seed, log_options(given),
                          options.bank_units(outing))  # fmt: skip
    return options.as_json(follow_up_json(found)) if given.json else follow_up_text(found)
