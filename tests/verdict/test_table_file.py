"""Tables on disk: formulas that are none, and files that are whole whenever writing stops."""

from __future__ import annotations

import csv
import io
import resource
import signal

import pyarrow.parquet
import pytest

from planner.verdict.table_file import CsvFile, CsvTable, ParquetTable, cell_text, safe_text


# OWASP, "CSV injection": what a cell of text must not begin with; full-width signs and later lines likewise
@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1+2", "@x", "\t=1", "\r=1", "\0x", "\uff1d1", "\uff0b1", "\uff0d1", "\uff20x"]
)
def test_a_text_that_looks_like_a_formula_is_told_as_text(text):
    assert safe_text(text) == "'" + text
    assert safe_text("first line\n" + text).split("\n")[1].startswith("'")


@pytest.mark.parametrize("text", ["plain", "a = b", "5 - 3", "", 'a"b', "a,b"])
def test_other_texts_stay_as_they_are(text):
    assert safe_text(text) == text


def test_numbers_stay_numbers_and_what_is_missing_is_empty():
    assert (cell_text(-5.2), cell_text(None), cell_text(0.1 + 0.2)) == ("-5.2", "", "0.30000000000000004")


def test_a_csv_is_read_back_cell_by_cell():
    stream = io.StringIO()
    rows = [("a,b", -5.2, None), ('a"b', 1.0, "two\nlines")]
    with CsvTable(stream, ("name", "x", "note")) as table:
        for row in rows:
            table.write(row)
    stream.seek(0)
    read = list(csv.reader(stream))
    assert read == [["name", "x", "note"], ["a,b", "-5.2", ""], ['a"b', "1.0", "two\nlines"]]


def test_every_row_is_whole_as_soon_as_it_is_written(tmp_path):
    path = tmp_path / "out.csv"
    table = CsvFile(path, ("x",))
    table.write((1.0,))
    assert path.read_text(encoding="utf-8") == "x\n1.0\n"
    table.close()


def test_a_parquet_file_holds_what_was_written_before_an_interruption(tmp_path):
    path = tmp_path / "out.parquet"
    with (
        pytest.raises(KeyboardInterrupt),
        ParquetTable(path, ("name", "x"), (False, True)) as table,
    ):
        table.write(("one", 1.5))
        table.write(("two", None))
        raise KeyboardInterrupt
    assert pyarrow.parquet.read_table(path).to_pydict() == {"name": ["one", "two"], "x": [1.5, None]}


def test_a_row_that_finds_no_room_is_taken_back_whole(tmp_path):
    """The limit of a file's size stands in for a full disk."""
    path = tmp_path / "out.csv"
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    handled = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    with CsvFile(path, ("x",)) as table:
        table.write((1.0,))
        resource.setrlimit(resource.RLIMIT_FSIZE, (10, limits[1]))
        try:
            with pytest.raises(OSError, match="too large"):
                table.write((2.5 / 3.0,))
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, limits)
            signal.signal(signal.SIGXFSZ, handled)
    assert path.read_text(encoding="utf-8") == "x\n1.0\n"
