"""audit BATTERY: claim against measurement, and the record's own tests replayed."""

from __future__ import annotations

import argparse

from planner.commands import options

HELP = "claim against measurement; replay of its own tests"
EXAMPLE = "audit unit_one"


def arguments(parser: argparse.ArgumentParser) -> None:
    """What `audit` takes."""
    parser.add_argument("battery", metavar="BATTERY", help="a record, or a profile's name")
    options.add_currency(parser)
    options.add_json(parser)
    options.add_library(parser)


def run(given: argparse.Namespace) -> str:
    """The audit as text or JSON."""
    record = options.battery(given)
    from planner.explain.audit_answer import audit_json, audit_text
    from planner.verdict.audit import audit

    answer = audit(record)
    return options.as_json(audit_json(answer)) if given.json else audit_text(answer, given.currency)
