"""The page after an outing has the numbers of the command `follow-up`. Demo data, invented."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from planner.cli import main
from planner.screens.after_view import after_view
from planner.screens.given import Given, Upload
from planner.screens.log_says import COLUMNS, LogSays, on_the_page
from planner.screens.plain_text import plain
from planner.screens.reading import Choices, Refused, worked

PROFILES = Path(__file__).resolve().parent.parent.parent / "profiles"
LOG = PROFILES / "logs" / "outing_reservoir_invented.csv"
CHOICES = Choices(
    (Given(PROFILES / "batteries" / "unit_one.toml"),), Given(PROFILES / "outings" / "recorded_morning.toml")
)


def test_the_page_tells_what_the_command_tells(open_page: Callable[..., AppTest], capsys) -> None:
    page = open_page("after_page", battery_chosen="unit_one", outing_chosen="recorded_morning")
    page.selectbox(key="after_log").set_value(LOG.name).run()
    assert not page.exception
    assert main(["follow-up", "unit_one", "recorded_morning", str(LOG), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    table = page.dataframe[0].value
    assert table["Found"][0] == round(told["runtime_h"]["found"], 2)
    assert table["Predicted from"][1] == round(told["charge_Ah"]["p10"], 2)
    assert plain(told["findings"][0]) in "\n".join(block.value for block in page.markdown)


def test_an_upload_is_read_by_its_own_name_and_one_that_is_no_log_is_refused_by_it() -> None:
    found = worked(CHOICES, lambda inputs: after_view(inputs, Upload("mine.csv", LOG.read_bytes()), LogSays()))
    by_path = worked(CHOICES, lambda inputs: after_view(inputs, LOG, LogSays()))
    assert json.loads(found.json_text)["charge_Ah"] == json.loads(by_path.json_text)["charge_Ah"]
    refused = worked(CHOICES, lambda inputs: after_view(inputs, Upload("mine.csv", b"no log\n1\n"), LogSays()))
    assert isinstance(refused, Refused)
    assert refused.problems[0].file == "mine.csv"


def test_a_log_with_two_currents_is_told_on_the_page_which_one_is_meant() -> None:
    rows = "".join(f"{60 * k},20,21,13.0\n" for k in range(61))
    log = Upload("mine.csv", f"Time (s),One (A),Two (A),Voltage (V)\n{rows}".encode())
    refused = worked(CHOICES, lambda inputs: after_view(inputs, log, LogSays()))
    assert isinstance(refused, Refused)
    assert refused.problems[0].fix.startswith("Say which one: current = ")
    said = LogSays(columns=(("current", "One (A)"),))
    found = worked(CHOICES, lambda inputs: after_view(inputs, log, said))
    assert json.loads(found.json_text)["charge_Ah"]["found"] == pytest.approx(20.0)  # by hand: 20 A for 1 h


def test_the_page_asks_what_a_log_may_leave_open(open_page: Callable[..., AppTest]) -> None:
    page = open_page("after_page", battery_chosen="unit_one", outing_chosen="recorded_morning")
    page.selectbox(key="after_log").set_value(LOG.name).run()
    page.text_input(key="log_column_current").set_value("No such heading").run()
    assert not page.exception
    assert any("Spell the heading" in block.value for block in page.markdown)


def test_a_refusal_names_the_place_on_the_page_where_it_is_answered(open_page: Callable[..., AppTest]) -> None:
    rows = "".join(f"0{6 + k // 60}:{k % 60:02d}:00;-20,5;13,01\n" for k in range(61))
    log = Upload("mine.csv", f"Uhrzeit;Current (A);Voltage (V)\n{rows}".encode())

    def fixes(says: LogSays) -> str:
        found = worked(CHOICES, lambda inputs: after_view(inputs, log, says))
        assert isinstance(found, Refused)
        return " ".join(problem.fix for problem in on_the_page(found.problems))

    assert f"under “{COLUMNS}”" in fixes(LogSays())
    told = LogSays(columns=(("time", "Uhrzeit"),))
    assert fixes(told).startswith("Tick “Numbers have a decimal comma” if")
    told = LogSays(True, columns=told.columns)
    assert fixes(told).startswith('Choose under “Discharge is written”: "negative" if')
    found = worked(CHOICES, lambda inputs: after_view(inputs, log, replace(told, discharge="negative")))
    assert json.loads(found.json_text)["charge_Ah"]["found"] == pytest.approx(20.5)  # by hand: 20.5 A for 1 h
    page = open_page("after_page")
    labels = [each.label for each in page.selectbox] + [each.label for each in page.checkbox] + [
        each.label for each in page.expander
    ]
    assert {COLUMNS, "Discharge is written", "Dates are written", "Numbers have a decimal comma"} <= set(labels)
