"""How a test may come out, how likely each is by what is known before it, and how sure an answer it leaves.

An answer is firm where it is not "not proven". How likely an outcome is comes from the same model and spreads as the
forecast, so it is a guess of that model, never a measurement; where nothing at hand tells, it stays unknown and both
ends are given.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from scipy.special import ndtri

from planner.battery.envelope import Envelope, largest_demonstrated_a
from planner.record.schema import CurrentTest
from planner.verdict.check import NOT_PROVEN

DRAWN = "draws"  # the spread of the model's own draws
BETWEEN = "between readings"  # alike anywhere between what was held and what tripped, or refused and taken
PLACES = (0.1, 0.3, 0.5, 0.7, 0.9)  # middles of five equally likely parts of a spread


@dataclass(frozen=True, slots=True)
class Outcome:
    """One way a test may come out. share : how likely, None where nothing at hand tells. verdict : the whole answer."""

    share: float | None
    verdict: str


@dataclass(frozen=True, slots=True)
class Outcomes:
    """All ways a test may come out, shares adding to 1 or all None. basis : DRAWN, BETWEEN or None."""

    each: tuple[Outcome, ...]
    basis: str | None

    def firm(self) -> tuple[float, float]:
        """Probability of a firm answer after the test, from and to; the same where the shares are known."""
        known = [(one.share, float(one.verdict != NOT_PROVEN)) for one in self.each]
        if all(share is not None for share, _ in known):
            sure = sum((share or 0.0) * firm for share, firm in known)
            return sure, sure
        return min(firm for _, firm in known), max(firm for _, firm in known)


def either(passed: str, failed: str | None, share: float | None, basis: str | None = BETWEEN) -> Outcomes:
    """A test that passes or fails. share : that it passes, None where nothing tells. failed : None where it cannot."""
    if failed is None:
        return Outcomes((Outcome(1.0, passed),), basis)
    if share is None or not math.isfinite(share):
        return Outcomes((Outcome(None, passed), Outcome(None, failed)), None)
    return Outcomes((Outcome(share, passed), Outcome(1.0 - share, failed)), basis)


def spread_over(verdict_at: Callable[[float], str]) -> Outcomes:
    """A test that reads a number: the answer at the middle of five equally likely parts of its spread.

    verdict_at : the whole answer at a quantile of what the test may read.
    """
    return Outcomes(tuple(Outcome(1.0 / len(PLACES), verdict_at(place)) for place in PLACES), DRAWN)


def holds(envelope: Envelope, tests: Sequence[CurrentTest]) -> float | None:
    """Share by which the unit holds all of these, its opening alike anywhere between the nearest readings.

    None where no trip bounds it: how much a unit holds beyond its tests is nothing that a model of cells tells.
    """
    shares = [_holds(envelope, test.current_a, test.duration_s or 0.0) for test in tests]
    known = [share for share in shares if share is not None]
    return min(known, default=None) if len(known) == len(shares) else None


def _holds(envelope: Envelope, current_a: float, duration_s: float) -> float | None:
    held_a = largest_demonstrated_a(envelope, duration_s) or 0.0
    tripped_a = min(
        (trip.current_a for trip in envelope.trips if trip.duration_s <= duration_s), default=math.inf
    )
    if current_a <= held_a:
        return 1.0
    return max(tripped_a - current_a, 0.0) / (tripped_a - held_a) if math.isfinite(tripped_a) else None


def between(reading: float, low: float, high: float) -> float | None:
    """Share by which a threshold, alike anywhere from low to high, lies at or below a reading."""
    if not math.isfinite(low) or not math.isfinite(high):
        return None
    if high <= low:
        return float(reading >= high)
    return min(max((reading - low) / (high - low), 0.0), 1.0)


def normal(place: float) -> float:
    """Standard deviations from the middle at a quantile."""
    return float(ndtri(place))
