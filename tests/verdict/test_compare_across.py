"""Several batteries on several outings: each cell is the single answer; what is beaten is beaten on all. Invented."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest

from planner.cli import main
from planner.explain.across_answer import across_figure, across_json, across_table, across_text
from planner.verdict.assess import assess
from planner.verdict.check import GOOD
from planner.verdict.compare_across import compare_across
from tests.verdict.invented_bench import HALF_SIZE, STURDY, read_need, read_unit
from tests.verdict.test_next_test import steady

DRAWS = 60


@pytest.fixture(scope="module")
def matrix(tmp_path_factory):
    folder = tmp_path_factory.mktemp("across")
    sturdy = replace(read_unit(folder, STURDY), price=200.0, currency="USD")
    half = replace(read_unit(folder, HALF_SIZE, "half.toml"), price=150.0, currency="USD")
    dearer = replace(sturdy, name="The same, dearer (invented)", price=300.0)
    long, short = (read_need(folder, steady("10 A", span)) for span in ("6 h", "2 h"))
    return compare_across(
        [half, dearer, sturdy], [long, replace(short, name="Short (invented)")], draws=DRAWS
    )


def test_each_cell_is_the_single_answer(matrix):
    for one in matrix.batteries:
        for found, choice in zip(matrix.comparisons, one.choices, strict=True):
            alone = assess(choice.answer.record, found.outing, draws=DRAWS)
            assert choice.answer.runtime == alone.runtime
            assert choice.answer.verdict == alone.verdict


def test_the_battery_that_fits_most_outings_comes_first(matrix):
    fitted = [one.good for one in matrix.batteries]
    assert fitted == sorted(fitted, reverse=True)
    assert fitted[0] > fitted[-1]  # the half-size unit gives 5 h at most
    assert matrix.best is matrix.batteries[0]
    assert {choice.answer.verdict for choice in matrix.best.choices} <= set(GOOD)


def test_a_battery_is_beaten_only_by_one_that_is_nowhere_worse_on_any_outing(matrix):
    beaten = {one.name: one.dominated_by for one in matrix.batteries}
    assert beaten["The same, dearer (invented)"] == ("Sturdy unit (invented)",)
    assert beaten["Sturdy unit (invented)"] == ()
    assert beaten["Half-size unit (invented)"] == ()  # it is cheaper


def test_object_table_text_and_picture_tell_the_same(matrix):
    told, table = across_json(matrix), across_table(matrix)
    assert [one["worst_verdict"] for one in told["batteries"]] == [one.worst for one in matrix.batteries]
    flat = [row for one in told["batteries"] for row in one["each"]]
    assert list(table["Verdict"]) == [row["verdict"] for row in flat]
    assert list(table["At least, in nine of ten (h)"]) == [math.floor(10.0 * row["p10_h"]) / 10.0 for row in flat]
    assert "the highest current held" in set(table["Decided by"]) or "how long it lasts" in set(table["Decided by"])
    text = across_text(matrix)
    assert text.startswith("BEST for all 2 outings: Sturdy unit (invented)")
    assert "The same, dearer (invented): on no outing better" in " ".join(text.split())
    assert max(map(len, text.splitlines())) <= 80
    figure = across_figure(matrix)
    assert figure.chart.to_dict()["datasets"]["cells"][0]["verdict"] == flat[0]["verdict"]


def test_the_command_takes_further_outings_and_refuses_one_that_is_not_there(capsys):
    words = ["compare", "anchor_winch", "unit_one", "--also", "kayak_evening", "--draws", "20"]
    assert main([*words, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["across"]["outings"][0]["rows"] == told["rows"]
    assert [row["verdict"] for row in told["across"]["batteries"][0]["each"]] == ["fits", "fits"]
    assert main([*words[:4], "no_such_outing"]) == 2
    assert "no_such_outing" in capsys.readouterr().err
