import numpy as np
import pytest

from planner.errors import InputRefused
from planner.winter.weather_file import read_weather
from tests.winter.invented_year import ZERO_K
from tests.winter.weather_writer import TMY3_TITLES, epw, tmy3


def saved(tmp_path, text, name="year.epw"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def refusal(path):
    with pytest.raises(InputRefused) as caught:
        read_weather(path)
    (problem,) = caught.value.problems
    assert problem.file == path.name
    return problem


def by_row(row):
    return (row % 500) / 10.0 - 20.0


@pytest.mark.parametrize(("text", "name"), [(epw(air=by_row), "a.epw"), (tmy3(air=by_row), "a.csv")])
def test_row_j_is_the_hour_from_j_whatever_its_stamp(tmp_path, text, name):
    weather = read_weather(saved(tmp_path, text, name))
    rows = np.arange(8760)
    assert weather.air_k - ZERO_K == pytest.approx((rows % 500) / 10.0 - 20.0)
    assert weather.wind_m_per_s[0] == 3.0
    assert not weather.air_k.flags.writeable


def test_place_and_zone_come_from_the_file(tmp_path):
    weather = read_weather(saved(tmp_path, epw(latitude=-33.5)))
    assert (weather.latitude_deg, weather.longitude_deg, weather.utc_offset_h) == (-33.5, 8.0, 1.0)


def test_a_leap_year_loses_its_29_february_and_says_so(tmp_path):
    # Day number as temperature: day 58 is 28 February, day 59 the dropped one, day 60 1 March.
    weather = read_weather(saved(tmp_path, epw(2004, 8784, air=lambda row: row // 24 / 10.0)))
    days = np.round((weather.air_k - ZERO_K).reshape(365, 24)[:, 0] * 10.0).astype(int)
    assert days.tolist() == [*range(59), *range(60, 366)]
    assert any("29 February" in warning for warning in weather.warnings)


@pytest.mark.parametrize("hours", [8759, 8736, 24, 8761])
def test_a_short_or_long_year_is_refused_by_its_rows(tmp_path, hours):
    problem = refusal(saved(tmp_path, epw(hours=hours)))
    assert (problem.key, problem.value) == ("rows", str(hours))


def test_8760_rows_of_a_leap_year_lack_their_last_day_and_are_refused(tmp_path):
    problem = refusal(saved(tmp_path, epw(2004, 8760)))
    assert problem.key == "date"
    assert "month 2, day 29" in problem.value


def test_8784_rows_that_run_into_the_next_year_are_refused(tmp_path):
    assert refusal(saved(tmp_path, epw(2001, 8784))).key == "date"


def test_stamps_at_the_beginning_of_the_hour_are_read_alike_and_said(tmp_path):
    weather = read_weather(saved(tmp_path, epw(air=by_row, first_hour=0)))
    assert weather.air_k == pytest.approx(read_weather(saved(tmp_path, epw(air=by_row), "b.epw")).air_k)
    assert any("0 to 23" in warning for warning in weather.warnings)
    weather = read_weather(saved(tmp_path, tmp := tmy3(air=by_row, ends_hour=False), "c.csv"))
    assert ",00:00," in tmp
    assert weather.air_k[1] - ZERO_K == pytest.approx(-19.9)
    assert any("00:00" in warning for warning in weather.warnings)


def test_a_doubled_row_is_refused(tmp_path):
    lines = epw().splitlines(keepends=True)
    lines[100] = lines[99]
    problem = refusal(saved(tmp_path, "".join(lines)))
    assert problem.key == "hour"
    # 8 lines of header; row 92 ends hour 20, row 93 should end hour 21
    assert problem.value == "20 in row 93"


@pytest.mark.parametrize("ends_hour", [True, False])
def test_a_doubled_row_is_refused_in_the_other_form_too(tmp_path, ends_hour):
    lines = tmy3(ends_hour=ends_hour).splitlines(keepends=True)
    lines[94] = lines[93]  # 2 lines of header; row 92 is hour 20 of its day, or begins it at 19
    problem = refusal(saved(tmp_path, "".join(lines), "a.csv"))
    assert problem.key == "Time (HH:MM)"
    assert problem.value == ("20:00 in row 93" if ends_hour else "19:00 in row 93")
    midnight = tmy3(air=by_row).replace(",24:00,", ",00:00,")
    assert read_weather(saved(tmp_path, midnight, "b.csv")).air_k[1] - ZERO_K == pytest.approx(-19.9)


def test_missing_columns_are_refused_by_name(tmp_path):
    assert refusal(saved(tmp_path, epw(columns=20))).value == "20 columns in row 1"
    problem = refusal(saved(tmp_path, tmy3(titles=TMY3_TITLES.replace("Dry-bulb (C)", "Air")), "a.csv"))
    assert "Dry-bulb (C)" in problem.value


def test_a_gap_of_six_hours_is_bridged_by_a_straight_line_and_said(tmp_path):
    weather = read_weather(
        saved(tmp_path, epw(air=lambda row: 99.9 if 100 <= row < 106 else float(row % 24)))
    )
    # By hand: rows 99 and 106 hold 3 and 10 degC; seven equal steps lie between.
    assert weather.air_k[99:107] - ZERO_K == pytest.approx([3, 4, 5, 6, 7, 8, 9, 10])
    assert any("missing in 6 hours" in warning for warning in weather.warnings)


def test_a_gap_over_new_year_is_bridged_from_the_other_end(tmp_path):
    weather = read_weather(saved(tmp_path, epw(air=lambda row: 99.9 if row in (0, 8759) else 4.0)))
    assert weather.air_k == pytest.approx(ZERO_K + 4.0)


@pytest.mark.parametrize("length", [7, 24])
def test_a_longer_gap_or_a_missing_day_is_refused_with_its_rows(tmp_path, length):
    def air(row):
        return 99.9 if 48 <= row < 48 + length else 4.0

    problem = refusal(saved(tmp_path, epw(air=air)))
    assert problem.key == "dry bulb"
    assert problem.value == f"missing in rows 49 to {48 + length}"


def test_the_missing_mark_of_tmy3_is_no_temperature(tmp_path):
    def air(row):
        return -9900.0 if row == 5 else 4.0

    assert read_weather(saved(tmp_path, tmy3(air=air), "a.csv")).air_k == pytest.approx(ZERO_K + 4.0)


def test_missing_sun_in_a_few_hours_is_darkness_and_in_many_no_sun(tmp_path):
    few = read_weather(saved(tmp_path, epw(sun=lambda row: 9999.0 if row < 20 else 100.0)))
    assert (few.sun.ghi_w_m2[:20] == 0.0).all() and few.sun.ghi_w_m2[20] == 100.0
    assert any("irradiance missing in 20 hours" in warning for warning in few.warnings)
    many = read_weather(saved(tmp_path, epw(sun=lambda row: 9999.0 if row < 2000 else 100.0), "b.epw"))
    assert many.sun is None


def test_a_sensor_a_watt_below_zero_at_night_is_not_missing(tmp_path):
    weather = read_weather(saved(tmp_path, epw(sun=lambda row: -2.0 if row % 24 < 6 else 100.0)))
    assert weather.sun.dhi_w_m2.min() == 0.0
    assert not any("irradiance" in warning for warning in weather.warnings)


@pytest.mark.parametrize(
    ("text", "name", "key"),
    [
        ("", "a.epw", "(file)"),
        ("hello\n", "a.epw", "LOCATION"),
        ("hello\n", "a.csv", "columns"),
        ("hello\n", "a.tm2", "rows"),
        ("hello\n", "a.txt", "(file)"),
        (epw().replace("46.0", "north"), "a.epw", "(file)"),
        (epw().replace("2001,7,4,5,", "2001,7,4,x,", 1), "a.epw", "row 4421, hour"),
        (tmy3().replace("-5.0", "EST", 1), "a.csv", "(file)"),
        (tmy3().replace("02/28/2001", "28.2.2001"), "a.csv", "Date (MM/DD/YYYY)"),
    ],
)
def test_what_is_not_a_weather_file_is_refused(tmp_path, text, name, key):
    problem = refusal(saved(tmp_path, text, name))
    assert problem.key in (key, "(file)")
    assert problem.fix


def test_a_file_that_is_not_there_is_refused(tmp_path):
    assert refusal(tmp_path / "none.epw").key == "(file)"


def test_text_where_a_temperature_belongs_counts_as_missing(tmp_path):
    text = epw().replace(",10.0,2.0,", ",,2.0,", 3)
    assert read_weather(saved(tmp_path, text)).air_k == pytest.approx(ZERO_K + 10.0)


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        (",46.0,8.0,1.0,", ",nan,8.0,1.0,", "latitude"),
        (",46.0,8.0,1.0,", ",460,8.0,1.0,", "latitude"),
        (",46.0,8.0,1.0,", ",46.0,1e9,1.0,", "longitude"),
        (",46.0,8.0,1.0,", ",46.0,8.0,20,", "time zone"),
    ],
)
def test_a_place_that_is_none_is_refused(tmp_path, old, new, key):
    text = epw()
    assert old in text
    assert refusal(saved(tmp_path, text.replace(old, new, 1))).key == key


def test_an_endless_time_zone_is_refused(tmp_path):
    text = tmy3()
    assert "-5.0" in text
    assert refusal(saved(tmp_path, text.replace("-5.0", "inf", 1), "a.csv")).key == "(file)"


def test_a_quotation_mark_that_joins_lines_is_a_short_year(tmp_path):
    rows = epw().split("\n")
    rows[20] = '"' + rows[20]
    assert refusal(saved(tmp_path, "\n".join(rows))).key in ("rows", "(file)")
