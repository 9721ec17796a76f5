"""Tests found in a log, accepted into a record: the tables, the record's text, the library."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from streamlit.testing.v1 import AppTest

from planner.library.accept import new_record, save_with_tests, with_tests
from planner.library.store import Library, SavedMeanwhile
from planner.record.log_summary import summarise_log
from planner.record.log_toml import FoundTest, Line, found_tests
from planner.record.reader import read_record
from planner.screens.bench_accept import editing_table, rows_of
from planner.screens.state import OWN

PROFILES = Path(__file__).resolve().parent.parent.parent / "profiles"
LOG = "bench_unit_one_invented.csv"
STEP = FoundTest(
    "step_test",
    (
        Line("from_current", "20 A"),
        Line("to_current", "100 A"),
        Line("from_voltage", "13.016 V"),
        Line("to_voltage", "12.735 V"),
        Line("after", "10 s"),
        Line("state_of_charge", "50 %", "a guess", asked=True),
    ),
    "at 5 s of the log",
)
CURVE = FoundTest("capacity_test", (Line("charge", "103 Ah"), Line("curve", [["0 Ah", "13.3 V"], ["103 Ah", "10 V"]])))


@pytest.fixture(autouse=True)
def library(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Library:
    monkeypatch.setenv("PLANNER_LIBRARY", str(tmp_path / "library"))
    return Library(tmp_path / "library")


def test_a_cell_that_only_the_tester_knows_is_empty_and_stays_out_until_it_is_filled() -> None:
    table = editing_table([STEP])
    assert table.loc[0, "state_of_charge"] == ""
    assert table.loc[0, "from_voltage"] == "13.016 V"
    ((kind, values),) = rows_of("step_test", [STEP], table, {}, suggested=False)
    assert kind == "step_test" and "state_of_charge" not in values
    table.loc[0, "state_of_charge"] = " 55 % "
    ((_, values),) = rows_of("step_test", [STEP], table, {"instrument": "load"}, suggested=True)
    assert values["state_of_charge"] == "55 %"  # what was typed goes before what is suggested
    assert values["instrument"] == "load"


def test_suggestions_are_taken_when_asked_for_and_for_rows_of_the_log_alone() -> None:
    table = pd.concat([editing_table([STEP]), pd.DataFrame({"from_current": ["1 A"]}, index=[1])])
    rows = rows_of("step_test", [STEP], table, {}, suggested=True)
    assert rows[0][1]["state_of_charge"] == "50 %"
    assert rows[1][1] == {"from_current": "1 A"}


def test_a_deleted_row_is_not_accepted_and_the_others_keep_their_points() -> None:
    other = FoundTest("capacity_test", (Line("charge", "99 Ah"), Line("curve", [["0 Ah", "13.2 V"]])))
    table = editing_table([other, CURVE]).drop(index=0)
    ((_, values),) = rows_of("capacity_test", [other, CURVE], table, {}, suggested=False)
    assert values["charge"] == "103 Ah"
    assert values["curve"][-1] == ["103 Ah", "10 V"]


def test_what_a_demo_log_holds_becomes_a_record_that_can_be_read(tmp_path: Path) -> None:
    summary = summarise_log(PROFILES / "logs" / LOG)
    tests = list(found_tests(summary))
    rows = [
        row for kind in dict.fromkeys(test.kind for test in tests)
        for row in rows_of(kind, [t for t in tests if t.kind == kind],
                           editing_table([t for t in tests if t.kind == kind]), {}, suggested=True)
    ]  # fmt: skip
    path = tmp_path / "made.toml"
    path.write_text(with_tests(new_record("Made (invented)"), rows), encoding="utf-8")
    record = read_record(path)
    assert record.capacity_tests[0].charge_c == pytest.approx(summary.discharge.charge_c, rel=1e-6)
    assert len(record.step_tests) == 4
    # the step at 5,410 s came after 30.06 Ah of 101.9 Ah: 70.5 % left, by hand
    assert record.step_tests[0].at.state_of_charge == pytest.approx(0.705, abs=0.006)


def test_saving_makes_a_version_and_refuses_to_hide_one_that_came_between(library: Library) -> None:
    rows = rows_of("step_test", [STEP], editing_table([STEP]), {}, suggested=True)
    save_with_tests(library, rows, "My unit (invented)")
    key = library.find("batteries", "My unit (invented)").key
    text, version = library.load("batteries", key)
    save_with_tests(library, rows, "My unit (invented)", key, version)
    assert len(tomllib.loads(library.load("batteries", key)[0])["step_test"]) == 2
    assert len(library.versions("batteries", key)) == 2
    assert library.load_version("batteries", key, 1) == text  # undo: the version before is still there
    with pytest.raises(SavedMeanwhile):
        save_with_tests(library, rows, "My unit (invented)", key, version)


def test_a_demo_record_is_copied_and_stays_as_it_is(library: Library) -> None:
    before = library.load("batteries", "unit_one")[0]
    rows = rows_of("step_test", [STEP], editing_table([STEP]), {}, suggested=True)
    save_with_tests(library, rows, "Unit one and a step (invented)", "unit_one")
    assert library.load("batteries", "unit_one")[0] == before
    text = library.load("batteries", "Unit one and a step (invented)")[0]
    assert len(tomllib.loads(text)["step_test"]) == len(tomllib.loads(before)["step_test"]) + 1


def test_the_page_accepts_shows_and_saves(open_page: Callable[..., AppTest], library: Library) -> None:
    page = open_page("bench_page", battery_chosen="unit_one", log_chosen=LOG)
    page.text_input(key="accept_name").set_value("Pressed in (invented)").run()
    page.checkbox(key="accept_suggested").check().run()
    page.button(key="accept_now").click().run()
    assert not page.exception
    shown = next(block.value for block in page.code if block.value.startswith("format = 1"))
    assert len(tomllib.loads(shown)["step_test"]) == 4
    assert not (library.folder / "batteries").exists()  # nothing is saved before it is asked for
    page.button(key="accept_save").click().run()
    assert not page.exception
    assert library.load("batteries", "Pressed in (invented)")[0].strip() == shown.strip()
    assert any("version 1" in block.value for block in page.success)


def test_what_the_record_cannot_take_is_told_and_cannot_be_saved(open_page: Callable[..., AppTest]) -> None:
    page = open_page("bench_page", battery_chosen="unit_one", log_chosen=OWN)
    # a hold that stops at no round time, the voltage back: the log cannot say what ended it
    rows = "".join(f"{t},{13.2 - 0.004 * amps},{amps}\n" for t in range(60) for amps in [180 if 5 <= t < 16 else 0])
    data = ("Time (s),Voltage (V),Current (A)\n" + rows).encode()
    page.get("file_uploader")[0].set_value(("hold.csv", data, "text/csv"))
    page.run()
    page.text_input(key="accept_name").set_value("Pressed in (invented)").run()
    page.button(key="accept_now").click().run()
    assert not page.exception
    assert any("cannot take them yet" in block.value for block in page.markdown)
    assert any("ended" in block.value for block in page.markdown)
    assert "accept_save" not in [button.key for button in page.button]
    page.checkbox(key="accept_suggested").check().run()
    page.button(key="accept_now").click().run()
    assert "accept_save" in [button.key for button in page.button]
