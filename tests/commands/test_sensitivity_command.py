"""The command `sensitivity`: JSON and text say the same. Data invented."""

from __future__ import annotations

import json

import pytest

from planner.cli import main
from tests.verdict.invented_bench import AGAINST_THE_STREAM, STURDY


@pytest.fixture
def files(tmp_path, monkeypatch):
    monkeypatch.setenv("PLANNER_LIBRARY", str(tmp_path / "library"))
    (tmp_path / "unit.toml").write_text(STURDY, encoding="utf-8")
    (tmp_path / "need.toml").write_text(AGAINST_THE_STREAM, encoding="utf-8")
    return str(tmp_path / "unit.toml"), str(tmp_path / "need.toml")


def test_sensitivity_prints_one_object_or_a_page(files, capsys):
    assert main(["sensitivity", *files, "--json", "--draws", "60"]) == 0
    found = json.loads(capsys.readouterr().out)
    swings = [one["swing_h"] for one in found["inputs"]]
    assert swings == sorted(swings, reverse=True)
    assert main(["fit", *files, "--json", "--draws", "60"]) == 0
    fit = json.loads(capsys.readouterr().out)
    assert (found["verdict"], found["draws"]) == (fit["verdict"], 60)
    first = found["inputs"][0]
    ends = sorted((first["runtime_low_h"], first["runtime_high_h"]))
    assert ends[0] < fit["runtime"]["nominal_h"] < ends[1]
    assert main(["sensitivity", *files, "--draws", "60"]) == 0
    page = " ".join(capsys.readouterr().out.split())
    assert found["sentence"] in page
    assert first["name"][1:] in page
