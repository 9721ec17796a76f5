"""A file is closed when its reader is done or refuses, not when memory is collected: elsewhere it could not be moved."""

from __future__ import annotations

import gc
import io
import zipfile
from collections.abc import Iterator, Sequence
from pathlib import Path

import openpyxl
import pytest

from planner.errors import InputRefused
from planner.log_file import read_columns, reading
from planner.verdict.table_file import CsvFile

HEAD = "Time (s),Voltage (V),Current (A)"
GOOD = [HEAD, *(f"{second},13.0,5" for second in range(200))]


def text(lines: Sequence[str]) -> bytes:
    return ("\n".join(lines) + "\n").encode()


def sheet(lines: Sequence[str]) -> bytes:
    book, made = openpyxl.Workbook(), io.BytesIO()
    page = book.active
    assert page is not None
    for line in lines:
        page.append([float(cell) if cell[:1].isdigit() else cell for cell in line.split(",")])
    book.save(made)
    return made.getvalue()


def damaged(data: bytes, part: str) -> bytes:
    """A workbook one part of which is no XML."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(made, "w") as new:
        for name in old.namelist():
            new.writestr(name, b"<x" if name.endswith(part) else old.read(name))
    return made.getvalue()


@pytest.fixture
def uncollected() -> Iterator[None]:
    """Nothing is closed for us by the collection of cycles."""
    gc.collect()
    gc.disable()
    yield
    gc.enable()


def is_open(path: Path) -> bool:
    """Whether this process holds the file open, as the kernel lists it."""
    held = []
    for handle in Path("/proc/self/fd").iterdir():
        try:
            held.append(handle.readlink())
        except OSError:  # that of the listing itself
            continue
    return path.resolve() in held


@pytest.mark.usefixtures("uncollected")
@pytest.mark.parametrize(
    ("name", "data", "refused"),
    [
        ("a.csv", text(GOOD), False),
        ("a.csv", text([*GOOD[:90], "90,x,5", *GOOD[91:]]), True),
        ("a.csv", text([*GOOD[:90], "90,13.0", *GOOD[91:]]), True),
        ("a.xlsx", sheet(GOOD), False),
        ("a.xlsx", sheet([*GOOD[:90], "90,x,5", *GOOD[91:]]), True),
        ("a.xlsx", damaged(sheet(GOOD), "workbook.xml"), True),
        ("a.xlsx", damaged(sheet(GOOD), "styles.xml"), True),
        ("a.xlsx", damaged(sheet(GOOD), "sheet1.xml"), True),
    ],
)
def test_a_log_that_was_read_or_refused_is_closed(
    tmp_path: Path, name: str, data: bytes, refused: bool
) -> None:
    path = tmp_path / name
    path.write_bytes(data)
    for _ in range(30):  # a thread that lets go of it a moment later is seen in one of a hundred
        kept = None
        try:
            read_columns(path)
        except InputRefused as error:
            kept = error  # with all that its traceback holds
        assert (kept is not None) == refused
        assert not is_open(path)


@pytest.mark.usefixtures("uncollected")
def test_a_log_of_too_many_rows_is_closed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(text(GOOD))
    monkeypatch.setattr(reading, "MAX_ROWS", 100)
    with pytest.raises(InputRefused, match="more than 100 rows"):
        read_columns(path)
    assert not is_open(path)


@pytest.mark.usefixtures("uncollected")
def test_a_table_whose_heading_cannot_be_written_is_closed() -> None:
    path = Path("/dev/full")  # takes no byte
    with pytest.raises(OSError, match="No space left"):
        CsvFile(path, ["battery", "outing"])
    assert not is_open(path)


@pytest.mark.usefixtures("uncollected")
def test_an_open_file_is_seen(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    path.write_text("x")
    with path.open():
        assert is_open(path)
    assert not is_open(path)
