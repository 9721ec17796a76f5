"""What one, ten or fifty-nine tested units say about the rest. Oracle: scipy.stats.binomtest."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from planner.record.unit_count import failing_share_bound, passing_share_interval, units_needed


def test_one_of_one_leaves_the_passing_share_at_a_fifth_or_more():
    # Wilson score by hand: 1 / (1 + 1.959964^2) = 0.20655
    assert passing_share_interval(1, 1)[0] == pytest.approx(0.20654931, abs=5e-9)


def test_one_of_one_leaves_up_to_95_per_cent_failing():
    # By hand: 1 - 0.05^1; at ten units 1 - 0.05^0.1 = 0.2589, where the rule of three says 0.3
    assert failing_share_bound(1) == pytest.approx(0.95, rel=1e-12)
    assert failing_share_bound(10) == pytest.approx(0.258866, abs=5e-7)


def test_59_units_without_failure_show_95_per_cent_passing():
    # By hand: 0.95^59 = 0.0485 <= 0.05 < 0.95^58
    assert units_needed(0.95) == 59


@given(st.integers(1, 200), st.data())
def test_the_interval_is_that_of_scipy(tested, data):
    passed = data.draw(st.integers(0, tested))
    oracle = binomtest(passed, tested).proportion_ci(0.95, "wilson")
    # 1e-9: both are closed forms in double precision; the normal quantile differs by 1e-13 at most
    assert passing_share_interval(passed, tested) == pytest.approx((oracle.low, oracle.high), abs=1e-9)


@given(st.integers(1, 500))
def test_the_bound_is_the_exact_one_of_scipy(tested):
    oracle = binomtest(0, tested, alternative="less").proportion_ci(0.95, "exact").high
    # 1e-9: scipy finds it by a root search
    assert failing_share_bound(tested) == pytest.approx(oracle, abs=1e-9)


@pytest.mark.parametrize(("passed", "tested"), [(0, 0), (2, 1), (-1, 3)])
def test_an_impossible_count_is_refused(passed, tested):
    with pytest.raises(ValueError, match="no count"):
        passing_share_interval(passed, tested)
