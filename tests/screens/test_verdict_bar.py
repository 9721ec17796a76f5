"""The verdict on every page, what the last change did to it, what is missing, and the units it is told in."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from planner.library.store import Library
from planner.screens.unit_choice import SWITCH

# degrees Celsius, kilograms, kilometres, metres and areas, as numbers or in a head; no W/m², no "m" of a word
METRIC = re.compile(r"[-−]?\d[\d.,]*\s?(?:°C|degC|mm²|kg|km/h|km|m)\b(?![/²])|\((?:°C|kg|km|m)\)")
ROOT = Path(__file__).resolve().parent.parent.parent
PAGES = ("fit_page", "enter_page", "winter_page", "wiring_page", "compare_page", "bench_page", "many_page",
         "after_page", "library_page")  # fmt: skip


@pytest.mark.parametrize("name", PAGES)
def test_the_verdict_stands_on_top_of_every_page(open_page: Callable[..., AppTest], name: str) -> None:
    page = open_page(name)
    assert page.markdown[0].value.startswith("**:blue[◧] Fits with limits** · Demo unit three")
    assert "at least 8 h 35 min" in page.markdown[0].value


def test_a_change_is_told_with_runtime_and_what_now_decides(open_page: Callable[..., AppTest]) -> None:
    page = open_page("fit_page")
    assert not [each for each in page.caption if each.value.startswith("Since the last change")]
    page.selectbox(key="battery_chosen").set_value("unit_four").run()
    (told,) = [each.value for each in page.caption if each.value.startswith("Since the last change")]
    assert "Runtime 8 h 35 min →" in told and "now does not fit" in told
    page.run()
    assert told in [each.value for each in page.caption]  # as long as this answer stands


def test_a_worse_answer_to_what_the_outing_does_not_ask_stands_beside_the_verdict(
    open_page: Callable[..., AppTest],
) -> None:
    page = open_page("fit_page", battery_chosen="unit_one", climate_chosen="cold-lake")
    bar, beside = (each.value for each in page.markdown[:2])
    assert "Fits** · Demo unit one" in bar
    assert (
        beside == "**Charging it there all year**: :red[☒] does not fit. Another question: this outing does not ask it, "
        "so it is not in the verdict above."
    )
    asking = open_page("fit_page", battery_chosen="unit_one", outing_chosen="ice_shelter", climate_chosen="cold-lake")
    assert not [each for each in asking.markdown if "Another question" in each.value]


def test_each_gap_names_what_it_blocks_and_leads_to_where_it_is_entered(
    open_page: Callable[..., AppTest],
) -> None:
    page = open_page("fit_page", battery_chosen="unit_two", outing_chosen="anchor_winch")
    (missing,) = [each for each in page.expander if each.label.startswith("Missing for a full answer")]
    shown = "\n".join(each.value for each in missing.markdown)
    assert "Highest current held: not proven" in shown
    assert "Charging in the cold: not answered" in shown
    links = [each.proto for each in missing.get("page_link")]
    assert {link.label for link in links} >= {"Enter it: currents held", "Enter it: the climate"}
    assert any(
        "at=current_test" in link.query_string and "kind=battery" in link.query_string for link in links
    )


def test_the_units_change_what_is_shown_and_nothing_underneath(open_page: Callable[..., AppTest]) -> None:
    page = open_page("fit_page")
    before = "\n".join(each.value for each in page.markdown)
    assert "75 °C" in before
    digest = page.session_state["answers"][0]
    page.session_state[SWITCH] = True
    page.run()
    page.button(key="units_us").click().run()
    after = "\n".join(each.value for each in page.markdown)
    assert "167 °F" in after and "°C" not in after
    assert page.session_state["answers"][0] == digest
    assert page.query_params["units"] == "11112"


def test_units_in_an_address_are_foreign_text(open_page: Callable[..., AppTest]) -> None:
    for address in ("99999", "1111", "11112<b>", "x" * 2000, "११११२"):
        page = AppTest.from_file(str(ROOT / "app.py"), default_timeout=60)
        page.query_params["units"] = address
        page.query_params["battery"] = "../../etc"
        page.query_params["outing"] = "draft-" + "0" * 32
        page.run()
        assert not page.exception
        assert "°F" not in "\n".join(each.value for each in page.markdown)
        assert "Demo unit three" in page.markdown[0].value


@pytest.mark.parametrize(
    ("kind", "key", "instead"),
    [
        ("battery", "no_such_unit", "a demo battery is shown"),
        ("outing", "draft-" + "0" * 32, "a demo outing is shown"),
        ("climate", "no_such_place", "charging in the cold is left out"),
    ],
)
def test_a_choice_that_is_not_there_gives_way_and_is_told_once(kind: str, key: str, instead: str) -> None:
    page = AppTest.from_file(str(ROOT / "app.py"), default_timeout=60)
    page.query_params[kind] = key
    page.run()
    assert not page.exception
    (told,) = page.warning
    assert instead in told.value and f"The {kind} asked for" in told.value
    assert kind not in page.query_params
    page.run()
    assert not page.warning


@pytest.mark.parametrize("name", PAGES)
def test_no_metric_unit_is_left_on_any_page_in_the_units_of_the_country(
    open_page: Callable[..., AppTest], name: str
) -> None:
    page = open_page(name)
    for kind, key in (("battery", "unit_one"), ("outing", "inverter_kitchen"), ("climate", "mild-coast")):
        page.session_state[f"{kind}_in_use"] = key
    page.session_state[SWITCH] = True
    page.run()
    page.button(key="units_us").click().run()
    assert not page.exception
    words = [each.value for each in (*page.markdown, *page.caption, *page.header, *page.title, *page.code)]
    tables = [frame.value.to_csv() for frame in page.dataframe]
    charts = [re.sub(r'"(?:field|name)": "[^"]*"', "", each.proto.spec) for each in page.get("vega_lite_chart")]
    # a file's own text and a log's own headings keep their units, and beside a typed gauge stands its area
    shown = "\n".join(one for one in (*words, *tables, *charts) if not one.startswith(("= ", "# from ")))
    shown = shown.replace("\\u00b0", "°").replace("\\u00a0", " ").replace("\u00a0", " ")
    shown = shown.replace("temperature: Temperature (°C)", "")
    assert METRIC.findall(shown) == []


def test_what_is_to_mend_is_told_of_a_profile_by_its_name(open_page: Callable[..., AppTest], own_folder: Path) -> None:
    """Of a name in another script its file has no letter."""
    Library(own_folder).save("outings", "Лебёдка", 'format = 1\nname = "Лебёдка"\nduration = "1 h"\n', None)
    page = open_page("fit_page")
    page.selectbox(key="outing_chosen").select("Лебёдка").run()
    assert not page.exception
    told = page.markdown[0].value.replace("\\", "")
    assert "to mend in Лебёдка (profile-" in told
