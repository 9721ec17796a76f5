"""limits BATTERY OUTING: how much more, how long, how cold, how thin a wire."""

from __future__ import annotations

import argparse

from planner.commands import options

HELP = "how much more, how long, how cold, how thin a wire, how small a battery"
EXAMPLE = "limits unit_one trolling_day --confidence 0.9"


def arguments(parser: argparse.ArgumentParser) -> None:
    """What `limits` takes."""
    options.add_case(parser)
    parser.add_argument(
        "--confidence", type=options.share, default=0.9, metavar="P",
        help="share of outings that a limit is to hold in, beside the middle one",
    )  # fmt: skip
    options.add_draws(parser)
    options.add_json(parser)
    options.add_library(parser)


def run(given: argparse.Namespace) -> str:
    """The limits as text or JSON."""
    record, outing, climate, units = options.case(given)
    from planner.explain.limits_answer import limits_json, limits_text
    from planner.verdict.limits import find_limits

    found = find_limits(
        record, outing, climate, given.draws, given.seed, units=units, confidence=given.confidence
    )
    return options.as_json(limits_json(found)) if given.json else limits_text(found)
