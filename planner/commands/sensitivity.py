"""sensitivity BATTERY OUTING: which input moves the answer."""

from __future__ import annotations

import argparse

from planner.commands import options

HELP = "which input moves the time it lasts and the verdict"
EXAMPLE = "sensitivity unit_one trolling_day"


def arguments(parser: argparse.ArgumentParser) -> None:
    """What `sensitivity` takes."""
    options.add_question(parser)


def run(given: argparse.Namespace) -> str:
    """The swings as text or JSON."""
    record, outing, climate, units = options.case(given)
    from planner.explain.sensitivity_answer import sensitivity_json, sensitivity_text
    from planner.verdict.sensitivity import find_sensitivity

    found = find_sensitivity(record, outing, climate, given.draws, given.seed, units=units)
    return options.as_json(sensitivity_json(found)) if given.json else sensitivity_text(found)
