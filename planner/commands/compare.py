"""compare OUTING BATTERY…: which of several batteries for one outing."""

from __future__ import annotations

import argparse

from planner.commands import options
from planner.commands.inputs import read_all

HELP = "which of several batteries for one outing"
EXAMPLE = "compare trolling_day unit_one unit_three --pairs"


def arguments(parser: argparse.ArgumentParser) -> None:
    """What `compare` takes."""
    parser.add_argument("outing", metavar="OUTING", help="an outing, or a profile's name")
    parser.add_argument("batteries", metavar="BATTERY", nargs="+", help="records, or profiles' names")
    parser.add_argument(
        "--pairs",
        action="store_true",
        help="also each battery as two in parallel, against one and the larger ones",
    )
    options.add_climate(parser)
    options.add_draws(parser)
    options.add_json(parser)
    options.add_library(parser)


def run(given: argparse.Namespace) -> str:
    """The comparison as text or JSON."""
    outing, climate, *records = read_all(
        lambda: options.outing(given), lambda: options.climate(given),
        *(lambda typed=typed: options.battery(given, typed) for typed in given.batteries),
    )  # fmt: skip
    from planner.explain.compare_answer import compare_json, compare_text
    from planner.verdict.compare import compare

    found = compare(records, outing, climate, given.draws, given.seed, options.bank_units(outing))
    told, text = compare_json(found), compare_text(found)
    if given.pairs:
        from planner.explain.bank_or_bigger_answer import ways_json, ways_text
        from planner.verdict.bank_or_bigger import bank_or_bigger

        ways = bank_or_bigger(records, outing, climate, given.draws, given.seed)
        told, text = told | {"pairs": ways_json(ways)}, f"{text.rstrip()}\n\n{ways_text(ways)}"
    return options.as_json(told) if given.json else text
