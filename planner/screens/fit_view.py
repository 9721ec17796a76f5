"""What the first screen tells of one assessment: words, small enough to keep."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from planner.explain.answer_text import cures, headline, is_asked, limits, three_numbers
from planner.explain.cautions import cautions, peak_is_shown
from planner.explain.change import State
from planner.explain.check_words import TITLES
from planner.explain.energy_sentences import test_of
from planner.explain.sentences import sentence
from planner.explain.warnings import warnings
from planner.explain.words import about_time, capital
from planner.screens.why_part import Why, whys
from planner.verdict.assess import Assessment
from planner.verdict.check import Check, Told

Restore = Callable[[str], str]


@dataclass(frozen=True, slots=True)
class Row:
    """One question: its verdict, how the answer is known, why, and what would settle it.

    asks_for : code of what would settle it; of an assumption with the sort of test that measures it behind.
    """

    id: str
    title: str
    verdict: str
    evidence: str
    asked: bool
    reason: str
    settled_by: str | None
    asks_for: str | None


@dataclass(frozen=True, slots=True)
class FitView:
    """One answer. headline and runtime are single sentences; decided_by are the ids of the rows that decide.

    runtime_s, needed_s : time it lasts in nine outings of ten, and time it has to last. limits : what to keep to.
    cures : what would turn a "does not fit".
    """

    verdict: str
    headline: str
    runtime: str
    runtime_s: float
    needed_s: float
    battery: str
    outing: str
    climate: str | None
    rows: tuple[Row, ...]
    decided_by: tuple[str, ...]
    cures: tuple[str, ...]
    limits: tuple[str, ...]
    numbers: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    warnings: tuple[str, ...]
    whys: tuple[Why, ...]

    def state(self) -> State:
        """What is compared with the answer before."""
        titles = {row.id: row.title for row in self.rows}
        decided = tuple(titles[name] for name in self.decided_by)
        return State(
            self.verdict, self.runtime_s, {row.title: row.verdict for row in self.rows if row.asked}, decided
        )

    def untested(self) -> tuple[Row, ...]:
        """The asked questions that a further test would settle."""
        return tuple(row for row in self.rows if row.settled_by is not None and row.asked)


def view_of(assessment: Assessment, restored: Restore) -> FitView:
    """Everything the screen needs. restored : puts the user's own file names back into a text."""
    return FitView(
        verdict=assessment.verdict,
        headline=capital(headline(assessment).split(": ", 1)[1]),
        runtime=runtime_sentence(assessment),
        runtime_s=assessment.runtime.p10_s,
        needed_s=assessment.runtime.needed_s,
        battery=assessment.record.name,
        outing=assessment.outing.name,
        climate=assessment.climate.name if assessment.climate else None,
        rows=rows_of(assessment),
        decided_by=tuple(check.id for check in assessment.deciding),
        cures=tuple(cures(assessment)),
        limits=tuple(limits(assessment)),
        numbers=tuple(_labelled(text) for text in three_numbers(assessment)),
        cautions=cautions(assessment),
        warnings=tuple(restored(text) for text in warnings(assessment)),
        whys=whys(assessment),
    )


def runtime_sentence(assessment: Assessment) -> str:
    """How long it lasts in nine outings of ten, rounded down, beside what is needed, rounded up."""
    run = assessment.runtime
    need = about_time(run.needed_s, "up")
    if run.charge_c <= 0.0 and run.ended_by == "none":
        return f"You need {need}. The outing draws no charge."
    lasts = (
        f"at least {about_time(run.p10_s, 'down')}"
        if math.isfinite(run.p10_s)
        else "longer than 10,000 hours"
    )
    text = f"In nine outings of ten like this one it lasts {lasts}. You need {need}."
    known = assessment.fitted.capacity_evidence
    if known != "measured":
        text += f" Its charge was not measured, so this is a guess{' from the label' if known == 'claimed' else ''}."
    if not peak_is_shown(assessment):
        text += " Count on that only if it does not switch itself off at the highest current."
    return text


def rows_of(assessment: Assessment) -> tuple[Row, ...]:
    """Every question of the answer as a row, in the order of the checks."""
    return tuple(_row(assessment, check) for check in assessment.checks)


def _row(assessment: Assessment, check: Check) -> Row:
    return Row(
        check.id, TITLES[check.id], check.verdict, check.evidence, is_asked(assessment, check), sentence(check.reason),
        None if check.settled_by is None else sentence(check.settled_by),
        None if check.settled_by is None else _asks_for(check.settled_by),
    )  # fmt: skip


def _asks_for(told: Told) -> str:
    return f"{told.code} {test_of(told.parts['name'])}" if told.code == "prior_test" else told.code


def _labelled(text: str) -> tuple[str, str]:
    """A sentence such as "How long: you need 8 h. …" in its label and the rest."""
    label, rest = text.split(": ", 1)
    return label, capital(rest)
