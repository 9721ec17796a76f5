"""fit BATTERY OUTING: does this battery do this outing."""

from __future__ import annotations

import argparse

from planner.commands import options

HELP = "does this battery do this outing"
EXAMPLE = "fit unit_one trolling_day --climate cold-lake"


def arguments(parser: argparse.ArgumentParser) -> None:
    """What `fit` takes."""
    options.add_question(parser)


def run(given: argparse.Namespace) -> str:
    """The answer as text or JSON."""
    record, outing, climate, units = options.case(given)
    from planner.explain.answer import fit_json, fit_text
    from planner.verdict.assess import assess

    answer = assess(record, outing, climate, given.draws, given.seed, units=units)
    return options.as_json(fit_json(answer)) if given.json else fit_text(answer)
