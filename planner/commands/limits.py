"""limits BATTERY OUTING: how much more, how long, how cold, how thin a wire."""

from __future__ import annotations

import argparse

from planner.commands import options

HELP = "how much more, how long, how cold, how thin a wire"


def arguments(parser: argparse.ArgumentParser) -> None:
    """What `limits` takes."""
    options.add_case(parser)
    parser.add_argument(
        "--inverter", action="store_true", help="also the largest inverter load (takes longer)"
    )
    options.add_draws(parser)
    options.add_json(parser)
    options.add_library(parser)


def run(given: argparse.Namespace) -> str:
    """The limits as text or JSON."""
    record, outing, climate, units = options.case(given)
    from planner.explain.limits_answer import limits_json, limits_text
    from planner.verdict.limits import ALL, USUAL, find_limits

    ids = ALL if given.inverter else USUAL
    found = find_limits(record, outing, climate, given.draws, given.seed, ids, units=units)
    return options.as_json(limits_json(found)) if given.json else limits_text(found)
