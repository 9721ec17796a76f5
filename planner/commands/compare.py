"""compare OUTING BATTERY…: which of several batteries for one outing."""

from __future__ import annotations

import argparse

from planner.commands import options
from planner.commands.inputs import read_all

HELP = "which of several batteries for one outing"
EXAMPLE = "compare trolling_day unit_one unit_three --pairs --also kayak_evening"


def arguments(parser: argparse.ArgumentParser) -> None:
    """What `compare` takes."""
    parser.add_argument("outing", metavar="OUTING", help="an outing, or a profile's name")
    parser.add_argument("batteries", metavar="BATTERY", nargs="+", help="records, or profiles' names")
    parser.add_argument(
        "--pairs",
        action="store_true",
        help="also each battery as two in parallel, against one and the larger ones",
    )
    parser.add_argument(
        "--also", metavar="OUTING", action="append", default=[],
        help="another outing the batteries are for; may be given several times",
    )  # fmt: skip
    options.add_currency(parser)
    options.add_climate(parser)
    options.add_draws(parser)
    options.add_json(parser)
    options.add_library(parser)


def run(given: argparse.Namespace) -> str:
    """The comparison as text or JSON."""
    climate, *read = read_all(
        lambda: options.climate(given),
        *(lambda typed=typed: options.outing(given, typed) for typed in (given.outing, *given.also)),
        *(lambda typed=typed: options.battery(given, typed) for typed in given.batteries),
    )  # fmt: skip
    outings, records = read[: 1 + len(given.also)], read[1 + len(given.also) :]
    outing = outings[0]
    from planner.explain.compare_answer import compare_json, compare_text
    from planner.verdict.compare_across import compare_across

    units = [options.bank_units(one) for one in outings]
    matrix = compare_across(records, outings, climate, given.draws, given.seed, units)
    first = matrix.comparisons[0]
    told, text = compare_json(first), compare_text(first, given.currency)
    if given.also:
        from planner.explain.across_answer import across_json, across_text

        told, text = told | {"across": across_json(matrix)}, across_text(matrix)
    if given.pairs:
        from planner.explain.bank_or_bigger_answer import ways_json, ways_text
        from planner.verdict.bank_or_bigger import bank_or_bigger

        ways = bank_or_bigger(records, outing, climate, given.draws, given.seed)
        told, text = told | {"pairs": ways_json(ways)}, f"{text.rstrip()}\n\n{ways_text(ways, given.currency)}"
    return options.as_json(told) if given.json else text
