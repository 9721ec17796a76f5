"""The commands `fleet` and `follow-up` as a user runs them."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from planner.cli import main
from planner.outing.reader import read_outing
from planner.record.reader import read_record
from planner.verdict.assess import assess

HOME = Path(__file__).parents[2] / "profiles"
UNIT = HOME / "batteries" / "unit_one.toml"
NEED = """
format = 1
name = "Hour of trolling (invented)"
duration = "1 h"
ambient = "20 degC"
questions = ["energy", "peak_current"]
[[load]]
name = "motor"
kind = "current"
current = "20 A"
use = [{ start = "0 s", length = "1 h" }]
"""
BUYERS = """buyer,outing,load.1.current (A),duration (h)
Buyer one,need.toml,,
Buyer two,need.toml,30,2
Buyer three,need.toml,100,3
Buyer four,need.toml,-5,
"""


@pytest.fixture
def buyers(tmp_path):
    (tmp_path / "need.toml").write_text(NEED, encoding="utf-8")
    path = tmp_path / "buyers.csv"
    path.write_text(BUYERS, encoding="utf-8")
    return path


def test_every_buyer_has_the_answer_of_a_single_fit_and_the_refused_one_its_reason(buyers, tmp_path, capsys):
    out = tmp_path / "out.csv"
    assert main(["fleet", str(UNIT), str(buyers), "--draws", "60", "--json", "-o", str(out)]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert (answer["buyers"], answer["refused"], sum(answer["verdicts"].values())) == (4, 1, 3)
    second = tmp_path / "second.toml"
    text = NEED.replace('current = "20 A"', 'current = "30 A"').replace(
        'duration = "1 h"', 'duration = "2 h"'
    )
    second.write_text(text, encoding="utf-8")
    single = assess(read_record(UNIT), read_outing(second), draws=60)
    row = answer["rows"][1]
    assert row["verdict"] == single.verdict
    assert row["p10_h"] == pytest.approx(single.runtime.p10_s / 3600.0, rel=1e-12)
    assert "load.1.current is -5 A" in answer["rows"][3]["refused"]
    assert answer["rows"][2]["verdict"] not in ("fits", "fits with limits") and answer["rows"][2]["why"]
    good = sum(row["verdict"] in ("fits", "fits with limits") for row in answer["rows"])
    assert answer["fit"] == good > 0
    with out.open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert [row["buyer"] for row in rows] == ["Buyer one", "Buyer two", "Buyer three", "Buyer four"]


def test_a_folder_of_outings_is_read_whole_and_the_text_says_how_many_fit(buyers, tmp_path, capsys):
    (tmp_path / "hard.toml").write_text(NEED.replace('"20 A"', '"150 A"'), encoding="utf-8")
    assert main(["fleet", str(UNIT), str(tmp_path), "--draws", "40"]) == 0
    said = capsys.readouterr().out
    assert "of 2 buyers" in said and "hard (Hour of trolling (invented))" in said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("buyer,file\na,b\n", "a column outing"),
        ("outing\nneed.toml\n,\n\nmissing.toml\n", "missing.toml"),
        ("outing,load.1.curent (A)\nneed.toml,5\n", "Did you mean load.1.current?"),
        ("buyer,outing\na,\n", "row 2"),
    ],
)
def test_a_buyers_file_that_cannot_be_read_is_refused(buyers, capsys, text, said):
    buyers.write_text(text, encoding="utf-8")
    assert main(["fleet", str(UNIT), str(buyers)]) == 2
    refused = capsys.readouterr().err
    assert said in refused and "Traceback" not in refused


def test_a_follow_up_is_told_in_words_and_as_json_and_the_record_is_left_alone(buyers, tmp_path, capsys):
    log = tmp_path / "afloat.csv"
    rows = [f"{60 * k},20,13.0\n" for k in range(61)]
    log.write_text("Time (s),Current (A),Voltage (V)\n" + "".join(rows), encoding="utf-8")
    before = {path: path.read_bytes() for path in (UNIT, tmp_path / "need.toml", log)}
    words = ["follow-up", str(UNIT), str(tmp_path / "need.toml"), str(log), "--draws", "60"]
    assert main(words) == 0
    said = capsys.readouterr().out
    assert "Nothing in the log contradicts the prediction." in said
    assert all(len(line) <= 110 for line in said.splitlines())
    assert main([*words, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["charge_Ah"]["found"] == pytest.approx(20.0, rel=1e-9)  # by hand: 20 A for 1 h
    assert answer["charge_Ah"]["place"] == "inside" and answer["wrong_input"] is None
    assert {path: path.read_bytes() for path in before} == before


def test_a_table_that_cannot_be_written_is_told_before_anybody_is_answered(buyers, tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("planner.verdict.fleet.serve", None)
    for name, said in (("gone/x.csv", "in a folder that is not there"), ("x.txt", "accepted: .csv")):
        assert main(["fleet", str(UNIT), str(buyers), "-o", str(tmp_path / name)]) == 2
        assert said in " ".join(capsys.readouterr().err.split())
