"""`winter` from the command line over weather files good and bad. Data invented."""

from __future__ import annotations

import json

import pytest

from planner.cli import REFUSED, main
from tests.winter.weather_writer import TMY3_TITLES, epw, tmy3

CLIMATE = """format = 1
name = "Place (invented)"
place = "outdoors"
use_per_day = "10 Ah"
weather = "{name}"
[[charge]]
kind = "shore"
current = "10 A"
from = "9 h"
until = "15 h"
"""
COLD_DAYS = 100


@pytest.fixture(autouse=True)
def no_library(monkeypatch, tmp_path):
    """No test reads what the person running it has saved."""
    monkeypatch.setenv("PLANNER_LIBRARY", str(tmp_path / "library"))


def cold(row):
    return -5.0 if row // 24 < COLD_DAYS else 15.0


def missing_day(mark):
    return lambda row: mark if 48 <= row < 72 else 4.0


def winter(folder, name, content, *options):
    """Exit status of the command on a climate that names the weather file."""
    (folder / name).write_bytes(content if isinstance(content, bytes) else content.encode())
    climate = folder / "climate.toml"
    climate.write_text(CLIMATE.format(name=name), encoding="utf-8")
    return main(["winter", "unit_one", str(climate), "--draws", "2", *options])


REFUSALS = {
    "short year": ("year.epw", lambda: epw(hours=8736), "rows is 8736"),
    "long year": ("year.epw", lambda: epw(hours=8761), "rows is 8761"),
    "short TMY3 year": ("year.csv", lambda: tmy3(hours=8736), "rows is 8736"),
    "8,784 rows of no leap year": ("year.epw", lambda: epw(2001, 8784), "month 3, day 2 in row 1417"),
    "8,760 rows of a leap year": ("year.epw", lambda: epw(2004, 8760), "month 2, day 29 in row 1417"),
    "columns missing": ("year.epw", lambda: epw(columns=20), "20 columns in row 1"),
    "TMY3 without dry bulb": (
        "year.csv", lambda: tmy3(titles=TMY3_TITLES.replace("Dry-bulb (C)", "Air")), "no Dry-bulb (C)",
    ),
    "a day missing": ("year.epw", lambda: epw(air=missing_day(99.9)), "missing in rows 49 to 72"),
    "a day missing from TMY3": ("year.csv", lambda: tmy3(air=missing_day(-9900.0)), "missing in rows 49 to 72"),
    "every dry bulb missing": ("year.epw", lambda: epw(air=lambda row: 99.9), "missing in rows 1 to 8760"),
    "a letter": ("year.epw", lambda: "Dear reader,\nit was cold.\n" * 20, "LOCATION is Dear reader"),
    "another table": ("year.csv", lambda: "a,b\n1,2\n", "no Date (MM/DD/YYYY)"),
    "no TMY2": ("year.tm2", lambda: "hello\n" * 8761, "a complete TMY2 file"),
    "a picture": ("year.csv", lambda: b"\x89PNG\r\n\x1a\n" + bytes(2000), "(file) is not text"),
    "binary": ("year.epw", lambda: bytes(range(256)) * 50, "(file) is not text"),
    "binary without zeros": ("year.tm2", lambda: bytes(range(1, 256)) * 50, "rows is "),
    "empty": ("year.epw", lambda: "", "(file) is empty"),
}  # fmt: skip


@pytest.mark.parametrize("case", REFUSALS)
def test_a_bad_weather_file_is_refused_by_name_with_status_2(tmp_path, capsys, case):
    name, content, message = REFUSALS[case]
    assert winter(tmp_path, name, content()) == REFUSED == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.startswith(f"{name}: ")
    assert message in printed.err
    assert "accepted: " in printed.err
    assert "Traceback" not in printed.err


def test_a_weather_file_that_is_not_there_is_refused_at_the_climates_key(tmp_path, capsys):
    climate = tmp_path / "climate.toml"
    climate.write_text(CLIMATE.format(name="gone.epw"), encoding="utf-8")
    assert main(["winter", "unit_one", str(climate)]) == REFUSED
    assert "weather is gone.epw" in capsys.readouterr().err


def numbers(tmp_path, capsys, name, text):
    assert winter(tmp_path, name, text, "--json") == 0
    return json.loads(capsys.readouterr().out)


@pytest.mark.parametrize(
    ("name", "text", "note"),
    [
        ("end.csv", tmy3(air=cold), ""),
        ("begin.csv", tmy3(air=cold, ends_hour=False), "the first stamp is 00:00"),
        ("begin.epw", epw(air=cold, first_hour=0), "hours run 0 to 23"),
        ("south.epw", epw(air=cold, latitude=-33.5), ""),
    ],
)
def test_both_conventions_of_stamps_both_kinds_and_both_hemispheres_give_the_same_year(
    tmp_path, capsys, name, text, note
):
    found = numbers(tmp_path, capsys, name, text)
    same = numbers(tmp_path, capsys, "end.epw", epw(air=cold))
    assert found["hours_blocked"] == same["hours_blocked"]
    # By hand: six hours a day are blocked in a hundred days at -5 degC, and while the cells come out of it
    assert found["hours_blocked"]["low"] == pytest.approx(6 * COLD_DAYS, abs=6)
    assert any(note in warning for warning in found["warnings"])


def test_a_leap_year_is_taken_without_its_29_february_and_that_is_said(tmp_path, capsys):
    found = numbers(tmp_path, capsys, "leap.epw", epw(2004, 8784, air=cold))
    assert found["hours_offered"] == 6 * 365
    assert any("29 February dropped" in warning for warning in found["warnings"])
    # The dropped day was one of the cold hundred.
    assert found["hours_blocked"]["low"] == pytest.approx(6 * (COLD_DAYS - 1), abs=6)
