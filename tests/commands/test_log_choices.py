"""A log that leaves something open is refused with the flag to say it by, and `follow-up` takes the flags of `log`."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from planner.cli import REFUSED, main
from planner.commands.log_choices import FLAGS
from planner.screens.bench_view import log_view
from planner.screens.given import Upload
from planner.screens.log_says import LogSays
from planner.screens.reading import Refused

HOME = Path(__file__).parents[2] / "profiles"
CASE = [str(HOME / "batteries" / "unit_one.toml"), str(HOME / "outings" / "trolling_day.toml")]
OPEN = [
    ("time (s),Pack voltage,I (A)", "0,13.1,5", '--column "voltage=HEADING [UNIT]"'),
    ("time (s),V1 [V],Voltage [V],I (A)", "0,13.1,13.1,5", '--column "voltage=HEADING [UNIT]"'),
    ("time (s),Voltage [V],Shunt A (A),Shunt B (A)", "0,13.1,5,5", '--column "current=HEADING [UNIT]"'),
    ("date,Voltage [V],Current (A)", "03/04/2026 10:00:00,13.1,5", '--date-order "day first" or "month first"'),
    ("Voltage [V],Current (A)", "13.1,5", '--interval "2 s"'),
    ("time (s);Voltage [V];Current (A)", "0;13.1;1,500", "--decimal-comma"),
]


@pytest.mark.parametrize("begin", FLAGS)
def test_every_refusal_that_a_flag_belongs_to_is_still_worded_so(begin):
    rooms = [HOME.parent / "planner" / room for room in ("log_file", "record", "verdict")]
    sources = "".join(path.read_text(encoding="utf-8") for room in rooms for path in sorted(room.glob("*.py")))
    sources = sources.replace("{quantity}", "time")
    assert any(f"{quote}{begin}" in sources for quote in "\"'")


@pytest.mark.parametrize(("heads", "row", "flag"), OPEN)
def test_the_command_names_the_flag_and_the_page_does_not(heads, row, flag, tmp_path, capsys):
    text = "\n".join((heads, row, row)) + "\n"
    path = tmp_path / "run.csv"
    path.write_text(text, encoding="utf-8")
    assert main(["log", str(path)]) == REFUSED
    refused = capsys.readouterr().err
    assert "The flag for it: " in refused and flag in refused
    shown = log_view(Upload("run.csv", text.encode()), LogSays())
    assert isinstance(shown, Refused)
    assert not [problem for problem in shown.problems if "--" in str(problem) or "flag" in str(problem)]


def test_a_follow_up_names_the_flag_and_takes_it(tmp_path, capsys):
    path = tmp_path / "afloat.csv"
    rows = "".join(f"{60 * k},-20,-21,13.0\n" for k in range(61))
    path.write_text("Time (s),One (A),Two (A),Voltage (V)\n" + rows, encoding="utf-8")
    words = ["follow-up", *CASE, str(path), "--draws", "8", "--json"]
    assert main(words) == REFUSED
    assert '--column "current=HEADING [UNIT]"' in capsys.readouterr().err
    words += ["--column", "current=One (A)"]
    assert main(words) == REFUSED
    assert "--discharge negative" in capsys.readouterr().err
    assert main([*words, "--discharge", "negative"]) == 0
    assert json.loads(capsys.readouterr().out)["charge_Ah"]["found"] == pytest.approx(20.0)  # by hand: 20 A for 1 h


def test_a_log_of_negative_current_alone_names_the_flag_of_the_sign(tmp_path, capsys):
    path = tmp_path / "run.csv"
    path.write_text("time (s),Voltage [V],Current (A)\n" + "".join(f"{k},12,-1\n" for k in range(9)), encoding="utf-8")
    assert main(["log", str(path)]) == REFUSED
    assert "The flag for it: --discharge negative." in capsys.readouterr().err
    assert main(["log", str(path), "--discharge", "negative"]) == 0
