"""The page of charging through the year shows the numbers of the command `winter`."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from streamlit.testing.v1 import AppTest

from planner.battery.fit import fit_record
from planner.explain.winter_answer import answer_winter, winter_json
from planner.explain.winter_calendar import calendar_figure
from planner.explain.year_course import EXPOSED, worst_fortnight, year_course
from planner.record.reader import read_record
from planner.verdict.winter_check import winter_unit
from planner.winter.reader import read_climate
from planner.winter.weather_source import load_weather

ROOT = Path(__file__).resolve().parent.parent.parent


def read(battery: str, climate: str):
    return (
        read_record(ROOT / "profiles" / "batteries" / f"{battery}.toml"),
        read_climate(ROOT / "profiles" / "climates" / f"{climate}.toml"),
    )


def test_the_month_table_and_the_verdict_are_those_of_the_command(open_page: Callable[..., AppTest]) -> None:
    page = open_page("winter_page", battery_chosen="unit_one", climate_chosen="cold-lake")
    told = winter_json(answer_winter(*read("unit_one", "cold-lake"), 500, 1))
    assert page.header[0].value.lower().endswith(told["verdict"])
    page.session_state["numbers_months"] = True
    page.run()
    months = page.dataframe[0].value
    for row, month in zip(months.itertuples(index=False), told["months"], strict=True):
        assert tuple(row)[1:4] == pytest.approx(
            (month["hours_offered"], month["hours_blocked"]["low"], month["hours_blocked"]["high"])
        )
    assert len(page.get("vega_lite_chart")) == 3


def test_without_a_climate_the_page_asks_for_one(open_page: Callable[..., AppTest]) -> None:
    page = open_page("winter_page", battery_chosen="unit_one")
    assert any("under Climate" in part.value for part in page.markdown)


def test_bar_and_page_judge_the_same_year_where_the_climate_states_no_use(
    open_page: Callable[..., AppTest], own_folder: Path
) -> None:
    text = (ROOT / "profiles" / "climates" / "cold-lake.toml").read_text()
    text = text.replace('use_per_day = "18.5 Ah"\n', "").replace('name = "', 'name = "Without use: ', 1)
    (own_folder / "climates").mkdir(parents=True)
    (own_folder / "climates" / "unused.toml").write_text(text)
    climate = read_climate(own_folder / "climates" / "unused.toml")
    assert answer_winter(read("unit_one", "cold-lake")[0], climate, 0, 1).check.verdict == "fits with limits"
    page = open_page("winter_page", battery_chosen="unit_one", climate_chosen="unused")
    bar, beside = (part.value for part in page.markdown[:2])
    assert "Fits** · Demo unit one" in bar
    assert beside.startswith("**Charging it there all year**: :red[☒] does not fit. Another question")
    assert page.header[0].value == ":red[☒] Charging it there all year: does not fit"
    assert any(part.value.startswith("The climate states no use of its own: what the outing takes") for part in page.markdown)


@pytest.mark.parametrize("battery", ["unit_one", "unit_three"])
def test_the_calendar_counts_the_hours_of_the_year_once(battery: str) -> None:
    record, climate = read(battery, "cold-lake")
    answer = answer_winter(record, climate, 0, 1)
    weather = load_weather(answer.winter.climate)
    course = year_course(answer, weather, winter_unit(record, fit_record(record)).charge_min_k)
    given = answer.winter.outlook.given
    table = calendar_figure(course).table.drop(columns="Month").to_numpy()
    assert np.array_equal(table.sum(axis=1), given.offered_m[:, 0])
    # an hour that may put charge into cold cells is shown as that, so blocked can only be as often as it was counted
    assert (table[:, 2] <= given.blocked_m[0, :, 0]).all()
    assert table[:, 3].sum() == given.exposed_hours[1, 0]


def test_the_worst_fortnight_is_the_one_in_which_it_may_charge_while_too_cold() -> None:
    """February has more hours of sun in which it may be blocked; January has those that do harm, and the coldest."""
    record, climate = read("unit_five", "high-desert-trailer")
    answer = answer_winter(record, climate, 0, 1)
    weather = load_weather(answer.winter.climate)
    course = year_course(answer, weather, winter_unit(record, fit_record(record)).charge_min_k)
    first = worst_fortnight(course)
    exposed = (course.states() == EXPOSED).reshape(365, 24).sum(axis=1)
    most = max(int(exposed[day : day + 14].sum()) for day in range(352))
    assert most > 0 and int(exposed[first : first + 14].sum()) == most
    safe = replace(course, is_open=course.is_open & (course.cell_k >= course.charge_min_k))
    shut = (safe.offered & ~safe.is_open[:, 1]).reshape(365, 24).sum(axis=1)
    first = worst_fortnight(safe)
    assert int(shut[first : first + 14].sum()) == max(int(shut[day : day + 14].sum()) for day in range(352))
