import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.outing.motor import FIXED_SHARE, cube_share, follows_cube_law, motor_current_a
from tests.outing.needs import load

FULL_ONLY = load("motor", full_current_a=52.0)
READINGS = (
    (0.35, 2.6),
    (0.5, 7.2),
    (0.68, 17.5),
    (0.85, 32.5),
    (1.0, 52.0),
)  # invented, ampere-meter by notch
READ = load("motor", full_current_a=52.0, motor_table=READINGS)


def test_half_speed_without_a_table_is_three_per_cent_plus_an_eighth():
    # Hand calculation: 52 A x (0.03 + 0.97 x 0.5^3) = 52 x 0.15125 = 7.865 A.
    assert motor_current_a(FULL_ONLY, 0.5) == pytest.approx(7.865, rel=1e-12)  # one formula, rounding only


def test_half_speed_is_a_third_of_what_half_the_current_would_be():
    # Hand calculation: 26 A / 7.865 A = 3.31, to the two decimals printed.
    assert 26.0 / motor_current_a(FULL_ONLY, 0.5) == pytest.approx(3.31, abs=0.005)


def test_seventy_per_cent_speed_of_a_thirty_ampere_motor():
    # Hand calculation: 30 A x (0.03 + 0.97 x 0.343) = 10.8813 A.
    assert motor_current_a(load("motor", full_current_a=30.0), 0.7) == pytest.approx(10.8813, rel=1e-12)


@pytest.mark.parametrize(
    ("speed", "power"), [(0.9, 0.729), (0.8, 0.512), (0.75, 0.421875), (0.5, 0.125), (0.25, 0.015625)]
)
def test_what_is_not_fixed_follows_the_affinity_law_of_fans_and_propellers(speed, power):
    # Power goes with the cube of the speed: a fan of 50 kW at 1200 r/min takes 25.6 kW at 960 r/min
    assert (cube_share(speed) - FIXED_SHARE) / (1.0 - FIXED_SHARE) == pytest.approx(power, rel=1e-12)


@pytest.mark.parametrize(("speed", "current_a"), READINGS)
def test_a_reading_is_returned_exactly(speed, current_a):
    assert motor_current_a(READ, speed) == current_a


def test_between_readings_the_line_is_straight_in_log_log():
    # Hand calculation: at the geometric mean of two speeds flows the geometric mean of their currents.
    assert motor_current_a(READ, math.sqrt(0.5 * 0.68)) == pytest.approx(math.sqrt(7.2 * 17.5), rel=1e-12)


def test_speed_fraction_taken_as_current_fraction_is_wrong_by_more_than_a_half():
    # Hand calculation: notch 6 of 10 taken as 60 % of 52 A is 31.2 A, 1.78 times the 17.5 A read there.
    assert 0.6 * 52.0 / motor_current_a(READ, 0.68) == pytest.approx(1.78, abs=0.005)


def test_below_the_lowest_reading_the_cube_law_starts_from_that_reading():
    # Hand calculation: 2.6 A x (0.03 + 0.97 x 0.2^3) / (0.03 + 0.97 x 0.35^3) = 2.6 x 0.03776 / 0.07158875.
    assert motor_current_a(READ, 0.2) == pytest.approx(2.6 * 0.03776 / 0.07158875, rel=1e-12)


def test_at_the_lowest_reading_the_two_laws_meet():
    below, above = motor_current_a(READ, 0.35 * (1 - 1e-9)), motor_current_a(READ, 0.35 * (1 + 1e-9))
    assert below == pytest.approx(above, rel=1e-7)  # both slopes are below 10 per unit of relative speed


def test_a_motor_at_speed_zero_is_off():
    assert motor_current_a(READ, 0.0) == 0.0
    assert motor_current_a(FULL_ONLY, 0.0) == 0.0


def test_full_current_closes_a_table_that_ends_below_full_speed():
    partial = load("motor", full_current_a=52.0, motor_table=READINGS[:3])
    assert motor_current_a(partial, 1.0) == 52.0
    # Hand calculation: halfway in log between 0.68 and 1 lies sqrt(17.5 x 52) A.
    assert motor_current_a(partial, math.sqrt(0.68)) == pytest.approx(math.sqrt(17.5 * 52.0), rel=1e-12)


def test_above_the_highest_reading_without_full_current_the_cube_law_goes_on():
    partial = load("motor", motor_table=READINGS[:3])
    assert motor_current_a(partial, 1.0) == pytest.approx(17.5 / cube_share(0.68), rel=1e-12)
    assert follows_cube_law(partial, 1.0)


def test_only_speeds_outside_the_readings_rest_on_the_law():
    assert follows_cube_law(READ, 0.2)
    assert not follows_cube_law(READ, 0.35)
    assert not follows_cube_law(READ, 0.6)
    assert not follows_cube_law(READ, 0.0)
    assert follows_cube_law(FULL_ONLY, 0.99)
    assert not follows_cube_law(FULL_ONLY, 1.0)


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.sampled_from([READ, FULL_ONLY]))
def test_more_speed_never_takes_less_current(one, other, motor):
    slow, fast = sorted((one, other))
    # Rounding of exp and log: a few parts in 1e16.
    assert motor_current_a(motor, slow) <= motor_current_a(motor, fast) * (1 + 1e-12)
