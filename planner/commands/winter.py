"""winter BATTERY CLIMATE: what becomes of charging through the year."""

from __future__ import annotations

import argparse

from planner.commands import options
from planner.commands.inputs import read_all

HELP = "what becomes of charging through the year"
EXAMPLE = "winter unit_one cold-lake --draws 50"


def arguments(parser: argparse.ArgumentParser) -> None:
    """What `winter` takes."""
    parser.add_argument("battery", metavar="BATTERY", help="a record, or a profile's name")
    parser.add_argument("climate", metavar="CLIMATE", help="a climate, or a profile's name")
    options.add_draws(parser)
    options.add_json(parser)
    options.add_library(parser)


def run(given: argparse.Namespace) -> str:
    """The answer as text or JSON."""
    record, climate = read_all(lambda: options.battery(given), lambda: options.climate(given))
    from planner.explain.winter_answer import answer_winter, winter_json, winter_text

    answer = answer_winter(record, climate, given.draws, given.seed)
    return options.as_json(winter_json(answer)) if given.json else winter_text(answer)
