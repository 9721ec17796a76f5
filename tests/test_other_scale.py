"""Degrees Celsius that were most likely read off a thermometer in degrees Fahrenheit."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.other_scale import other_scale
from planner.outing.reader import read_outing
from planner.record.reader import read_record
from planner.winter.reader import read_climate

PROFILES = Path(__file__).resolve().parent.parent / "profiles"


@pytest.mark.parametrize(("celsius", "meant"), [(50.0, "10 °C"), (77.0, "25 °C"), (60.0, "16 °C")])
def test_the_same_number_in_the_other_scale_is_told(celsius, meant):
    """50 °F are 10 °C, 77 °F are 25 °C (NIST SP 811, appendix B.8, from memory)."""
    told = other_scale("ambient", celsius + 273.15)
    assert told is not None
    assert f'"{celsius:.0f} degF": that is {meant}' in told


@pytest.mark.parametrize("kelvin", [255.0, 273.15, 311.0, 318.0, float("nan")])
def test_what_air_may_well_be_is_not_remarked_upon(kelvin):
    assert other_scale("ambient", kelvin) is None


@pytest.mark.parametrize(
    ("read", "file", "old", "new", "key"),
    [
        (read_outing, "outings/trolling_day.toml", 'ambient = "17 degC"', 'ambient = "62 degC"', "ambient"),
        (read_outing, "outings/trolling_day.toml", '"19 degC"', '"66 degC"', "cell_temperature"),
        (read_record, "batteries/unit_one.toml", '"25 degC"', '"77 degC"', "capacity_test.1: temperature"),
        (read_climate, "climates/cold-lake.toml", '"19 degC"', '"66 degC"', "the warmest mean of monthly"),
    ],
)
def test_every_file_that_may_hold_one_tells_it_and_is_read_as_it_stands(tmp_path, read, file, old, new, key):
    text = (PROFILES / file).read_text()
    assert old in text
    path = tmp_path / Path(file).name
    for written, times in ((text, 0), (text.replace(old, new, 1), 1)):
        path.write_text(written)
        told = [warning for warning in read(path).warnings if "Fahrenheit" in warning]
        assert len(told) == times
    assert told[0].startswith(f"{key} is {new.strip(chr(34)).removeprefix('ambient = ').strip(chr(34)).split()[0]} °C")
