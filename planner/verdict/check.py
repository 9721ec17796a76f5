"""What a check says, as data: verdict, evidence, numbers and the reason's parts. explain makes sentences."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

FITS = "fits"
LIMITS = "fits with limits"
NOT_PROVEN = "not proven"
DOES_NOT_FIT = "does not fit"
WORST_FIRST = (DOES_NOT_FIT, NOT_PROVEN, LIMITS, FITS)
GOOD = (FITS, LIMITS)

# strongest first; a check takes the weakest evidence that decides it
EVIDENCE = ("measured", "logged", "derived", "stated", "handbook", "claimed", "unknown")


@dataclass(frozen=True, slots=True)
class Amount:
    """A number in SI with the unit it is told in ("Ah", "A", "degC", "V", "h")."""

    value_si: float
    unit: str


@dataclass(frozen=True, slots=True)
class Told:
    """A thing to say: a code that explain has a sentence for, and the numbers that go into it."""

    code: str
    parts: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Check:
    """One question answered.

    need, capability, capability_centre, margin : numbers where the question has them.
    reason : why. limit : what must be kept to, of "fits with limits". settled_by : the missing test.
    """

    id: str
    verdict: str
    evidence: str
    reason: Told
    need: Amount | None = None
    capability: Amount | None = None
    capability_centre: Amount | None = None
    margin: Amount | None = None
    limit: Told | None = None
    settled_by: Told | None = None


def worst(verdicts: Iterable[str]) -> str:
    """The worst of several verdicts; not proven when there is none."""
    found = set(verdicts)
    return next((verdict for verdict in WORST_FIRST if verdict in found), NOT_PROVEN)


def weakest(classes: Iterable[str]) -> str:
    """The weakest of several evidence classes; unknown when there is none."""
    return max(classes, key=EVIDENCE.index, default="unknown")


def overall(checks: Iterable[Check], questions: tuple[str, ...] | None) -> tuple[str, tuple[Check, ...]]:
    """The verdict over the questions that matter, and the checks that decide it.

    questions : those that matter; None for every check there is.
    """
    counted = [check for check in checks if questions is None or check.id in questions]
    verdict = worst(check.verdict for check in counted)
    return verdict, tuple(check for check in counted if check.verdict == verdict)
