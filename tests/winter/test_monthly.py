import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.winter.calendar_year import DAYS_IN_MONTH, by_month
from planner.winter.monthly import air_from_months, weather_from_months
from planner.winter.schema import MonthlyClimate
from tests.winter.invented_year import HOUR_S, ZERO_K

MEANS = tuple(ZERO_K + c for c in (-12.0, -10.0, -4.0, 4.0, 11.0, 16.0, 19.0, 17.0, 11.0, 5.0, -2.0, -9.0))
months = st.lists(st.floats(-20.0, 25.0), min_size=12, max_size=12)
swings = st.lists(st.floats(0.0, 20.0), min_size=12, max_size=12)


@settings(max_examples=20)
@given(months, swings)
def test_every_month_has_the_mean_that_was_stated(means, swing):
    air = air_from_months(tuple(m + ZERO_K for m in means), tuple(swing))
    found = by_month(air) / (DAYS_IN_MONTH * 24) - ZERO_K
    assert found == pytest.approx(means, abs=1e-6)  # a 12 x 12 solve on numbers near 300


def test_the_day_is_hottest_from_14_to_15_and_swings_as_stated():
    day = air_from_months((ZERO_K + 5.0,) * 12, (8.0,) * 12).reshape(365, 24)
    assert set(day.argmax(axis=1)) == {14}
    assert np.ptp(day, axis=1) == pytest.approx(8.0)


def test_the_year_closes_without_a_step_at_new_year():
    air = air_from_months(MEANS, (0.0,) * 12)
    assert abs(air[0] - air[-1]) < 0.05  # as smooth as any other hour


def test_full_sun_hours_come_back_month_by_month():
    hours = (1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0)
    sun = weather_from_months(MonthlyClimate(MEANS, (8.0,) * 12, tuple(h * HOUR_S for h in hours)), 45.0).sun
    assert by_month(sun.ghi_w_m2) / DAYS_IN_MONTH / 1000.0 == pytest.approx(hours)
    assert sun.dhi_w_m2.min() >= 0.0 and sun.dni_w_m2.min() >= 0.0
    assert sun.dni_w_m2.max() < 1361.0  # no more than above the air


def test_hours_of_daylight_taken_for_full_sun_hours_are_told():
    # a cloudless January day at 45 degrees north gives about 2 kWh/m2, and 9 h of daylight
    hours = (9.0, 3.0, 4.0, 5.0, 6.0, 7.0, 7.0, 6.0, 4.0, 3.0, 2.0, 1.5)
    stated = MonthlyClimate(MEANS, (8.0,) * 12, tuple(h * HOUR_S for h in hours))
    (told,) = [text for text in weather_from_months(stated, 45.0).warnings if "sun_hours" in text]
    assert "in 1 of 12 months, most in January: 9 h a day" in told and "not hours of daylight" in told
    (south,) = [text for text in weather_from_months(stated, -45.0).warnings if "sun_hours" in text]
    assert "most in June" in south or "most in July" in south  # where January is bright and June is not
    honest = MonthlyClimate(MEANS, (8.0,) * 12, tuple(h * HOUR_S for h in (2.0, *hours[1:])))
    assert not [text for text in weather_from_months(honest, 45.0).warnings if "sun_hours" in text]


def test_without_stated_sun_there_is_none():
    weather = weather_from_months(MonthlyClimate(MEANS, (8.0,) * 12), 45.0)
    assert weather.sun is None
    assert weather.synthetic
