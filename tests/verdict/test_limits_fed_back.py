"""A limit put back into the whole answer is good, and one printed digit further it is not; so for nine draws in ten."""

from __future__ import annotations

import pytest

from planner.verdict.boundary import BOUNDARY
from planner.verdict.check import GOOD
from tests.verdict import limit_cases as cases

TENTH = range(0, cases.CASES, 10)  # the others: tests/benchmarks/limits_fed_back.py


@pytest.mark.slow
@pytest.mark.parametrize("number", [place + place // 10 % 6 for place in TENTH])
def test_a_limit_fed_back_is_good_and_one_digit_further_is_not(number):
    record, outing, name = cases.case(number)
    limit = cases.found(record, outing, name)
    if limit.found.kind != BOUNDARY:
        assert limit.value is None
        return
    assert cases.fed_back(record, outing, name, limit.value, further=False).verdict in GOOD
    assert cases.fed_back(record, outing, name, limit.value, further=True).verdict not in GOOD
    if limit.sure_value is not None:
        inside = cases.fed_back(record, outing, name, limit.sure_value, further=False)
        assert inside.verdict in GOOD
        assert inside.runtime.completes >= 0.9
        beyond = cases.fed_back(record, outing, name, limit.sure_value, further=True)
        assert beyond.verdict not in GOOD or beyond.runtime.completes < 0.9
