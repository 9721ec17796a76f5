"""The units shown: every number is changed, none is lost, and what is no unit stays."""

from __future__ import annotations

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.explain.chart_look import Figure, field, layer, whole
from planner.explain.shown_units import (
    AS_MADE,
    US,
    ShownUnits,
    figure_in_units,
    in_other_units,
    in_units,
    table_in_units,
)

# Worked by hand: 1 ft = 0.3048 m, 1 mi = 1.609344 km, 1 nmi = 1.852 km, 1 lb = 0.45359237 kg (NIST SP 811, B.8);
# t/°F = 1.8 t/°C + 32 (NIST SP 811, B.8); gauges by ASTM B258.
TEXTS = {
    "the battery inside is 9 °C": "the battery inside is 48 °F",
    "limit, 0 °C if none is stated": "limit, 32 °F if none is stated",
    "-40 degC": "-40 °F",
    "from -0.5 to 6 °C": "from 31.1 to 43 °F",
    "a limit of error of 1 K": "a limit of error of 1.8 °F",
    "Length 2.5 m is one way, 5 m of conductor": "Length 8.2 ft is one way, 16.4 ft of conductor",
    "3.2 km at 4 km/h": "1.99 mi at 2.49 mph",
    "11.2 kg": "24.7 lb",
    "cable of 25 mm^2": "cable of 25 mm² (between AWG 4 and AWG 3)",
    "cable of 21.15 mm²": "cable of AWG 4",
}


@pytest.mark.parametrize(("made", "shown"), TEXTS.items())
def test_a_sentence_is_told_in_the_units_of_the_country(made: str, shown: str) -> None:
    assert in_units(made, US) == shown
    assert in_units(made, AS_MADE) == made.replace("degC", "°C")  # as people write it


@pytest.mark.parametrize(
    "text", ["100 Ah", "5 min 3 ms", "2.24 W/K", "5 mm", "10,000 hours", "load.2.use.1", "12 m2", "unit 4 kgs"]
)
def test_what_is_no_such_unit_stays(text: str) -> None:
    assert in_units(text, US) == text


def test_a_gauge_is_told_as_its_area_and_an_area_is_never_called_thicker() -> None:
    # ASTM B258: AWG 4 is 21.15 mm2, AWG 1/0 53.5 mm2
    assert in_units("AWG 4 or AWG 1/0", ShownUnits(conductor="mm²")) == "21.2 mm² or 53.5 mm²"
    assert in_units("500 mm^2 and 0.5 mm^2", US) == (
        "500 mm² (thicker than AWG 4/0) and 0.5 mm² (thinner than AWG 18)"
    )


@given(st.integers(-60, 150))
def test_whole_degrees_come_back_within_half_a_degree_fahrenheit(celsius: int) -> None:
    shown = in_units(f"it is {celsius} °C now", US)
    fahrenheit = float(shown.removeprefix("it is ").removesuffix(" °F now"))
    assert abs(fahrenheit - (1.8 * celsius + 32.0)) <= 0.5


def test_a_table_changes_its_heads_and_numbers_and_the_one_given_stays_as_it_was() -> None:
    table = pd.DataFrame(
        {"Battery": ["a", "b"], "Weight (kg)": [10.0, float("nan")], "Hottest (°C)": [100.0, 0.0],
         "Price": [1.0, 2.0], "Currency": ["", "EUR"], "Note": ["at 20 °C", ""]}
    )  # fmt: skip
    before = table.copy(deep=True)
    shown = table_in_units(table, ShownUnits("°F", mass="lb", currency="CHF"))
    assert list(shown.columns) == ["Battery", "Weight (lb)", "Hottest (°F)", "Price", "Currency", "Note"]
    assert shown["Weight (lb)"][0] == pytest.approx(22.046, abs=0.0005) and pd.isna(shown["Weight (lb)"][1])
    assert list(shown["Hottest (°F)"]) == [212.0, 32.0]
    assert list(shown["Currency"]) == ["CHF", "EUR"]
    assert list(shown["Note"]) == ["at 68 °F", ""]
    unstated = table_in_units(table.assign(Currency=""), ShownUnits(currency="CHF"))
    assert "Price (CHF)" in unstated and list(unstated["Price (CHF)"]) == [1.0, 2.0]
    assert list(unstated["Currency"]) == ["CHF", "CHF"]
    pd.testing.assert_frame_equal(table, before)


def test_a_chart_changes_its_axis_its_data_and_its_words_and_the_one_given_stays_as_it_was() -> None:
    frame = pd.DataFrame({"day": [0.0, 1.0], "cell": [0.0, 100.0], "what": ["below 5 °C", ""]})
    y = field("cell", "Temperature (°C)")
    spec = whole("Down to 0 °C", 100, [layer("course", "line", {}, x=field("day", "Days"), y=y)], {"course": frame})
    made = Figure("f", "Down to 0 °C", "Line: 5 °C.", "0 °C", pd.DataFrame({"Battery inside (°C)": [0.0]}), spec)
    shown = figure_in_units(made, US)
    assert [row["cell"] for row in shown.spec["datasets"]["course"]] == [32.0, 212.0]
    assert [row["day"] for row in shown.spec["datasets"]["course"]] == [0.0, 1.0]
    assert shown.spec["datasets"]["course"][0]["what"] == "below 41 °F"
    assert shown.spec["layer"][0]["encoding"]["y"]["title"] == "Temperature (°F)"
    assert "°C" not in f"{shown.spec} {shown.title} {shown.legend} {shown.alt} {list(shown.table.columns)}"
    assert made.spec["datasets"]["course"][1]["cell"] == 100.0
    assert figure_in_units(made, AS_MADE) is made


@pytest.mark.parametrize(
    ("typed", "kind", "told"),
    [
        ("8 h", "duration", "480 min"),
        ("5 h 10 min", "duration", "5.167 h"),
        ("90 s", "duration", "1.5 min"),
        ("41 °F", "temperature", "5 °C"),
        ("5 degC", "temperature", "41 °F"),
        ("10 ft", "length", "3.048 m"),
        ("3.2 km", "length", "1.988 mi, 1.728 nmi"),
        ("AWG 4", "area", "21.2 mm²"),
        ("25 mm^2", "area", "between AWG 4 and AWG 3"),
        ("1.5 kW", "power", "1,500 W"),
        ("10 delta_degC", "temperature_difference", "18 °F apart"),
        ("1 s", "duration", ""),
        ("0.3 s", "duration", ""),
        ("0 min", "duration", ""),
        ("500 ms", "duration", "0.5 s"),
        ("0.5 min", "duration", "30 s"),
        ("48 h", "duration", "2 d"),
        ("22C", "temperature", "71.6 °F"),
        ("72F", "temperature", "22.22 °C"),
        ("13 lb 8 oz", "mass", "6.123 kg, 13.5 lb"),
        ("5 ft 6 in", "length", "1.676 m, 5.5 ft"),
        ("28 cm", "length", "11.02 in"),
        ("245 N", "force", "55.08 lbf"),
        ("55 lbf", "force", "244.7 N"),
        ("12 V", "voltage", ""),
        ("12 parsec", "length", ""),
    ],
)
def test_a_typed_quantity_is_shown_in_another_usual_unit(typed: str, kind: str, told: str) -> None:
    assert in_other_units(typed, kind) == told


def test_a_thrust_is_told_in_pounds_force_beside_pounds() -> None:
    # By hand: 245 N / 4.4482 N a lbf = 55.1 lbf. A torque in N·m is no force.
    assert in_units("a thrust of 245 N claimed", US) == "a thrust of 55.1 lbf claimed"
    assert in_units("tightened to 12 N·m", US) == "tightened to 12 N·m"
    assert in_units("a thrust of 245 N claimed", AS_MADE) == "a thrust of 245 N claimed"
