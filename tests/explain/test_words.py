"""Numbers in words. Expected values by hand from the rounding rules: down protects, up is needed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.explain import words


@pytest.mark.parametrize(
    ("current_a", "way", "told"),
    [(99.5, "down", "99 amps"), (53.2, "up", "54 amps"), (54.0000000001, "up", "54 amps"), (1.0, "near", "1 amp"),
     (0.4, "down", "less than 1 amp"), (0.4, "up", "1 amp"), (1234.0, "near", "1,234 amps")],
)  # fmt: skip
def test_amps_are_whole_and_rounded_to_the_side_that_protects(current_a, way, told):
    assert words.amps(current_a, way) == told


def test_charge_that_protects_is_rounded_down_and_charge_needed_up():
    assert words.amp_hours(67.9 * 3600.0, "down") == "67 amp-hours"
    assert words.amp_hours(67.1 * 3600.0, "up") == "68 amp-hours"
    assert words.amp_hours(3.49 * 3600.0, "up") == "3.5 amp-hours"


@pytest.mark.parametrize(
    ("seconds", "way", "told"),
    [(580.0, "up", "9 minutes 40 seconds"), (24.4 * 60.0, "down", "20 minutes"), (24.4 * 60.0, "up", "25 minutes"),
     (10745.0, "down", "2 h 55 min"), (4.0 * 3600.0, "near", "4 h"), (0.4, "up", "0.4 seconds"),
     (57.2, "up", "58 seconds"), (60.0, "down", "1 minute")],
)  # fmt: skip
def test_minutes_go_by_fives_and_short_times_by_the_second(seconds, way, told):
    assert words.about_time(seconds, way) == told


def test_a_measured_time_is_told_as_measured():
    assert words.exact_time(580.0) == "9 minutes 40 seconds"
    assert words.exact_time(3632.0) == "1 hour 32 seconds"


@given(st.floats(600.0, 1e6))
def test_a_time_rounded_down_is_never_longer_and_one_rounded_up_never_shorter(seconds):
    # by the grid itself: whatever the wording, the two ends enclose the value
    assert words.rounded(seconds, 300.0, "down") <= seconds * (1.0 + 1e-8)
    assert words.rounded(seconds, 300.0, "up") >= seconds * (1.0 - 1e-8)


@pytest.mark.parametrize(
    ("share", "told"),
    [(0.82, "about 4 in 5"), (0.99, "more than 9 in 10"), (1.0, "more than 9 in 10"), (0.04, "fewer than 1 in 10"),
     (0.7000000001, "about 7 in 10"), (0.93, "about 9 in 10")],
)  # fmt: skip
def test_a_probability_is_never_finer_than_one_in_ten(share, told):
    assert words.chance(share) == told


def test_months_are_told_as_runs_that_pass_the_new_year():
    assert words.month_names((1, 2, 11, 12)) == "November to February"
    assert words.month_names((3,)) == "March"
    assert words.month_names((4, 6, 7)) == "April and June to July"
    assert words.month_names(tuple(range(1, 13))) == "every month"


@pytest.mark.parametrize(("soc", "told"), [(0.66, "two-thirds full"), (0.98, "full"), (0.05, "nearly empty")])
def test_a_share_of_charge_is_told_as_a_common_fraction(soc, told):
    assert words.fullness(soc) == told


def test_blocked_hours_are_told_of_every_hundred():
    # 933 and 1160 of 2190 hours: 42.6 and 52.97 of 100, outwards
    assert words.of_hundred(933.0, 1160.0, 2190.0) == "42 to 53"


@pytest.mark.parametrize(
    ("need_a", "able_a", "told"),
    [
        (140.0, 146.5, ("140 amps", "146 amps")),
        (146.2, 146.5, ("146.2 amps", "146.5 amps")),  # 147 beside 146 would say that it was not shown
        (5.05, 5.17, ("5.1 amps", "5.1 amps")),
        (6.5, 6.5, ("6.5 amps", "6.5 amps")),
        (6.52, 6.58, ("6.5 amps", "6.5 amps")),
    ],
)
def test_a_need_never_reads_as_more_than_what_was_shown_for_it(need_a, able_a, told):
    assert words.amps_beside(need_a, able_a) == told
