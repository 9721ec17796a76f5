"""A price is told with its currency: that of the record, else what --currency says, else that it is not stated."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.battery.fit import fit_record
from planner.cli import REFUSED, main
from planner.record.reader import read_record
from planner.screens.bench_view import audit_view
from planner.screens.reading import Inputs
from planner.verdict.bench import bench_of
from tests.verdict.invented_bench import HALF_SIZE

WITH_ENERGY = HALF_SIZE.replace('charge = "51.7 Ah"', 'charge = "51.7 Ah"\nenergy = "670 Wh"', 1)
EUROS = WITH_ENERGY.replace("format = 1", 'format = 1\nprice = 149\ncurrency = "EUR"', 1)
UNSTATED = WITH_ENERGY.replace("format = 1", "format = 1\nprice = 139", 1).replace('name = "', 'name = "Second ', 1)
NEED = """
format = 1
name = "Hour of lights (invented)"
duration = "1 h"
ambient = "20 degC"
[[load]]
name = "lights"
kind = "current"
current = "5 A"
use = [{ start = "0 s", length = "1 h" }]
"""


@pytest.fixture
def files(tmp_path, monkeypatch):
    monkeypatch.setenv("PLANNER_LIBRARY", str(tmp_path / "library"))
    for name, text in (("euros", EUROS), ("unstated", UNSTATED), ("need", NEED)):
        (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
    return {name: str(tmp_path / f"{name}.toml") for name in ("euros", "unstated", "need")}


def test_the_audit_tells_the_currency_or_that_there_is_none(files, capsys):
    def told(*words: str) -> str:
        assert main(["audit", *words]) == 0
        return " ".join(capsys.readouterr().out.split())

    assert "EUR per measured Wh" in told(files["euros"], "--currency", "CHF")
    assert "CHF per measured Wh" in told(files["unstated"], "--currency", "CHF")
    bare = told(files["unstated"])
    assert "the record states no currency" in bare and " per measured Wh" in bare


def test_the_comparison_tells_each_currency_and_does_not_order_what_it_cannot(files, capsys):
    words = ["compare", files["need"], files["euros"], files["unstated"], "--draws", "8", "--pairs"]
    assert main(words) == 0
    out = capsys.readouterr().out
    assert "more than one currency" not in out
    assert "A record that states no currency stands beside one in EUR" in " ".join(out.split())
    assert out.count(" EUR\n") == 3  # its row alone, and alone and as a pair
    assert main([*words, "--currency", "CHF"]) == 0
    out = capsys.readouterr().out
    assert (out.count(" EUR\n"), out.count(" CHF\n")) == (3, 3)
    assert max(map(len, out.splitlines())) <= 80


def test_a_currency_that_is_none_is_refused(files, capsys):
    with pytest.raises(SystemExit) as caught:
        main(["audit", files["euros"], "--currency", "1 EUR"])
    assert caught.value.code == REFUSED
    assert "accepted: 1 to 8 letters" in capsys.readouterr().err


def test_the_page_tells_the_currency_as_the_command_does(files, capsys):
    record = read_record(Path(files["unstated"]))
    inputs = Inputs((record,), (bench_of(record, fit_record(record)),), None, None, str)
    assert main(["audit", files["unstated"], "--currency", "CHF"]) == 0
    assert audit_view(inputs, "CHF").text == capsys.readouterr().out
