"""All random cases of the limits, fed back; prints each that does not flip within the printed digits. Some minutes.

.venv/bin/python -m tests.benchmarks.limits_fed_back [FIRST LAST]
"""

from __future__ import annotations

import sys
from collections import Counter

from planner.verdict.boundary import BOUNDARY
from planner.verdict.check import GOOD
from tests.verdict import limit_cases as cases


def outcome(number: int) -> str:
    """How one case came out."""
    record, outing, name = cases.case(number)
    limit = cases.found(record, outing, name)
    if (
        limit.found is None
        or limit.found.kind != BOUNDARY
        or isinstance(limit.value, str)
        or limit.value is None
    ):
        return "no limit"
    inside = cases.fed_back(record, outing, name, limit.value, further=False).verdict
    outside = cases.fed_back(record, outing, name, limit.value, further=True).verdict
    if inside in GOOD and outside not in GOOD:
        return "flips"
    print(f"case {number}, {name} {limit.value}: {inside} there, {outside} further")
    return "does not flip"


if __name__ == "__main__":
    first, last = (int(word) for word in sys.argv[1:3]) if len(sys.argv) > 2 else (0, cases.CASES)
    print(dict(Counter(outcome(number) for number in range(first, last))))
