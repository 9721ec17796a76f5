"""The command line: exit status, messages, JSON. Data invented."""

from __future__ import annotations

import importlib
import json
import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from planner import cli
from planner.cli import INTERRUPTED, REFUSED, main
from planner.commands import COMMANDS
from planner.errors import is_visible

ROOT = Path(__file__).resolve().parent.parent
PROFILES = ROOT / "profiles"
RECORD = """format = 1
name = "Plain (invented)"
[[capacity_test]]
current = "20 A"
charge = "{charge}"
cutoff_voltage = "10.0 V"
ended_by = "cutoff"
"""
NEED = """format = 1
name = "Plain evening (invented)"
duration = "{duration}"
ambient = "20 degC"
[[load]]
name = "lamp"
kind = "{kind}"
{kind} = "{size}"
use = {use}
"""
USE = '[{ start = "0 min", length = "1 h" }]'


@pytest.fixture(autouse=True)
def no_library(monkeypatch, tmp_path):
    """No test reads what the person running it has saved."""
    monkeypatch.setenv("PLANNER_LIBRARY", str(tmp_path / "library"))


def written(folder, name, text):
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def record(folder, charge="100 Ah"):
    return written(folder, "unit.toml", RECORD.format(charge=charge))


def outing(folder, duration="2 h", kind="current", size="5 A", use=USE):
    return written(folder, "day.toml", NEED.format(duration=duration, kind=kind, size=size, use=use))


def refused(words, capsys):
    """The lines of standard error of a command that must be refused."""
    assert main(words) == REFUSED
    told = capsys.readouterr()
    assert "Traceback" not in told.err
    return told.err.splitlines()


@pytest.mark.parametrize(
    ("keys", "place"),
    [
        ({"size": "5 V"}, "load.1.current"),
        ({"size": "-5 A"}, "load.1.current"),
        ({"size": "nan A"}, "load.1.current"),
        ({"size": "inf A"}, "load.1.current"),
        ({"size": "5"}, "load.1.current"),
        ({"size": "5,5 A"}, "load.1.current"),
        ({"kind": "power", "size": "1234567890 W"}, "load.1.power"),
        ({"duration": "nan h"}, "duration"),
        ({"duration": "0 h"}, "duration"),
        ({"use": "[]"}, "load.1.use"),
        ({"use": '[{ start = nan, length = "1 h" }]'}, "load.1.use.1.start"),
    ],
    ids=str,
)
def test_a_bad_value_is_one_line_that_names_file_key_value_and_mending(keys, place, tmp_path, capsys):
    path = outing(tmp_path, **keys)
    lines = refused(["fit", record(tmp_path), path, "--draws", "1"], capsys)
    assert len(lines) == 1
    assert lines[0].startswith(f"{path}: {place} is ")
    assert "accepted: " in lines[0]
    assert lines[0].rstrip().endswith((".", "?", '"'))


def test_an_unknown_key_names_the_nearest(tmp_path, capsys):
    path = written(
        tmp_path, "day.toml", NEED.format(duration="2 h", kind="current", size="5 A", use=USE) + "spred = 1\n"
    )
    (line,) = refused(["check", path], capsys)
    assert "load.1.spred" in line
    assert "spread" in line


def test_a_file_that_is_not_there_is_refused(tmp_path, capsys):
    (line,) = refused(["fit", str(tmp_path / "none.toml"), "kayak_evening"], capsys)
    assert "none.toml" in line
    assert "not found" in line


def test_a_file_that_is_not_toml_is_refused(tmp_path, capsys):
    (line,) = refused(["check", written(tmp_path, "x.toml", "name = \n")], capsys)
    assert "TOML" in line


def test_bytes_that_are_no_text_are_refused(tmp_path, capsys):
    path = tmp_path / "x.toml"
    path.write_bytes(b"name = '\xff\xfe'\n")
    assert len(refused(["check", str(path)], capsys)) == 1


def test_a_file_of_no_kind_is_refused(tmp_path, capsys):
    (line,) = refused(["check", written(tmp_path, "x.toml", 'format = 1\nname = "x"\n')], capsys)
    assert "neither" in line


def test_a_log_whose_time_runs_back_is_refused(tmp_path, capsys):
    rows = "Time (s),Voltage (V),Current (A)\n0,13.2,10\n10,13.1,10\n5,13.0,10\n20,12.9,10\n"
    lines = refused(["log", written(tmp_path, "run.csv", rows)], capsys)
    assert len(lines) == 1
    assert "run.csv" in lines[0]


def test_the_problems_of_all_inputs_are_told_at_once(tmp_path, capsys):
    lines = refused(
        ["fit", record(tmp_path, charge="x"), outing(tmp_path, size="x"), "--climate", "nowhere"], capsys
    )
    assert len(lines) == 3
    assert {line.split(":")[0].rsplit(os.sep, 1)[-1] for line in lines} == {
        "unit.toml",
        "day.toml",
        "nowhere",
    }


@pytest.mark.parametrize(
    "words",
    [["--draws", "0"], ["--draws", "100001"], ["--draws", "1.5"], ["--draws", "nan"], ["--seed", "-1"], ["--seed", "x"],
     ["--draws", "9" * 5000], ["--nonsense"]],
    ids=lambda words: " ".join(words)[:20],
)  # fmt: skip
def test_a_bad_option_is_refused_before_anything_is_read(words, capsys):
    with pytest.raises(SystemExit) as caught:
        main(["fit", "unit_one", "kayak_evening", *words])
    assert caught.value.code == REFUSED
    assert "error: " in capsys.readouterr().err


@pytest.mark.parametrize("words", [[], ["nonsense"], ["fit"], ["fit", "unit_one"]], ids=str)
def test_a_command_that_is_not_there_or_not_complete_is_refused(words, capsys):
    with pytest.raises(SystemExit) as caught:
        main(words)
    assert caught.value.code == REFUSED
    assert "usage: " in capsys.readouterr().err


def test_a_meter_that_had_to_be_assumed_is_told_once_a_test(tmp_path, capsys):
    probed = 'current = "40 A"\nambient = "25 degC"\nreadings = [["5 min", "30 degC"], ["20 min", "36 degC"]]'
    cold = 'direction = "cooling"\ncharging = "blocked"\ncell_temperature = "-2 degC"\nsoak = "24 h"'
    unit = RECORD.format(charge="100 Ah") + f"[[terminal_test]]\n{probed}\n[[cold_charge_test]]\n{cold}\n"
    assert main(["fit", written(tmp_path, "unit.toml", unit), outing(tmp_path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["warnings"]
    for place in ("capacity_test.1", "terminal_test.1", "cold_charge_test.1"):
        assert len([text for text in told if f"{place}: no meter named" in text or f"{place}: no error" in text]) == 1


def test_a_bad_verdict_is_an_answer(tmp_path, capsys):
    # 100 A for 2 h out of a unit that gave 10 Ah
    path = outing(tmp_path, size="100 A", use='[{ start = "0 min", length = "2 h" }]')
    assert main(["fit", record(tmp_path, charge="10 Ah"), path, "--draws", "5"]) == 0
    assert capsys.readouterr().out.startswith(("DOES NOT FIT", "NOT PROVEN"))


def test_fit_prints_one_json_object_that_the_seed_makes_again_byte_for_byte(capsys):
    told = []
    for seed in ("7", "7", "8"):
        assert main(["fit", "unit_one", "kayak_evening", "--draws", "20", "--seed", seed, "--json"]) == 0
        told.append(capsys.readouterr().out)
    assert told[0] == told[1]
    first, other = json.loads(told[0]), json.loads(told[2])
    # the centre is no draw; but steps are sized by all scenarios together, which moves it below the promised 0.1 %
    assert first["runtime"]["nominal_h"] == pytest.approx(other["runtime"]["nominal_h"], rel=1e-3)
    assert first["runtime"]["p10_h"] != other["runtime"]["p10_h"]
    assert (first["seed"], first["draws"]) == (7, 20)


def test_winter_prints_one_json_object(capsys):
    assert main(["winter", "unit_one", "cold-lake", "--draws", "3", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["checks"][0]["id"] == "winter_charging"
    assert len(answer["months"]) == 12
    assert isinstance(answer["warnings"], list)


def test_log_prints_one_json_object_and_tables_to_paste(capsys):
    path = str(PROFILES / "logs" / "bench_unit_one_invented.csv")
    assert main(["log", path, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["ended_by"] == "cutoff"
    assert main(["log", path]) == 0
    assert "[[capacity_test]]" in capsys.readouterr().out


def test_log_takes_what_a_file_leaves_open(tmp_path, capsys):
    rows = "".join(f"03/04/2026;10:00:{k:02d};13,{20 - k};{5 if k else 0},0\n" for k in range(9))
    path = written(tmp_path, "pack.csv", "Date;Time;Pack;Current (A)\n" + rows)
    words = ["log", str(path), "--json", "--decimal-comma", "--date-order", "day first", "--column", "voltage=Pack [V]"]
    assert main(words) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["duration_s"] == 8.0
    assert said["columns"] == {"time": "Date + Time", "voltage": "Pack", "current": "Current (A)", "temperature": None}
    assert main(["log", str(path), "--decimal-comma", "--date-order", "day first"]) == REFUSED
    assert 'voltage is not among the headings' in capsys.readouterr().err.replace("\n", " ")


def test_a_log_without_time_is_read_at_its_interval(tmp_path, capsys):
    path = written(tmp_path, "bare.csv", "Voltage (V),Current (A)\n" + "13.1,0\n" * 3 + "13.0,5\n" * 8)
    assert main(["log", str(path), "--json", "--interval", "2 s"]) == 0
    assert json.loads(capsys.readouterr().out)["duration_s"] == 20.0


@pytest.mark.parametrize("words", [("--interval", "2 V"), ("--column", "voltage"), ("--date-order", "year first")])
def test_a_bad_choice_for_a_log_is_refused(words, capsys):
    with pytest.raises(SystemExit) as caught:
        main(["log", "any.csv", *words])
    assert caught.value.code == REFUSED
    assert "error: " in capsys.readouterr().err


def test_check_knows_every_demo_file_by_its_content(capsys):
    paths = sorted(str(path) for path in PROFILES.rglob("*.toml"))
    assert main(["check", *paths]) == 0
    told = capsys.readouterr().out
    assert len(re.findall(r": valid (?:battery|outing|climate),", " ".join(told.split()))) == len(paths)
    assert max(len(line) for line in told.splitlines() if "/" not in line) <= 80


def test_check_says_what_is_missing_and_tells_valid_files_beside_refused_ones(tmp_path, capsys):
    assert main(["check", record(tmp_path), str(tmp_path / "none.toml")]) == REFUSED
    told = capsys.readouterr()
    assert "valid battery" in " ".join(told.out.split())
    assert "No hold and no ramp" in " ".join(told.out.split())
    assert "none.toml" in told.err


def test_a_profile_of_the_library_is_found_by_the_name_inside_it(tmp_path, capsys):
    record(tmp_path)
    assert main(["check", "plain (invented)", "--library", str(tmp_path)]) == 0
    assert "Plain (invented)" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("failure", "status"),
    [(KeyboardInterrupt(), INTERRUPTED), (PermissionError(13, "Permission denied", "x.toml"), REFUSED)],
)
def test_an_interruption_and_a_file_that_may_not_be_read_end_in_a_word(failure, status, monkeypatch, capsys):
    def fails(_):
        raise failure

    monkeypatch.setattr("planner.commands.check.run", fails)
    assert main(["check", "unit_one"]) == status
    told = capsys.readouterr()
    assert told.out == ""
    assert len(told.err.splitlines()) == 1


def test_a_terminal_with_ascii_alone_is_told_in_ascii(monkeypatch, capsys):
    class Ascii:
        encoding = "ascii"

        def __init__(self):
            self.text = ""

        def write(self, text):
            text.encode("ascii")  # raises what a terminal would
            self.text += text

        def flush(self):
            pass

    stream = Ascii()
    cli._say("5 °C … Ω", stream)
    assert stream.text == "5 degC ... ?\n"


def test_the_module_runs_and_a_reader_that_goes_away_is_no_trouble(tmp_path):
    environment = {**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONPATH": str(ROOT)}
    command = [
        sys.executable,
        "-m",
        "planner",
        "check",
        *sorted(map(str, (PROFILES / "outings").glob("*.toml"))),
    ]
    done = subprocess.run(command, capture_output=True, text=True, env=environment, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    read_end, write_end = os.pipe()
    os.close(read_end)
    try:
        gone = subprocess.run(
            command, stdout=write_end, stderr=subprocess.PIPE, text=True, env=environment, check=False
        )
    finally:
        os.close(write_end)
    assert (gone.returncode, gone.stderr) == (0, "")


def test_every_command_has_its_help(capsys):
    with pytest.raises(SystemExit) as caught:
        main(["--help"])
    assert caught.value.code == 0
    told = capsys.readouterr().out
    assert all(name.replace("_", "-") in told for name in COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_the_help_of_every_command_ends_with_an_example_that_answers(name, capsys, tmp_path, monkeypatch):
    monkeypatch.setenv("PLANNER_LIBRARY", str(tmp_path / "library"))
    monkeypatch.chdir(ROOT)
    words = shlex.split(importlib.import_module(f"planner.commands.{name}").EXAMPLE)
    with pytest.raises(SystemExit) as caught:
        main([words[0], "--help"])
    assert caught.value.code == 0
    told = " ".join(capsys.readouterr().out.split()).replace("- ", "-")
    assert " ".join(shlex.split(told.split("Example: python -m planner ")[1])).replace("- ", "-") == " ".join(words)
    if "-o" in words:
        words[words.index("-o") + 1] = str(tmp_path / words[words.index("-o") + 1])
    if name not in ("log", "audit", "check"):
        words = [word for at, word in enumerate(words) if "--draws" not in (word, words[at - 1])] + ["--draws", "4"]
    assert main(words) == 0
    assert "-o" in words or capsys.readouterr().out


HOSTILE = 'format = 1\nname = "\\u001b[2J\\u202egood"\n[claims]\n'  # clears a screen, turns the line round


def test_nothing_from_a_file_steers_the_terminal_or_turns_a_line_round(tmp_path, capsys):
    path = tmp_path / "unit.toml"
    path.write_text(HOSTILE, encoding="utf-8")
    assert main(["check", str(path)]) == REFUSED
    told = capsys.readouterr().err
    assert "\\u202e" in told
    assert is_visible(told)


def test_a_log_heading_that_steers_a_terminal_is_shown_as_its_escape(tmp_path, capsys):
    path = tmp_path / "log.csv"
    rows = "".join(f"{second},{13 - second / 1000:.3f},5,1\n" for second in range(60))
    path.write_text(f"Time (s),Voltage (V),Current (A),Current\x1b[2J\n{rows}", encoding="utf-8")
    assert main(["log", str(path)]) == 0
    assert is_visible(capsys.readouterr().out)
