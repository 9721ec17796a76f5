"""The year of charging as JSON and as text. Data invented."""

from __future__ import annotations

import json
import math

import pytest

from planner.explain.answer import fit_json
from planner.explain.answer_text import fit_text
from planner.explain.layout import COLUMNS
from planner.explain.winter_answer import answer_winter, winter_json, winter_text
from planner.explain.winter_care_text import _storage
from planner.outing.reader import read_outing
from planner.record.reader import read_record
from planner.verdict.assess import assess
from planner.verdict.winter_care import Storage
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


def fit_in(folder, more, battery="unit_one"):
    climate = folder / "climate.toml"
    shipped = (PROFILES / "climates" / "cold-lake.toml").read_text(encoding="utf-8")
    climate.write_text(shipped + more, encoding="utf-8")
    record = read_record(PROFILES / "batteries" / f"{battery}.toml")
    outing = read_outing(PROFILES / "outings" / "ice_shelter.toml")
    found = assess(record, outing, read_climate(climate), draws=8)
    return found, " ".join(fit_text(found).split())


def test_a_fit_tells_how_long_it_may_stand_and_when_it_may_charge_where_the_climate_asks(tmp_path):
    standing = '[standing]\nfrom_charge = "70 %"\nto_charge = "20 %"\nparasite = "30 mA"\n'
    room = '[indoors]\nair = "18 degC"\nhumidity = "55 %"\n'
    found, text = fit_in(tmp_path, standing + room)
    # Hand calculation: half the charge over what sleep, parasite and fading take a day.
    record, charge_ah = found.record, found.fitted.charge_c / 3600.0
    monthly = record.self_discharge_per_month
    assert monthly is not None and record.sleep_current_a is not None
    a_day_ah = (record.sleep_current_a + 0.030) * 24.0 + monthly / 30.0 * charge_ah
    days = int(0.5 * charge_ah / a_day_ah)
    assert f"It may be left alone for {days} days" in text
    assert "to go from 70 to 20 of 100 parts of its charge" in text
    assert "What stays connected takes 30 mA" in text
    assert (
        "into air of 18 °C and 55 % humidity" in text and "before charging it. Then it is warm enough" in text
    )
    assert forbidden_in(text) == []


def test_a_fit_whose_climate_asks_neither_tells_neither(tmp_path):
    _, text = fit_in(tmp_path, "")
    assert "left alone" not in text
    assert "humidity" not in text


@pytest.mark.parametrize(
    ("sleep_a", "days", "told"),
    [
        (0.01, 80.5, "It may be left alone for 80 days, 2 months, to go from 60 to 10 of 100 parts of its charge."),
        (None, 80.5, "It may be left alone for at most 80 days, 2 months, to go"),  # what was not measured takes more
        (None, math.inf, "Nothing that is known of it takes it from 60 to 10"),
    ],
)
def test_days_are_at_most_so_many_where_the_batterys_own_sleep_current_was_not_measured(sleep_a, days, told):
    standing = Storage(days, 0.6, 0.1, sleep_a, 0.0, 0.03, True, 100.0)
    assert _storage(standing).startswith(told)
