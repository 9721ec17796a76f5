"""`sheet` from the command line: files of every kind, and what it refuses."""

from __future__ import annotations

import json
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from planner.cli import main

ROOT = Path(__file__).resolve().parent.parent
BASE = ["sheet", "unit_one", "kayak_evening", "--draws", "8", "--date", "2030-01-31"]
STARTS = {"pdf": b"%PDF-", "png": b"\x89PNG", "html": b"<!doctype html>", "csv": b"\xef\xbb\xbfsheet", "json": b"{",
          "txt": b"FITS"}  # fmt: skip


@pytest.fixture(autouse=True)
def no_library(monkeypatch, tmp_path):
    monkeypatch.setenv("PLANNER_LIBRARY", str(tmp_path / "library"))


@pytest.mark.parametrize("kind", STARTS)
def test_each_ending_gives_its_kind_of_file(kind, tmp_path):
    path = tmp_path / f"sheet.{kind}"
    assert main([*BASE, "-o", str(path)]) == 0
    assert path.read_bytes().startswith(STARTS[kind])
    assert [found.name for found in tmp_path.iterdir()] == [path.name]  # nothing half written is left


@pytest.mark.parametrize(
    ("name", "said"),
    [("sheet.docx", ".docx"), ("sheet", "accepted: .pdf"), ("gone/sheet.pdf", "folder that is not there"), (".", "accepted: .pdf")],
)
def test_a_target_that_cannot_be_is_refused(name, said, tmp_path, capsys):
    assert main([*BASE, "-o", str(tmp_path / name)]) == 2
    shown = capsys.readouterr()
    assert said in shown.err
    assert "Traceback" not in shown.err
    assert list(tmp_path.iterdir()) == []


def test_a_folder_under_a_good_ending_is_refused(tmp_path, capsys):
    (tmp_path / "sheet.pdf").mkdir()
    assert main([*BASE, "-o", str(tmp_path / "sheet.pdf")]) == 2
    assert "a folder" in capsys.readouterr().err


def test_all_problems_are_told_at_once(tmp_path, capsys):
    assert main(["sheet", "no_such_unit", "kayak_evening", "-o", str(tmp_path / "a.docx")]) == 2
    shown = capsys.readouterr().err
    assert ".docx" in shown
    assert "no_such_unit" in shown


def test_a_date_that_is_none_is_refused(tmp_path):
    with pytest.raises(SystemExit) as refused:
        main([*BASE[:-1], "31.1.2030", "-o", str(tmp_path / "a.pdf")])
    assert refused.value.code == 2


def test_the_testers_words_come_from_the_command_else_from_the_library(tmp_path):
    path, library = tmp_path / "a.txt", tmp_path / "library"
    library.mkdir()
    (library / "tester.txt").write_text("B. Tester\nadvice, no warranty\n", encoding="utf-8")
    assert main([*BASE, "--tester", "A. Tester, no warranty", "-o", str(path)]) == 0
    assert "A. Tester, no warranty" in path.read_text(encoding="utf-8")
    assert main([*BASE, "-o", str(path)]) == 0
    assert "\n\nB. Tester\nadvice, no warranty\n\n" in path.read_text(encoding="utf-8")
    assert main([*BASE, "--tester", "", "-o", str(path)]) == 0
    assert "Tester" not in path.read_text(encoding="utf-8")


def test_the_sheet_in_us_units_holds_the_same_answer_underneath(tmp_path):
    for kind in ("txt", "html", "json"):
        assert main([*BASE, "-o", str(tmp_path / f"a.{kind}")]) == 0
        assert main([*BASE, "--units", "us", "-o", str(tmp_path / f"b.{kind}")]) == 0
    text, us_text = ((tmp_path / f"{name}.txt").read_text(encoding="utf-8") for name in "ab")
    assert "°C" in text and "°F" not in text
    assert "°F" in us_text and "°C" not in us_text
    assert "°C" not in (tmp_path / "b.html").read_text(encoding="utf-8")  # nor in a chart or its words
    told, us_told = (json.loads((tmp_path / f"{name}.json").read_bytes()) for name in "ab")
    assert told["answer"] == us_told["answer"]


@pytest.mark.parametrize(("data", "said"), [(b"x" * 1001, "longer"), (b"x" * 9000, "longer"), (b"\xff\xfe", "not UTF-8")])
def test_testers_words_that_cannot_be_printed_are_refused(data, said, tmp_path, capsys):
    (tmp_path / "library").mkdir()
    (tmp_path / "library" / "tester.txt").write_bytes(data)
    assert main([*BASE, "-o", str(tmp_path / "a.txt")]) == 2
    told = capsys.readouterr().err
    assert "tester.txt" in told
    assert said in told
    assert not (tmp_path / "a.txt").exists()


@pytest.mark.parametrize(("umask", "mode"), [(0o022, 0o644), (0o077, 0o600), (0o002, 0o664)])
def test_who_may_read_the_file_is_the_users_umask(umask, mode, tmp_path):
    before = os.umask(umask)
    try:
        assert main([*BASE, "-o", str(tmp_path / "a.txt")]) == 0
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "a.txt").stat().st_mode) == mode


def test_a_file_written_again_stays_readable_by_whom_it_was(tmp_path):
    path = tmp_path / "a.txt"
    path.write_text("older")
    path.chmod(0o640)
    assert main([*BASE, "-o", str(path)]) == 0
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_another_process_on_another_clock_writes_the_same_pdf(tmp_path):
    # what could differ: the order of sets, the time zone, the user's home with its fonts, the folder
    made = []
    for number, zone in (("1", "Pacific/Auckland"), ("2", "America/Denver")):
        home = tmp_path / number
        home.mkdir()
        environment = os.environ | {"PYTHONHASHSEED": number, "TZ": zone, "HOME": str(home)}
        command = [sys.executable, "-m", "planner", *BASE, "-o", str(home / "sheet.pdf")]
        subprocess.run(command, check=True, env=environment, cwd=ROOT)
        made.append((home / "sheet.pdf").read_bytes())
    assert made[0] == made[1]
