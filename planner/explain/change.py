"""What a change did to the answer, in one line."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from planner.explain.words import about_time, listed
from planner.verdict.check import WORST_FIRST


@dataclass(frozen=True, slots=True)
class State:
    """An answer as far as changes are told. runtime_s : in nine outings of ten; questions : title -> verdict."""

    verdict: str
    runtime_s: float
    questions: Mapping[str, str]
    decided_by: tuple[str, ...]


def change_sentence(before: State, after: State) -> str:
    """What differs between two answers.

    Such as "Runtime 5 h 10 min → 4 h 20 min; now does not fit: how long it lasts."
    Runtimes are those of nine outings in ten, rounded down as on the page.
    """
    parts = []
    old, new = _time(before.runtime_s), _time(after.runtime_s)
    if old != new:
        parts.append(f"runtime {old} → {new}")
    if before.verdict != after.verdict:
        parts.append(f"now {after.verdict}: {listed([_small(title) for title in after.decided_by])}")
    parts += [
        f"{_small(title)} {before.questions[title]} → {verdict}"
        for title, verdict in sorted(after.questions.items(), key=lambda item: WORST_FIRST.index(item[1]))
        if before.questions.get(title, verdict) != verdict
        and not (before.verdict != after.verdict and title in after.decided_by)
    ]
    if not parts:
        return "Nothing in the answer changed."
    text = "; ".join(parts)
    return f"{text[:1].upper()}{text[1:]}."


def _time(duration_s: float) -> str:
    return about_time(duration_s, "down") if math.isfinite(duration_s) else "longer than 10,000 hours"


def _small(title: str) -> str:
    return title[:1].lower() + title[1:]
