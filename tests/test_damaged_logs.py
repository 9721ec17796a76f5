"""Damaged and hostile logs: a message for each, exit 2, no traceback, bounded memory."""

from __future__ import annotations

import json
import random
import struct
import subprocess
import sys
import tracemalloc
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from planner.errors import InputRefused
from planner.log_file import read_columns
from planner.record.log_summary import summarise_log

HEADS = ["Time (s)", "Voltage (V)", "Current (A)"]
MORE_MB = 200  # above the interpreter with its readers loaded: a few blocks of 4 MB and what the libraries keep


def _workbook(path: Path, rows: list[list[object]]) -> Path:
    import openpyxl

    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    book.save(path)
    return path


class _Peak:
    """The most memory that Python held while it was open [bytes], above what it held at the start."""

    def __enter__(self) -> _Peak:
        tracemalloc.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.bytes = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()


def _refusal(path: Path) -> str:
    with pytest.raises(InputRefused) as caught:
        read_columns(path)
    return str(caught.value)


def test_a_workbook_that_unpacks_to_far_more_than_its_size_is_not_opened(tmp_path: Path) -> None:
    path = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b"0" * 60_000_000)
    with _Peak() as peak:
        assert "times its size" in _refusal(path)
    assert peak.bytes < 30_000_000  # the 60 MB inside are never unpacked


@pytest.mark.parametrize(("sound_rows", "words"), [(3, "not text"), (20_000, "longer than")])
def test_a_file_that_claims_five_gigabytes_is_refused_without_being_read(
    tmp_path: Path, sound_rows: int, words: str
) -> None:
    import pyarrow as pa

    path = tmp_path / "log.csv"
    path.write_text("Time (s),Current (A)\n" + "".join(f"{k},1\n" for k in range(sound_rows)))
    with path.open("r+b") as stream:
        stream.truncate(5_000_000_000)  # a hole: it claims the size and takes no room on the disk
    before = pa.default_memory_pool().max_memory()
    with _Peak() as peak:
        assert words in _refusal(path)
    assert peak.bytes < 100_000_000
    # the library reads up to 32 blocks of 4 MB ahead where it gets the processor first, and parses a few of them
    assert pa.default_memory_pool().max_memory() - before < 300_000_000


# ---- files that unpack to more than they say ----


def _with_sheet(path: Path, change: Callable[[bytes], bytes]) -> Path:
    """A sound workbook whose sheet is changed as bytes of XML."""
    sound = _workbook(path.with_name("sound.xlsx"), [list(HEADS), *([k, 13.0, 5] for k in range(5))])
    with zipfile.ZipFile(sound) as old, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new:
        for part in old.infolist():
            data = old.read(part)
            new.writestr(part.filename, change(data) if part.filename.endswith("sheet1.xml") else data)
    return path


def _entities(sheet: bytes) -> bytes:
    """Ten to the ninth power letters out of nine lines."""
    told = "".join(f'<!ENTITY {new} "{f"&{old};" * 10}">' for old, new in zip("abcdefgh", "bcdefghi", strict=True))
    sheet = sheet.replace(b"<worksheet", f'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa">{told}]><worksheet'.encode(), 1)
    return sheet.replace(b"Voltage (V)", b"Voltage &i; (V)")


def _long_cell(sheet: bytes) -> bytes:
    rng = random.Random(1)
    text = "".join(rng.choice("abcdefgh") + "0" * 120 for _ in range(400_000))
    return sheet.replace(b"Time (s)", b"Time (s)" + text.encode(), 1)


def _wide_row(sheet: bytes) -> bytes:
    rng = random.Random(1)
    cells = "".join(f"<c><v>{rng.randrange(10**9)}</v></c>" for _ in range(500_000))
    return sheet.replace(b"</sheetData>", f'<row r="99">{cells}</row></sheetData>'.encode())


def _prefixed_wide_row(sheet: bytes) -> bytes:
    return _wide_row(sheet).replace(b"<c><v>", b"<x:c><x:v>").replace(b'<row r="99"', b'<x:row r="99"')


def _utf_16(sheet: bytes) -> bytes:
    return b"\xff\xfe" + sheet.decode().encode("utf-16-le")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (_entities, "document type"),
        (_long_cell, "32,767"),
        (_wide_row, "16384 cells"),
        (_prefixed_wide_row, "16384 cells"),
        (_utf_16, "UTF-16"),
    ],
    ids=lambda one: getattr(one, "__name__", ""),
)
def test_a_workbook_that_would_grow_is_refused_before_it_is_built(
    tmp_path: Path, change: Callable[[bytes], bytes], words: str
) -> None:
    path = _with_sheet(tmp_path / "bomb.xlsx", change)
    with _Peak() as peak:
        assert words in _refusal(path)
    # two blocks of 1 MB and their pieces; built, the long cell alone took 2.4 GB
    assert peak.bytes < 30_000_000


def test_a_workbook_that_lies_about_its_size_is_refused(tmp_path: Path) -> None:
    path = _with_sheet(tmp_path / "lies.xlsx", lambda sheet: sheet.replace(b"</sheetData>", b"<row><c><v>1</v></c></row>" * 2_000_000 + b"</sheetData>"))  # fmt: skip
    with zipfile.ZipFile(path) as archive:
        size = next(part.file_size for part in archive.infolist() if part.filename.endswith("sheet1.xml"))
    forged = path.read_bytes().replace(struct.pack("<I", size), struct.pack("<I", 5000))
    path.write_bytes(forged)
    assert "not a workbook" in _refusal(path)


def test_a_parquet_file_whose_block_unpacks_to_far_more_is_refused(tmp_path: Path) -> None:
    import numpy as np
    import pyarrow as pa
    from pyarrow import parquet

    rows = 30_000_000
    table = pa.table({"Time (s)": np.arange(rows, dtype=np.float64) * 0.0, "Current (A)": np.zeros(rows)})
    path = tmp_path / "bomb.parquet"
    parquet.write_table(table, path, compression="zstd", use_dictionary=False, row_group_size=rows)
    assert path.stat().st_size < 1_000_000
    assert "times its size" in _refusal(path)


def test_a_sheet_of_many_sound_rows_passes_the_guard(tmp_path: Path) -> None:
    rows: list[list[object]] = [list(HEADS), *([k, 13.0 + k % 7 / 1000, 5.25] for k in range(30_000))]
    assert read_columns(_workbook(tmp_path / "log.xlsx", rows)).rows == 30_000  # more than one block of the guard


# ---- damage drawn at random ----


def _damaged(seed: int, folder: Path) -> Path:
    """One damaged log: a sound one, hurt in one to three ways by a seeded generator."""
    rng = random.Random(seed)
    kind = rng.choice([".csv", ".csv", ".csv", ".txt", ".xlsx", ".parquet"])
    heads = ["Time (s)", "Voltage (V)", "Current (A)", "Temp (degC)"]
    rows: list[list[object]] = [[k, 13.2 - 0.01 * k, 20.0 if k > 5 else 0.0, 25 + k] for k in range(40)]
    path = folder / f"damaged{kind}"
    if kind in (".xlsx", ".parquet"):
        if kind == ".xlsx":
            _workbook(path, [list(heads), *rows])
        else:
            import pyarrow as pa
            from pyarrow import parquet

            parquet.write_table(
                pa.table({h: [float(str(r[i])) for r in rows] for i, h in enumerate(heads)}), path
            )
        content = bytearray(path.read_bytes())
        for _ in range(rng.randint(1, 30)):
            content[rng.randrange(len(content))] = rng.randrange(256)
        path.write_bytes(content[: rng.randint(1, len(content))] if rng.random() < 0.4 else content)
        return path
    lines = [",".join(heads), *(",".join(str(cell) for cell in row) for row in rows)]
    for _ in range(rng.randint(1, 3)):
        at = rng.randrange(1, len(lines)) if len(lines) > 1 else 0
        hurt = rng.choice(
            ["cut", "mix", "text", "twice", "empty", "swap", "quote", "bytes", "long", "comma", "back"]
        )
        lines = _hurt(rng, lines, at, hurt)
    content = "\n".join(lines).encode("utf-8", errors="replace")
    if rng.random() < 0.2:
        content = content[: rng.randint(0, len(content))]
    path.write_bytes(content)
    return path


def _hurt(rng: random.Random, lines: list[str], at: int, hurt: str) -> list[str]:
    line = lines[at] if lines else ""
    changed = {
        "cut": line[: rng.randint(0, len(line))],
        "mix": line.replace(",", rng.choice(";\t|")),
        "text": line.replace(
            rng.choice("0123456789"), rng.choice(["x", "--", "1e999", "=1+1", "٣", "NaN", "inf"])
        ),
        "empty": line.replace("13", ""),
        "quote": line.replace(",", '",', 1),
        "bytes": line + rng.choice(["\0", "\ufffd", "\r", "\x1a"]),
        "long": line + "9" * rng.choice([400, 70_000]),
        "comma": line.replace(".", ","),
        "back": "-5," + line,
    }
    if hurt == "twice":
        return [lines[0] + "," + lines[0], *lines[1:]]
    if hurt == "swap":
        return [*lines[:at], *reversed(lines[at:])]
    return [*lines[:at], changed[hurt], *lines[at + 1 :]]


@pytest.mark.parametrize("seed", range(200))
def test_a_damaged_log_is_refused_in_words_or_gives_finite_numbers(tmp_path: Path, seed: int) -> None:
    path = _damaged(seed, tmp_path)
    try:
        answer = summarise_log(path)
    except InputRefused as refused:
        assert refused.problems
        assert all(p.file == path.name and p.value and p.allowed and p.fix for p in refused.problems)
        assert len(str(refused)) < 10_000  # a message to read, not a dump of the file
    else:
        # Damage that leaves a readable log must leave every number finite and some row standing.
        json.dumps(answer.to_json(), allow_nan=False)
        assert answer.rows >= 2 and answer.duration_s > 0.0
        assert answer.to_text() and answer.to_toml()


def test_most_of_the_damaged_logs_are_refused(tmp_path: Path) -> None:
    refused = 0
    for seed in range(200):
        try:
            read_columns(_damaged(seed, tmp_path))
        except InputRefused:
            refused += 1
    # Damage drawn at random often spares what is read (a comment byte, an unused part of a workbook).
    assert refused >= 120


CHILD = """
import contextlib, io, json, resource, sys
from pathlib import Path
from planner.cli import main

def run(path):
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = main(["log", path])
    return status, err.getvalue()

folder = Path(sys.argv[1])
for sound in sorted(folder.glob("sound.*")):
    assert run(str(sound))[0] == 0, sound
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
found = [(path.name, *run(str(path))) for path in sorted(folder.glob("*/*"))]
after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(json.dumps({"found": found, "more_kb": after - before}))
"""


def test_the_command_refuses_two_hundred_damaged_logs_in_words_and_within_bounded_memory(tmp_path: Path) -> None:
    import pyarrow as pa
    from pyarrow import parquet

    rows: list[list[object]] = [[k, 13.2 - 0.01 * k, 20.0] for k in range(40)]
    (tmp_path / "sound.csv").write_text("\n".join(",".join(map(str, row)) for row in [HEADS, *rows]))
    _workbook(tmp_path / "sound.xlsx", [list(HEADS), *rows])
    parquet.write_table(
        pa.table({head: [float(str(row[k])) for row in rows] for k, head in enumerate(HEADS)}), tmp_path / "sound.parquet"
    )
    for seed in range(200):
        folder = tmp_path / f"{seed:03d}"
        folder.mkdir()
        _damaged(seed, folder)
    for name, change in (("entities", _entities), ("cell", _long_cell), ("row", _wide_row)):
        folder = tmp_path / name
        folder.mkdir()
        _with_sheet(folder / "bomb.xlsx", change)
    (tmp_path / "cell" / "sound.xlsx").unlink()
    done = subprocess.run([sys.executable, "-c", CHILD, str(tmp_path)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-2000:]
    told = json.loads(done.stdout)
    refused = [(name, words) for name, status, words in told["found"] if status == 2]
    assert all(status in (0, 2) for _, status, _ in told["found"])
    assert len(refused) >= 123  # the three bombs, and 120 as above
    for name, words in refused:
        assert "Traceback" not in words
        assert name in words and "accepted: " in words
    assert told["more_kb"] < MORE_MB * 1024
