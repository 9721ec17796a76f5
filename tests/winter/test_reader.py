from pathlib import Path

import pytest

from planner.errors import InputRefused
from planner.winter.outlook import winter_outlook
from planner.winter.reader import read_climate
from planner.winter.schema import WinterUnit, thermal_capacity_j_per_k, thermal_conductance_w_per_k
from planner.winter.weather_source import load_weather
from tests.winter.invented_year import AH, HOUR_S, TESTED, UNIT, ZERO_K
from tests.winter.weather_writer import epw

PROFILES = Path(__file__).parents[2] / "profiles" / "climates"
MONTHLY = "monthly = [" + ", ".join(['["-10 degC", "10 delta_degC"]'] * 12) + "]\n"
HEAD = 'format = 1\nname = "Here (invented)"\n'
SHORE = '[[charge]]\nkind = "shore"\ncurrent = "10 A"\nfrom = "9 h"\nuntil = "15 h"\n'
FULL = (
    HEAD
    + MONTHLY
    + 'place = "cabin"\nthermal_conductance = "2.24 W/K"\nheat_capacity = "11200 J/K"\nstart_charge = "90 %"\n'
    + 'use_per_day = "18.5 Ah"\nlatitude = -33.0\nsun_hours = ['
    + ", ".join(['"4 h"'] * 12)
    + ']\n[[heated]]\nfrom = "18 h"\nuntil = "22 h"\nair = "15 degC"\nmonths = [1, 12, 11]\n'
    + '[heater]\npower = "60 W"\ntarget = "5 degC"\noff_above = "8 degC"\nfed_by = "battery"\n'
    + SHORE
    + 'days_per_week = 2\n[[charge]]\nkind = "solar"\npeak_power = "100 W"\ntilt = "30 deg"\nazimuth = "350 deg"\n'
    + 'controller_current = "10 A"\n[[use]]\ncurrent = "2.1 A"\nfrom = "22 h"\nuntil = "3 h"\n'
)


def read(tmp_path, text):
    path = tmp_path / "here.toml"
    path.write_text(text, encoding="utf-8")
    return read_climate(path)


def keys_refused(tmp_path, text):
    with pytest.raises(InputRefused) as caught:
        read(tmp_path, text)
    assert all(problem.allowed and problem.fix for problem in caught.value.problems)
    return {problem.key for problem in caught.value.problems}


def test_every_key_is_read_in_si(tmp_path):
    climate = read(tmp_path, FULL)
    assert climate.monthly.mean_k == pytest.approx([263.15] * 12)
    assert climate.monthly.swing_k == pytest.approx([10.0] * 12)
    assert climate.monthly.sun_s == (4 * HOUR_S,) * 12
    assert (climate.place, climate.start_soc, climate.use_per_day_c) == ("cabin", 0.9, 18.5 * AH)
    assert (climate.conductance_w_per_k, climate.heat_capacity_j_per_k) == (2.24, 11200.0)
    room, heater = climate.heated[0], climate.heater
    assert (room.window.from_s, room.window.until_s, room.air_k) == (18 * HOUR_S, 22 * HOUR_S, ZERO_K + 15)
    assert room.window.months == (1, 11, 12)
    assert (heater.power_w, heater.target_k, heater.fed_by) == (60.0, ZERO_K + 5.0, "battery")
    assert heater.off_above_k == pytest.approx(ZERO_K + 8.0)
    shore, solar = climate.charges
    assert (shore.kind, shore.current_a, shore.days_per_week) == ("shore", 10.0, 2)
    assert (solar.peak_power_w, solar.controller_current_a) == (100.0, 10.0)
    assert (solar.tilt_deg, solar.azimuth_deg) == pytest.approx((30.0, 350.0))
    assert climate.uses[0].window.until_s == 3 * HOUR_S
    assert climate.latitude_deg == -33.0


def test_a_longitude_that_changes_nothing_is_said_to(tmp_path):
    assert not [text for text in read(tmp_path, HEAD + MONTHLY).warnings if "longitude" in text]
    (told,) = read(tmp_path, HEAD + MONTHLY + "longitude = -93.5\n").warnings
    assert told.startswith("longitude is not used")


def test_what_is_absent_gets_its_handbook_value_and_a_note(tmp_path):
    climate = read(tmp_path, HEAD + MONTHLY + SHORE)
    assert thermal_conductance_w_per_k(climate) == 2.24
    assert thermal_capacity_j_per_k(climate, UNIT) == pytest.approx(11200.0)  # 11.2 kg x 1000 J/(kg K)
    unweighed = WinterUnit(capacity_c=50.0 * AH)
    assert thermal_capacity_j_per_k(climate, unweighed) == pytest.approx(5600.0)
    notes = winter_outlook(climate, load_weather(climate), unweighed, TESTED).warnings
    assert any("thermal_conductance" in note for note in notes)
    assert any("heat_capacity" in note and "customary" in note for note in notes)
    assert any("No use" in note for note in notes)


def test_a_weather_file_is_found_beside_the_climate_and_listed(tmp_path):
    (tmp_path / "year.epw").write_text(epw(), encoding="utf-8")
    climate = read(tmp_path, HEAD + 'weather = "year.epw"\n' + SHORE)
    assert climate.files == (tmp_path / "year.epw",)
    assert load_weather(climate).air_k[0] == pytest.approx(283.15)


def test_a_panel_with_a_weather_file_without_sun_is_refused(tmp_path):
    (tmp_path / "year.epw").write_text(epw(sun=lambda row: 9999.0), encoding="utf-8")
    text = HEAD + 'weather = "year.epw"\n[[charge]]\nkind = "solar"\npeak_power = "100 W"\n'
    climate = read(tmp_path, text)
    with pytest.raises(InputRefused) as caught:
        load_weather(climate)
    assert caught.value.problems[0].key == "irradiance"


@pytest.mark.parametrize(
    ("text", "keys"),
    [
        (HEAD + SHORE, {"weather"}),
        (HEAD + MONTHLY.replace('["-10 degC", "10 delta_degC"], ', "", 1) + SHORE, {"monthly"}),
        (HEAD + MONTHLY + 'weather = "none.epw"\n', {"weather"}),
        (HEAD + MONTHLY + 'place = "garage"\n', {"place"}),
        (HEAD + MONTHLY + SHORE.replace("shore", "wind"), {"charge.1.kind"}),
        (HEAD + MONTHLY + SHORE.replace('"15 h"', '"25 h"'), {"charge.1.until"}),
        (HEAD + MONTHLY + SHORE.replace('"15 h"', '"9 h"'), {"charge.1.until"}),
        (HEAD + MONTHLY + SHORE.replace('current = "10 A"\n', ""), {"charge.1.current"}),
        (HEAD + MONTHLY + SHORE + 'peak_power = "100 W"\n', {"charge.1.peak_power"}),
        (HEAD + MONTHLY + SHORE + "months = [13]\n", {"charge.1.months.1", "charge.1.months"}),
        (HEAD + MONTHLY + SHORE + "days_per_week = 8\n", {"charge.1.days_per_week"}),
        (HEAD + MONTHLY + '[[charge]]\nkind = "solar"\npeak_power = "9 W"\n', {"sun_hours", "latitude"}),
        (HEAD + MONTHLY + '[heater]\npower = "60 W"\n', {"heater.target"}),
        (
            HEAD + MONTHLY + '[heater]\npower = "60 W"\ntarget = "5 degC"\noff_above = "1 degC"\n',
            {"heater.off_above"},
        ),
        (HEAD + MONTHLY + 'start_charge = "120 %"\nuse_per_dag = "1 Ah"\n', {"start_charge", "use_per_dag"}),
        (HEAD + MONTHLY + 'thermal_conductance = "nan W/K"\n', {"thermal_conductance"}),
    ],
)  # fmt: skip
def test_what_is_wrong_is_refused_by_its_key_all_at_once(tmp_path, text, keys):
    assert keys_refused(tmp_path, text) == keys


@pytest.mark.parametrize("path", sorted(PROFILES.glob("*.toml")), ids=lambda path: path.stem)
def test_the_shipped_climates_are_marked_invented_and_run(path):
    climate = read_climate(path)
    assert "invented" in climate.name
    outlook = winter_outlook(climate, load_weather(climate), UNIT, TESTED)
    assert outlook.given.hours_offered[0] > 300


def test_three_climates_are_shipped_and_they_differ():
    blocked = []
    for path in sorted(PROFILES.glob("*.toml")):
        climate = read_climate(path)
        blocked.append(winter_outlook(climate, load_weather(climate), UNIT, TESTED).given.hours_blocked[1, 0])
    assert len(blocked) >= 3
    assert max(blocked) > 1000
    assert min(blocked) < 100
