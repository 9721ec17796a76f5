"""The year of charging as JSON and as text. Data invented."""

from __future__ import annotations

import json

import pytest

from planner.explain.answer import fit_json
from planner.explain.layout import COLUMNS
from planner.explain.winter_answer import answer_winter, winter_json, winter_text
from planner.record.reader import read_record
from planner.winter.reader import read_climate
from tests.explain.demo import BATTERIES, CLIMATES, PROFILES, assessed
from tests.explain.wording import forbidden_in

KEYS = {"verdict", "checks", "hours_offered", "hours_blocked", "charge_lost_Ah", "exposed_hours", "coldest_cell_degC",
        "days_dark", "months", "charge_missed_Ah", "unserved_Ah", "hours_hot", "warnings"}  # fmt: skip


def answer(battery, climate):
    record = read_record(PROFILES / "batteries" / f"{battery}.toml")
    return answer_winter(record, read_climate(PROFILES / "climates" / f"{climate}.toml"), 3, 1)


@pytest.mark.parametrize("climate", CLIMATES)
@pytest.mark.parametrize("battery", BATTERIES)
def test_the_year_keeps_keys_wording_and_width(battery, climate):
    found = answer(battery, climate)
    section, text = winter_json(found), winter_text(found)
    json.dumps(section, allow_nan=False)
    assert set(section) >= KEYS
    assert [check["id"] for check in section["checks"]] == ["winter_charging"]
    assert section["checks"][0]["verdict"] == section["verdict"]
    assert len(section["months"]) == 12
    for name in ("hours_blocked", "charge_lost_Ah", "exposed_hours", "days_dark"):
        assert section[name]["low"] <= section[name]["high"]
    assert text.startswith(section["verdict"].upper())
    assert max(len(line) for line in text.splitlines()) <= COLUMNS
    assert forbidden_in(text) == []


def test_the_year_of_a_fit_is_the_year_of_winter_where_the_climate_names_the_use():
    alone = winter_json(answer("unit_one", "cold-lake"))
    inside = fit_json(assessed("unit_one", "kayak_evening", "cold-lake"))["winter"]
    for key in ("verdict", "hours_offered", "hours_blocked", "coldest_cell_degC", "days_dark"):
        assert inside[key] == alone[key]
