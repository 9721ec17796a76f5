"""Several inputs read together, so that the problems of all are told at once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from planner.errors import InputRefused, Problem


def read_all(*readers: Callable[[], Any]) -> tuple[Any, ...]:
    """What each reader gives. Raises InputRefused with the problems of all that refuse."""
    found: list[Any] = []
    problems: list[Problem] = []
    for reader in readers:
        try:
            found.append(reader())
        except InputRefused as refusal:
            problems += refusal.problems
    if problems:
        raise InputRefused(problems)
    return tuple(found)
