from dataclasses import replace

import numpy as np
import pytest

from planner.winter.calendar_year import DAYS_IN_MONTH, HOUR_OF_DAY, MONTH_OF_HOUR, by_month, window_share
from planner.winter.monthly import weather_from_months
from planner.winter.schema import ChargeSource, Climate, DayWindow, MonthlyClimate, SteadyUse
from planner.winter.sources import (
    offered_clock_a,
    offered_sun_a,
    plane_of_array_w_m2,
    solar_current_a,
    stored_c,
    time_to_full_s,
    use_a,
    use_notes,
)
from tests.winter.invented_year import AH, CLIMATE, HOUR_S, WEATHER

Q = 103.4 * AH
ALL_DAY = DayWindow(0.0, 24 * HOUR_S)
SUNNY = MonthlyClimate((288.15,) * 12, (10.0,) * 12, (4.0 * HOUR_S,) * 12)
PANEL = ChargeSource("solar", ALL_DAY, peak_power_w=100.0)


def test_a_shore_charger_is_there_in_the_hours_9_to_14():
    offered = offered_clock_a(CLIMATE)
    assert sorted(set(HOUR_OF_DAY[offered > 0])) == [9, 10, 11, 12, 13, 14]
    assert offered.sum() == 2190 * 10.0


def test_a_window_over_midnight_and_with_broken_hours_counts_shares():
    share = window_share(DayWindow(22.5 * HOUR_S, 1.25 * HOUR_S))
    day = share[24:48]
    assert (day[22], day[23], day[0], day[1]) == (0.5, 1.0, 1.0, 0.25)
    assert day.sum() == 2.75


def test_months_and_days_a_week_limit_a_source():
    source = ChargeSource("alternator", DayWindow(8 * HOUR_S, 9 * HOUR_S, (1, 12)), 40.0, days_per_week=2)
    offered = offered_clock_a(replace(CLIMATE, charges=(source,)))
    assert set(MONTH_OF_HOUR[offered > 0]) == {0, 11}
    january = offered[: 31 * 24].reshape(31, 24)[:, 8] > 0
    assert np.flatnonzero(january).tolist() == [0, 1, 7, 8, 14, 15, 21, 22, 28, 29]


def test_two_sources_add():
    both = replace(CLIMATE, charges=CLIMATE.charges * 2)
    assert np.array_equal(offered_clock_a(both), 2.0 * offered_clock_a(CLIMATE))


def test_lights_and_fan_make_18_5_ah_a_day():
    # By hand: 2.1 A x 5 h + 0.8 A x 10 h.
    uses = (
        SteadyUse(DayWindow(18 * HOUR_S, 23 * HOUR_S), 2.1),
        SteadyUse(DayWindow(8 * HOUR_S, 18 * HOUR_S), 0.8),
    )
    per_day = use_a(replace(CLIMATE, use_per_day_c=None, uses=uses)).sum() / 365.0
    assert per_day == pytest.approx(18.5)
    assert use_a(CLIMATE).sum() / 365.0 == pytest.approx(18.5)


def test_an_absent_use_is_said_and_not_passed_over():
    assert use_notes(Climate("x"))
    assert not use_notes(CLIMATE)


def test_a_30_a_charger_fills_from_20_per_cent_in_3_29_hours():
    # Hand calculation: 82.72 Ah / 0.99 / 30 A and half an hour of taper; the taper here ends at 5 %.
    assert 0.8 * 103.4 == pytest.approx(82.72)
    assert time_to_full_s(Q, 0.2, 30.0) / HOUR_S == pytest.approx(82.72 / 0.99 / 30.0 + 0.5, abs=0.005)


def test_a_full_battery_takes_no_time_and_a_nearly_full_one_only_the_taper():
    assert time_to_full_s(Q, 1.0, 30.0) == 0.0
    assert 0.0 < time_to_full_s(Q, 0.99, 30.0) < 900.0 * np.log(20.0)


def test_an_alternator_charger_stores_59_4_ah_in_an_hour_and_a_half_and_35_6_when_hot():
    # Hand calculation: 40 A x 1.5 h x 0.99, and six tenths of it.
    assert stored_c(40.0, 1.5 * HOUR_S) / AH == pytest.approx(59.4, abs=0.05)
    assert stored_c(40.0, 1.5 * HOUR_S, 0.6) / AH == pytest.approx(35.6, abs=0.05)


def test_a_panel_gives_its_controllers_current_at_most():
    weather = weather_from_months(SUNNY, 40.0)
    free = solar_current_a(PANEL, weather)
    limited = solar_current_a(replace(PANEL, controller_current_a=3.0), weather)
    assert free.max() > 3.0
    assert limited.max() == 3.0
    assert np.array_equal(limited, np.minimum(free, 3.0))


def test_a_flat_panel_gives_about_its_power_times_the_full_sun_hours():
    # By hand: 4 h x 100 W x 0.90 / 13.6 V = 26.5 Ah a day, less a few per cent for a warm panel.
    weather = weather_from_months(SUNNY, 40.0)
    per_day = solar_current_a(PANEL, weather).sum() / 365.0
    assert 0.88 * 26.5 < per_day < 1.03 * 26.5


def test_a_panel_faces_the_equator_on_both_sides_of_it_unless_told_otherwise():
    north, south = (weather_from_months(SUNNY, latitude) for latitude in (40.0, -40.0))
    for weather, towards, away in ((north, 180.0, 0.0), (south, 0.0, 180.0)):
        default = plane_of_array_w_m2(weather, 40.0, None)
        assert np.array_equal(default, plane_of_array_w_m2(weather, 40.0, towards))
        assert default.sum() > 1.2 * plane_of_array_w_m2(weather, 40.0, away).sum()


def test_the_southern_sun_is_high_in_january():
    # Half-year swapped: at 40 degrees south the noon sun of January stands where July's does in the north.
    plane = [plane_of_array_w_m2(weather_from_months(SUNNY, at), 60.0, None) for at in (40.0, -40.0)]
    clear = [by_month(hourly) / DAYS_IN_MONTH for hourly in plane]
    assert np.argmin(clear[0]) in (4, 5, 6)  # a steep panel loses most with a high sun
    assert np.argmin(clear[1]) in (10, 11, 0)


def test_a_panel_without_a_sun_is_an_error():
    with pytest.raises(ValueError, match="sun"):
        offered_sun_a(replace(CLIMATE, charges=(PANEL,)), WEATHER)
