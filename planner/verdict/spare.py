"""What the present run already says of turning back and of the hardest pull, without a search."""

from __future__ import annotations

import math
from dataclasses import dataclass

from planner.battery.envelope import DEMONSTRATED, Envelope, classify
from planner.verdict.assess import Assessment
from planner.verdict.energy import turn_back_s

LONGEST_PULL_S = 7 * 86400.0
SHORTEST_PULL_S = 0.01


@dataclass(frozen=True, slots=True)
class Spare:
    """Latest turn-back and longest pull. None where there is nothing to keep, or nothing that shows it.

    turn_back_c : charge used by which to turn, so that nine draws in ten keep the reserve [C].
    turn_back_s : clock time by which one draw in ten has used it [s]; None when the outing never does.
    pull_a, pull_s : the outing's largest current, and how long the record's tests show it held, whatever the
        cells' temperature and charge; None when they do not show it.
    """

    turn_back_c: float | None
    turn_back_s: float | None
    pull_a: float | None
    pull_s: float | None


def spare_of(present: Assessment) -> Spare:
    """Turn-back and pull of an answer that is at hand."""
    turn_c = _turn_back_c(present)
    turn_s = None if turn_c is None or turn_c <= 0.0 else turn_back_s(present.batch, turn_c)
    runs = [point.current_a for point in present.peak.points if point.basis == "run"]
    pull_a = max(runs, default=None)
    pull_s = None if pull_a is None else _longest_s(present.envelope, pull_a)
    return Spare(turn_c, turn_s, pull_a, pull_s)


def _turn_back_c(present: Assessment) -> float | None:
    """The pessimistic tenth's charge less what is kept for the way home [C]."""
    outing, usable_c = present.outing, present.covered.usable_p10_c
    if not math.isfinite(usable_c):
        return None
    if outing.get_home is not None:
        return max(usable_c - outing.get_home.charge_c, 0.0)
    return usable_c * (1.0 - outing.reserve_fraction) if outing.reserve_fraction else None


def _longest_s(envelope: Envelope, current_a: float) -> float | None:
    """Longest time a current is demonstrated [s], by halving in proportion."""

    def shown(seconds: float) -> bool:
        return classify(envelope, current_a, seconds).name == DEMONSTRATED

    low, high = SHORTEST_PULL_S, LONGEST_PULL_S
    if not shown(low):
        return None
    if shown(high):
        return high
    while high / low > 1.0 + 1e-6:
        middle = math.sqrt(low * high)
        low, high = (middle, high) if shown(middle) else (low, middle)
    return low
