"""What a number of tested units says about the units not tested. One tested unit says very little."""

from __future__ import annotations

import math
from statistics import NormalDist

LEVEL = 0.95  # confidence asked for; a chosen criterion


def passing_share_interval(passed: int, tested: int, level: float = LEVEL) -> tuple[float, float]:
    """Two-sided interval of the share of units that would pass (Wilson score, no continuity correction).

    passed, tested : counts, 0 <= passed <= tested, tested >= 1, else ValueError. level : two-sided.
    Returns (low, high), fractions.
    Source: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212, from memory.
    """
    if not (tested >= 1 and 0 <= passed <= tested):
        raise ValueError(f"{passed} of {tested} units is no count of passes")
    z = NormalDist().inv_cdf(0.5 + level / 2.0)
    share = passed / tested
    scale = 1.0 + z * z / tested
    centre = (share + z * z / (2.0 * tested)) / scale
    half = z / scale * math.sqrt(share * (1.0 - share) / tested + z * z / (4.0 * tested**2))
    return max(centre - half, 0.0), min(centre + half, 1.0)


def failing_share_bound(tested: int, level: float = LEVEL) -> float:
    """Largest share of failing units that `tested` units without a failure leave possible (exact).

    tested : >= 1. level : one-sided confidence. Returns a fraction.
    Source: hand calculation, (1 - share)^tested = 1 - level.
    """
    return 1.0 - math.pow(1.0 - level, 1.0 / tested)


def units_needed(passing_share: float, level: float = LEVEL) -> int:
    """Units without a failure needed to show that at least `passing_share` of all units pass.

    Source: hand calculation, the smallest n with passing_share^n <= 1 - level.
    """
    return math.ceil(math.log(1.0 - level) / math.log(passing_share))
