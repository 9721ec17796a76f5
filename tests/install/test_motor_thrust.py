"""Motors: power floor of a thrust, start."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.install.motor_thrust import (
    locked_rotor_a,
    start_time_above_s,
    thrust_claim_possible,
    thrust_power_floor_w,
)

POUND_FORCE_N = 4.4482216152605  # NIST SP 811 appendix B


@pytest.mark.parametrize(
    ("pounds", "diameter", "watt"),
    [
        (30, 0.25, 155.653), (30, 0.28, 138.976), (55, 0.25, 386.384),
        (55, 0.28, 344.986), (80, 0.25, 677.813), (80, 0.28, 605.191),
    ],
)  # fmt: skip
def test_static_thrust_needs_at_least_the_momentum_power(pounds, diameter, watt):
    # Momentum theory by hand, fresh water 999.1 kg/m3; half of the last digit
    assert thrust_power_floor_w(pounds * POUND_FORCE_N, diameter) == pytest.approx(watt, abs=0.0005)


def test_half_the_thrust_needs_about_a_third_of_the_power():
    # By hand: 0.5^1.5 = 0.353553
    ratio = thrust_power_floor_w(100.0, 0.25) / thrust_power_floor_w(200.0, 0.25)
    assert ratio == pytest.approx(0.353553, abs=5e-7)


def test_a_claim_below_the_floor_is_impossible():
    # 55 lbf on 0.25 m needs 386 W at least
    assert not thrust_claim_possible(55 * POUND_FORCE_N, 0.25, 380.0)
    assert thrust_claim_possible(55 * POUND_FORCE_N, 0.25, 620.0)


def test_a_starting_motor_draws_more_than_a_level_for_a_moment():
    # By hand: 13.0 V / 71 mohm = 183.1 A; 0.35 s x ln((183.1 - 45)/(100 - 45)) = 0.322 s
    locked = locked_rotor_a(13.0, 71e-3)
    assert locked == pytest.approx(183.1, abs=0.05)
    assert start_time_above_s(locked, 45.0, 100.0, 0.35) == pytest.approx(0.322, abs=0.0005)


def test_a_level_outside_the_start_is_never_or_always_exceeded():
    assert start_time_above_s(183.0, 45.0, 183.0, 0.35) == 0.0
    assert math.isinf(start_time_above_s(183.0, 45.0, 45.0, 0.35))


@given(st.floats(100.0, 300.0), st.floats(10.0, 90.0), st.floats(0.0, 400.0), st.floats(0.0, 100.0))
def test_a_higher_level_is_never_exceeded_for_longer(locked, running, level, extra):
    assert start_time_above_s(locked, running, level + extra, 0.35) <= start_time_above_s(
        locked, running, level, 0.35
    )
