"""What the present run already says of turning back and of the highest current, without a search."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from planner.battery.envelope import DEMONSTRATED, Envelope, classify
from planner.verdict.assess import Assessment
from planner.verdict.energy import SURE_ENOUGH, turn_back_s

LONGEST_PULL_S = 7 * 86400.0
SHORTEST_PULL_S = 0.01


@dataclass(frozen=True, slots=True)
class Spare:
    """Latest turn-back and longest pull. None where there is nothing to keep, or nothing that shows it.

    turn_back_c : charge used by which to turn, so that the chosen share of draws keeps the reserve [C].
    turn_back_s : clock time by which the other draws have used it [s]; None when the outing never does.
    middle_c, middle_s : the same for half of the draws.
    pull_a, pull_s : the outing's largest current, and how long the record's tests show it held, whatever the
        cells' temperature and charge; None when they do not show it.
    """

    turn_back_c: float | None
    turn_back_s: float | None
    middle_c: float | None
    middle_s: float | None
    pull_a: float | None
    pull_s: float | None


def spare_of(present: Assessment, confidence: float = SURE_ENOUGH) -> Spare:
    """Turn-back and pull of an answer that is at hand. confidence : the chosen share of draws."""
    turn_c, turn_s = _turn_back(present, 1.0 - confidence)
    middle_c, middle_s = _turn_back(present, 0.5)
    runs = [point.current_a for point in present.peak.points if point.basis == "run"]
    pull_a = max(runs, default=None)
    pull_s = None if pull_a is None else _longest_s(present.envelope, pull_a)
    return Spare(turn_c, turn_s, middle_c, middle_s, pull_a, pull_s)


def _turn_back(present: Assessment, share: float) -> tuple[float | None, float | None]:
    """What all but a share of the draws give, less what is kept for the way home [C]; and when it is used [s]."""
    outing, usable = present.outing, present.covered.draw_usable_c
    usable_c = float(np.quantile(usable, share, method="lower")) if len(usable) else math.nan
    kept = outing.get_home is not None or bool(outing.reserve_fraction)
    if not kept or not math.isfinite(usable_c):
        return None, None
    if outing.get_home is not None:
        turn_c = max(usable_c - outing.get_home.charge_c, 0.0)
    else:
        turn_c = usable_c * (1.0 - (outing.reserve_fraction or 0.0))
    return turn_c, turn_back_s(present.batch, turn_c, share) if turn_c > 0.0 else None


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
