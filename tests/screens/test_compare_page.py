"""The page of several batteries shows the numbers of `compare`, and the next tests of their command."""

import math
from collections.abc import Callable
from pathlib import Path

from streamlit.testing.v1 import AppTest

from planner.explain.across_answer import across_json
from planner.explain.bank_or_bigger_answer import ways_json
from planner.explain.compare_answer import compare_json
from planner.explain.limits_answer import NAMES, limit_shown, limits_json
from planner.explain.next_test_answer import next_test_json
from planner.explain.shown_units import AS_MADE, in_units
from planner.library.edit import set_value
from planner.library.store import Library
from planner.outing.reader import read_outing
from planner.record.reader import read_record
from planner.screens.plain_text import plain
from planner.verdict.bank_or_bigger import bank_or_bigger
from planner.verdict.compare import compare
from planner.verdict.compare_across import compare_across
from planner.verdict.limits import find_limits
from planner.verdict.next_test import next_tests

PROFILES = Path(__file__).resolve().parent.parent.parent / "profiles"


def record(name: str):
    return read_record(PROFILES / "batteries" / f"{name}.toml")


def test_the_table_is_that_of_the_command(
    open_page: Callable[..., AppTest],
) -> None:
    page = open_page("compare_page", battery_chosen="unit_one", outing_chosen="kayak_evening")
    page.multiselect(key="compared").set_value(["unit_two"]).run()
    assert not page.exception
    outing = read_outing(PROFILES / "outings" / "kayak_evening.toml")
    told = compare_json(compare([record("unit_one"), record("unit_two")], outing))
    table = page.dataframe[0].value
    assert list(table["Battery"]) == [row["battery"] for row in told["rows"]]
    assert list(table["Verdict"]) == [row["verdict"] for row in told["rows"]]
    # the table shows tenths of an hour: more than that no test of a battery knows
    assert list(table["Middle (h)"]) == [round(row["nominal_h"], 1) for row in told["rows"]]
    assert not any("_" in text for text in table["Decided by"])  # a question's name, not its key
    assert list(table["Highest current held"]) == ["held on the bench", "held on the bench"]


def test_own_batteries_are_compared_without_the_demo_units(open_page: Callable[..., AppTest], own_folder: Path) -> None:
    text = (PROFILES / "batteries" / "unit_two.toml").read_text()
    for name in ("Blue unit", "Green unit"):
        Library(own_folder).save("batteries", name, set_value(text, "name", name), None)
    page = open_page("compare_page", battery_chosen="blue-unit", outing_chosen="kayak_evening")
    assert list(page.dataframe[0].value["Battery"]) == ["Blue unit", "Green unit"]
    for number in range(10):
        Library(own_folder).save("batteries", f"Unit {number}", set_value(text, "name", f"Unit {number}"), None)
    page = open_page("compare_page")
    assert len(page.multiselect(key="compared").value) == 8
    assert "unit_five" not in page.multiselect(key="compared").value


def test_several_outings_are_those_of_the_command(open_page: Callable[..., AppTest]) -> None:
    page = open_page("compare_page", battery_chosen="unit_one", outing_chosen="anchor_winch")
    page.multiselect(key="compared").set_value(["unit_four"])
    page.multiselect(key="outings_across").set_value(["kayak_evening"]).run()
    assert not page.exception
    outings = [
        read_outing(PROFILES / "outings" / f"{name}.toml") for name in ("anchor_winch", "kayak_evening")
    ]
    found = compare_across([record("unit_one"), record("unit_four")], outings)
    table = next(frame.value for frame in page.dataframe if "Outing" in frame.value)
    cells = [row for one in across_json(found)["batteries"] for row in one["each"]]
    assert list(table["Verdict"]) == [row["verdict"] for row in cells]
    assert list(table["At least, in nine of ten (h)"]) == [math.floor(10.0 * row["p10_h"]) / 10.0 for row in cells]
    assert any("Best for all: Demo unit one" in block.value for block in page.markdown)
    page.session_state["numbers_across"] = True  # the chart's own numbers beside the same table
    page.run()
    assert not page.exception


def test_the_next_tests_are_those_of_the_command(open_page: Callable[..., AppTest]) -> None:
    page = open_page("compare_page", battery_chosen="unit_three", outing_chosen="anchor_winch")
    page.button(key="do_next_test").click().run()
    assert not page.exception
    outing = read_outing(PROFILES / "outings" / "anchor_winch.toml")
    tests = next_test_json(next_tests(record("unit_three"), outing))["tests"]
    assert tests  # a pair that has something left to test
    shown = "\n".join(block.value for block in page.markdown)
    assert all(f"{test['bench_minutes']} minutes of bench time" in shown for test in tests)
    assert "No test would change the answer" not in shown


def test_the_limits_are_those_of_the_command(open_page: Callable[..., AppTest]) -> None:
    page = open_page("compare_page", battery_chosen="unit_three", outing_chosen="anchor_winch")
    page.button(key="do_limits").click().run()
    assert not page.exception
    outing = read_outing(PROFILES / "outings" / "anchor_winch.toml")
    told = limits_json(find_limits(record("unit_three"), outing))["limits"]
    table = next(frame.value for frame in page.dataframe if "Limit" in frame.value)
    assert list(table["Limit"]) == [NAMES[row["id"]] for row in told]
    values = ["none" if row["value"] is None else limit_shown(row["value"], row["unit"]) for row in told]
    assert [shown.split()[0] for shown in table["Value"]] == [value.split()[0] for value in values]
    shown = "\n".join(block.value for block in page.markdown)
    assert all(plain(in_units(row["reason"], AS_MADE)) in shown for row in told)


def test_the_pairs_are_those_of_the_command(open_page: Callable[..., AppTest]) -> None:
    page = open_page("compare_page", battery_chosen="unit_one", outing_chosen="trolling_day")
    page.multiselect(key="compared").set_value(["unit_two"]).run()
    page.button(key="do_pairs").click().run()
    assert not page.exception
    outing = read_outing(PROFILES / "outings" / "trolling_day.toml")
    told = ways_json(bank_or_bigger([record("unit_one"), record("unit_two")], outing))
    table = next(frame.value for frame in page.dataframe if "If one switches off" in frame.value)
    assert list(table["Verdict"]) == [row["verdict"] for row in told["rows"]]
    assert list(table["Middle (h)"]) == [round(row["nominal_h"], 1) for row in told["rows"]]
    assert all(plain(text) in "\n".join(block.value for block in page.markdown) for text in told["cautions"])
