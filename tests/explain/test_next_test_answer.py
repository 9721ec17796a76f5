"""The next test as JSON and as text; every reason the verdict room can give has its sentence. Invented units."""

from __future__ import annotations

import ast
import json
import tomllib
from pathlib import Path

import pytest

from planner.explain.next_test_answer import next_test_json, next_test_text
from planner.explain.next_test_answer import test_name as name_of
from planner.explain.next_test_sentences import REASONS
from planner.verdict.next_test import IDS, next_tests
from tests.verdict.invented_bench import HALF_SIZE, LOGGED, LOGGED_OUTING, read_need, read_unit, write_log

ROOM = Path(__file__).parents[2] / "planner" / "verdict"


@pytest.fixture(scope="module")
def two_kinds_of_pull(tmp_path_factory):
    folder = tmp_path_factory.mktemp("pulls")
    write_log(folder / "logged.csv", LOGGED)
    return next_tests(read_unit(folder, HALF_SIZE), read_need(folder, LOGGED_OUTING), draws=100)


def test_the_object_has_the_keys_of_the_contract(two_kinds_of_pull):
    found = json.loads(json.dumps(next_test_json(two_kinds_of_pull), allow_nan=False))
    assert {"verdict", "battery", "outing", "tests", "pointless", "warnings"} <= set(found)
    keys = {
        "id",
        "file",
        "current_A",
        "duration_s",
        "temperature_degC",
        "changes",
        "bench_minutes",
        "risk",
        "reason",
        "record",
    }
    assert found["tests"]
    for one in found["tests"]:
        assert keys <= set(one)
        assert one["risk"] in ("low", "medium", "high")
        assert one["file"] in ("battery", "outing")
    assert all(set(one) == {"id", "reason"} for one in found["pointless"])
    surge = next(one for one in found["tests"] if one["id"] == "surge")
    tables = tomllib.loads(surge["record"])["current_test"]
    assert [table["current"] for table in tables] == ["125 A", "75 A"]
    assert all(table["instrument"] == "clamp" and table["ended_by"] == "clock" for table in tables)


def test_the_text_fits_eighty_columns_and_shows_each_record_once(two_kinds_of_pull):
    text = next_test_text(two_kinds_of_pull)
    assert max(len(line) for line in text.splitlines()) <= 80
    assert text.count('current = "125 A"') == 1
    assert text.count('current = "75 A"') == 1


def test_every_test_that_can_be_proposed_has_a_name(two_kinds_of_pull):
    found = two_kinds_of_pull
    proposed = {one.id for one in (*found.tests, *found.pointless)}
    assert proposed == set(IDS)
    assert len({name_of(name) for name in proposed}) == len(IDS)


def test_nothing_dangerous_is_ever_proposed(two_kinds_of_pull):
    words = " ".join(one.lower() for one in (next_test_text(two_kinds_of_pull),))
    for never in ("short-circuit", "short circuit", "overcharge", "crush", "bypass"):
        assert never not in words


def told_codes() -> set[str]:
    """Every literal code the next-test modules put into a reason."""
    codes: set[str] = set()
    for path in ROOM.glob("next_*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name):
                continue
            place = {"Told": 0, "_pointless": 1}.get(node.func.id)
            if place is None or len(node.args) <= place:
                continue
            codes |= {part.value for part in ast.walk(node.args[place])
                      if isinstance(part, ast.Constant) and isinstance(part.value, str)}  # fmt: skip
    return codes


def test_every_reason_in_the_code_has_a_sentence():
    pieces = {"no_open_", "claimed", "winter_"}  # beginnings completed at run time, and a comparison
    assert {code for code in told_codes() if code not in REASONS} <= pieces
    assert {"no_open_surge", "no_open_hold", "winter_runs_dark", "winter_charges_below_limit"} <= set(REASONS)
