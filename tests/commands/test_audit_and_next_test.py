"""The commands `audit` and `next-test`: JSON, text, refusals. Data invented."""

from __future__ import annotations

import json

import pytest

from planner.cli import REFUSED, main
from tests.verdict.invented_bench import HALF_SIZE, LOGGED, LOGGED_OUTING, write_log


@pytest.fixture
def files(tmp_path, monkeypatch):
    monkeypatch.setenv("PLANNER_LIBRARY", str(tmp_path / "library"))
    (tmp_path / "unit.toml").write_text(HALF_SIZE, encoding="utf-8")
    (tmp_path / "need.toml").write_text(LOGGED_OUTING, encoding="utf-8")
    write_log(tmp_path / "logged.csv", LOGGED)
    return str(tmp_path / "unit.toml"), str(tmp_path / "need.toml")


def test_audit_prints_one_object_or_a_page(files, capsys):
    assert main(["audit", files[0], "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["battery"] == "Half-size unit (invented)"
    assert [one["within"] for one in found["replay"]] == [True, True]
    assert main(["audit", files[0]]) == 0
    assert capsys.readouterr().out.startswith("AUDIT")


def test_next_test_prints_one_object_or_a_page(files, capsys):
    assert main(["next-test", *files, "--json", "--draws", "50"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["draws"] == 50
    assert "surge" in [one["id"] for one in found["tests"]]
    assert main(["next-test", *files, "--draws", "50"]) == 0
    assert "To paste into the battery's file" in capsys.readouterr().out


@pytest.mark.parametrize("words", [["audit", "no such.toml"], ["next-test", "no such.toml", "nor this.toml"]])
def test_files_that_are_not_there_are_refused_without_a_traceback(words, capsys):
    assert main(words) == REFUSED
    said = capsys.readouterr().err
    assert "no such.toml" in said
    assert "Traceback" not in said
