"""`sheet` from the command line: files of every kind, and what it refuses."""

from __future__ import annotations

import pytest

from planner.cli import main

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


def test_the_testers_words_stand_on_the_sheet(tmp_path):
    path = tmp_path / "a.txt"
    assert main([*BASE, "--tester", "A. Tester, no warranty", "-o", str(path)]) == 0
    assert "A. Tester, no warranty" in path.read_text(encoding="utf-8")
