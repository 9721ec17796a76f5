"""Charts as data: what they show is what was worked out, and everybody can read it."""

import functools
import json
import math
import re
import tomllib
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.battery.envelope import DEMONSTRATED
from planner.explain.chart_look import COLOURS, LINE_CHARACTERS, Figure, rows, wrapped
from planner.explain.charts import fit_figures
from planner.explain.current_chart import HELD, OPENED, current_map_figure
from planner.explain.outing_charts import voltage_figure
from planner.explain.outing_course import course_of
from planner.outing.reader import read_outing
from planner.record.reader import read_record
from planner.verdict.assess import Assessment, assess

ROOT = Path(__file__).resolve().parent.parent.parent
PAIRS = (
    ("unit_one", "trolling_day"),
    ("unit_two", "kayak_evening"),
    ("unit_three", "anchor_winch"),
    ("unit_four", "trolling_day"),
    ("unit_one", "trailer_weekend"),
    ("unit_one", "bank_motor"),
    ("unit_four", "inverter_kitchen"),
)
DRAWS = 60


@functools.cache
def assessed(battery: str, outing: str) -> Assessment:
    profiles = ROOT / "profiles"
    record = read_record(profiles / "batteries" / f"{battery}.toml")
    return assess(record, read_outing(profiles / "outings" / f"{outing}.toml"), draws=DRAWS)


@functools.cache
def figures(battery: str, outing: str) -> dict[str, Figure]:
    return {figure.key: figure for figure in fit_figures(assessed(battery, outing))}


every_pair = pytest.mark.parametrize(("battery", "outing"), PAIRS)


@every_pair
def test_every_chart_is_valid_and_has_data_that_are_finite(battery: str, outing: str) -> None:
    found = figures(battery, outing)
    assert list(found) == ["charge", "voltage", "current", "current_map"]
    for figure in found.values():
        figure.chart.to_dict()  # altair's own schema; raises when the specification is not valid
        named = {layer["data"]["name"] for layer in figure.spec["layer"]}
        assert named <= set(figure.spec["datasets"])
        numbers = [v for data in figure.spec["datasets"].values() for row in data for v in row.values() if isinstance(v, float)]
        assert len(numbers) > 50
        assert all(math.isfinite(number) for number in numbers)
        json.dumps(figure.spec, allow_nan=False)


@every_pair
def test_every_chart_says_its_finding_in_lines_a_phone_can_show(battery: str, outing: str) -> None:
    for figure in figures(battery, outing).values():
        lines = figure.spec["title"]["text"]
        assert " ".join(lines).replace("\u00a0", " ") == figure.title
        assert max(map(len, lines)) <= LINE_CHARACTERS
        assert len(figure.title.split()) > 4


@every_pair
def test_every_chart_has_words_and_a_table_with_units(battery: str, outing: str) -> None:
    for figure in figures(battery, outing).values():
        assert figure.alt.startswith(figure.title) and len(figure.alt) > len(figure.title) + 20
        assert re.search(r"\d", figure.alt)
        assert len(figure.table) >= 3
        units = [re.search(r"\((h|min|s|Ah|V|A)\)$", column) for column in figure.table.columns]
        assert sum(unit is not None for unit in units) >= 3


@pytest.mark.parametrize("outing", ["trailer_weekend", "anchor_winch"])
def test_the_lowest_voltage_of_a_long_outing_is_on_the_chart_and_in_its_title(outing: str) -> None:
    """Of three starts of a pump within one bar of the chart the last finds the battery lowest."""
    assessment = assessed("unit_two", outing)
    trace, course = assessment.batch.run.trace, course_of(assessment)
    assert trace is not None
    lowest = float(np.nanmin(np.minimum(trace.start_v[:, 0], trace.end_v[:, 0])))
    assert np.nanmin(course.voltage_v.middle) == lowest
    told = float(voltage_figure(course).title.split("above ")[1].split()[0])
    assert lowest - 0.1 <= told <= lowest


@every_pair
def test_the_band_has_its_lower_edge_below_its_upper_one(battery: str, outing: str) -> None:
    course = course_of(assessed(battery, outing))
    for band in (course.charge_c, course.voltage_v, course.current_a):
        assert np.all(band.low <= band.high)
    assert np.all(np.diff(course.time_s) >= -1e-6)  # steps are added up: rounding


def test_the_band_holds_nine_runs_in_ten() -> None:
    assessment = assessed("unit_one", "trolling_day")
    course = course_of(assessment)
    trace = assessment.batch.run.trace
    assert trace is not None
    drawn = trace.end_v[:, assessment.batch.draws]
    step = len(drawn) // 2
    place = int(np.flatnonzero(np.isclose(course.time_s, trace.end_s[step]))[0])
    inside = (drawn[step] >= course.voltage_v.low[place]) & (drawn[step] <= course.voltage_v.high[place])
    assert abs(inside.mean() - 0.9) <= 1.0 / DRAWS + 1e-9  # quantiles between draws may take one in or leave it out


@every_pair
def test_charge_left_runs_from_what_it_gives_to_what_the_outing_leaves(battery: str, outing: str) -> None:
    assessment = assessed(battery, outing)
    left = course_of(assessment).charge_c.middle
    assert left[0] == pytest.approx(assessment.covered.usable_c)
    over = max(assessment.covered.usable_c - assessment.covered.need_c, 0.0)
    # the trace's last step of a battery that ends runs on to the step's own end: half a per cent of the charge
    assert left[-1] == pytest.approx(over, abs=0.005 * assessment.covered.usable_c)
    assert np.all(np.diff(left) <= 1e-6)


@every_pair
def test_no_surge_is_lost_in_thinning(battery: str, outing: str) -> None:
    assessment = assessed(battery, outing)
    trace = assessment.batch.run.trace
    assert trace is not None
    largest = np.nanmax([trace.start_a[:, 0], trace.end_a[:, 0]])
    assert np.nanmax(figures(battery, outing)["current"].table["Middle (A)"]) == pytest.approx(largest, abs=0.005)


def test_a_battery_that_runs_empty_says_when_and_what_is_still_wanted() -> None:
    found = figures("unit_four", "trolling_day")
    assert "runs empty after about" in found["charge"].title
    assert "not served" in found["current"].title
    assert "stop" in found["charge"].spec["datasets"] and "wanted" in found["current"].spec["datasets"]
    calm = figures("unit_one", "trolling_day")
    assert "stop" not in calm["charge"].spec["datasets"] and "wanted" not in calm["current"].spec["datasets"]


@every_pair
def test_every_point_of_the_outing_and_every_trip_is_on_the_map(battery: str, outing: str) -> None:
    assessment = assessed(battery, outing)
    data = figures(battery, outing)["current_map"].spec["datasets"]
    shown = sorted((row["amps"], row["seconds"]) for part in ("filled", "hollow") for row in data.get(part, []))
    asked = sorted((p.current_a, p.duration_s) for p in assessment.peak.points if p.duration_s > 0.0)
    assert shown == asked
    assert {row["zone"] for row in data.get("filled", [])} <= {DEMONSTRATED}
    assert DEMONSTRATED not in {row["zone"] for row in data.get("hollow", [])}
    opened = sorted((row["amps"], row["seconds"]) for row in data["tests"] if row["what"] == OPENED)
    assert opened == sorted((trip.current_a, trip.duration_s) for trip in assessment.envelope.trips)


@every_pair
def test_a_demonstrated_point_lies_in_the_green_and_a_trip_at_the_edge_of_the_red(battery: str, outing: str) -> None:
    assessment = assessed(battery, outing)
    data = figures(battery, outing)["current_map"].spec["datasets"]
    shown = data["shown"]
    times = np.log([row["seconds"] for row in shown])
    edge = np.array([row["to"] for row in shown])
    for point in data.get("filled", []):
        # between drawn durations the edge is a straight line through a curve: 1 % of the current
        assert point["amps"] <= np.interp(np.log(point["seconds"]), times, edge) * 1.01 + 1e-3
    for trip in assessment.envelope.trips:
        after = [row["from"] for row in data["opened"] if row["seconds"] >= trip.duration_s]
        assert after[0] <= trip.current_a + 1e-3


def test_a_test_keeps_its_meters_error_as_a_bar() -> None:
    assessment = assessed("unit_three", "anchor_winch")
    bars = [row for row in figures("unit_three", "anchor_winch")["current_map"].spec["datasets"]["tests"] if row["what"] == HELD]
    held = [test for test in assessment.envelope.passes if test.kind in ("hold", "tripped hold", "full discharge")]
    assert len(bars) == len(held) > 2
    for row in bars:
        assert row["high"] - row["low"] == pytest.approx(2.0 * row["error"])
        assert row["error"] > 0.0


def test_an_outing_that_draws_nothing_still_has_a_map() -> None:
    assessment = assessed("unit_one", "trolling_day")
    nothing = SimpleNamespace(
        peak=type(assessment.peak)((), (), None, ()), envelope=assessment.envelope, covered=assessment.covered
    )
    figure = current_map_figure(nothing)  # type: ignore[arg-type]
    assert figure.title == "The outing draws nothing"
    assert "stair" not in figure.spec["datasets"]
    figure.chart.to_dict()


def luminance(colour: str) -> float:
    """Relative luminance. Source: WCAG 2.2, definition."""
    parts = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_computed_as_published() -> None:
    assert contrast("#767676", "#ffffff") == pytest.approx(4.542225, abs=1e-6)  # WCAG 2.2, well-known grey
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


@pytest.mark.parametrize("colour", COLOURS)
def test_every_chart_colour_stands_out_on_light_and_dark_pages(colour: str) -> None:
    theme = tomllib.loads((ROOT / ".streamlit" / "config.toml").read_text())["theme"]
    for paper in ("#ffffff", "#0e1117", theme["light"]["backgroundColor"], theme["dark"]["backgroundColor"]):
        assert contrast(colour, paper) >= 3.0  # WCAG 2.2, 1.4.11


@every_pair
def test_no_text_has_a_colour_of_its_own_and_no_chart_a_background(battery: str, outing: str) -> None:
    for figure in figures(battery, outing).values():
        assert figure.spec["background"] == "transparent"
        assert {layer["mark"]["type"] for layer in figure.spec["layer"]} <= {"area", "line", "rule", "point"}
        assert "color" not in figure.spec["title"]


@every_pair
def test_what_colour_tells_a_shape_or_a_dash_tells_too(battery: str, outing: str) -> None:
    layers = figures(battery, outing)["current_map"].spec["layer"]
    points = [layer for layer in layers if layer["mark"]["type"] == "point" and "color" in layer["encoding"]]
    assert len(points) >= 2
    assert all("shape" in layer["encoding"] for layer in points)


@given(st.text(alphabet="abcde 0123456789", max_size=200))
def test_wrapping_loses_no_word(text: str) -> None:
    assert re.sub(r"\s", "", "".join(wrapped(text))) == re.sub(r"\s", "", text)


def test_what_is_not_a_number_becomes_null() -> None:
    frame = pd.DataFrame({"a": [1.0, math.nan], "b": ["x", "y"]})
    assert rows(frame) == [{"a": 1.0, "b": "x"}, {"a": None, "b": "y"}]


@pytest.mark.parametrize("look", ["light", "dark"])
def test_text_captions_links_and_buttons_of_both_themes_stand_out(look: str) -> None:
    theme = tomllib.loads((ROOT / ".streamlit" / "config.toml").read_text())["theme"][look]
    for paper in (theme["backgroundColor"], theme["secondaryBackgroundColor"]):
        assert contrast(theme["textColor"], paper) >= 7.0  # WCAG 2.2, 1.4.6
        assert contrast(blended(theme["textColor"], paper), paper) >= 4.5  # captions; 1.4.3
        assert contrast(theme["linkColor"], paper) >= 4.5
        for colour in theme["chartCategoricalColors"]:
            assert look == "light" or contrast(colour, paper) >= 3.0  # 1.4.11; light ones are tested above as drawn
    assert contrast("#ffffff", theme["primaryColor"]) >= 4.5  # the label of a filled button


def blended(colour: str, paper: str, share: float = 0.6) -> str:
    """What the eye gets of a colour that lets the paper through; 0.6 is what the framework gives its captions."""
    channels = [share * int(colour[i : i + 2], 16) + (1.0 - share) * int(paper[i : i + 2], 16) for i in (1, 3, 5)]
    return "#" + "".join(f"{round(channel):02x}" for channel in channels)
