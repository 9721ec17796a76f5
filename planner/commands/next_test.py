"""next-test BATTERY OUTING: which bench test would change the answer."""

from __future__ import annotations

import argparse

from planner.commands import options

HELP = "which bench test would change the answer, and which would not"
EXAMPLE = "next-test unit_two anchor_winch"


def arguments(parser: argparse.ArgumentParser) -> None:
    """What `next-test` takes."""
    options.add_question(parser)


def run(given: argparse.Namespace) -> str:
    """The tests as text or JSON."""
    record, outing, climate, units = options.case(given)
    from planner.explain.next_test_answer import next_test_json, next_test_text
    from planner.verdict.next_test import next_tests

    answer = next_tests(record, outing, climate, given.draws, given.seed, units)
    return options.as_json(next_test_json(answer)) if given.json else next_test_text(answer)
