"""The command `sweep` as a user runs it."""

from __future__ import annotations

import csv
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pyarrow.parquet
import pytest

ROOT = Path(__file__).parents[2]
HOME = ROOT / "profiles"
OUTING, UNIT = str(HOME / "outings" / "kayak_evening.toml"), str(HOME / "batteries" / "unit_one.toml")


def command(*words: str) -> list[str]:
    return [sys.executable, "-m", "planner", "sweep", OUTING, UNIT, *words]


def run(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command(*words), cwd=ROOT, capture_output=True, text=True, timeout=100, check=False)


def test_rows_go_to_standard_output_and_nothing_to_standard_error():
    done = run("--vary", "ambient=5 degC:15 degC:2")
    assert (done.returncode, done.stderr) == (0, "")
    rows = list(csv.DictReader(done.stdout.splitlines()))
    assert [float(row["ambient (degC)"]) for row in rows] == [5.0, 15.0]
    assert all(row["verdict"] == "fits" and row["p10_h"] == "" for row in rows)


def test_a_table_for_other_programs_has_numbers_as_numbers(tmp_path):
    path = tmp_path / "out.parquet"
    assert run("--vary", "ambient=5 degC:15 degC:2", "-o", str(path)).returncode == 0
    read = pyarrow.parquet.read_table(path).to_pydict()
    assert read["ambient (degC)"] == [5.0, 15.0]
    assert all(isinstance(hours, float) for hours in read["nominal_h"])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--vary", "ambiant=5 degC:15 degC:2"), "Did you mean ambient?"),
        (("--vary", "ambient=5 degC:15 degC:2", "-o", "out.txt"), ".csv or .parquet"),
        (("--vary", "ambient=5 degC:15 degC:2", "-o", "/no/such/folder/out.csv"), "/no/such/folder/out.csv"),
        (("--vary", "ambient=5 degC:15 degC:2", "-o", "/no/such/folder/out.parquet"), "/no/such/folder/out.parquet"),
        (("--vary", "ambient=5 degC:15 degC:2", "--workers", "0"), "a whole number"),
        ((), "--vary"),
    ],
)
def test_what_is_wrong_is_said_in_a_sentence_and_the_status_is_two(words, said):
    done = run(*words)
    assert done.returncode == 2
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def test_a_full_disk_is_told_without_a_traceback(tmp_path):
    full = tmp_path / "full.csv"
    full.symlink_to("/dev/full")
    done = run("--vary", "ambient=5 degC:15 degC:2", "-o", str(full))
    assert done.returncode == 2
    assert "No space left" in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.slow
@pytest.mark.parametrize("workers", ["1", "2"])
def test_an_interrupted_sweep_leaves_the_rows_it_had(tmp_path, workers):
    path = tmp_path / "out.csv"
    words = command("--vary", "ambient=0 degC:20 degC:5000", "-o", str(path), "--workers", workers)
    going = subprocess.Popen(words, cwd=ROOT, stderr=subprocess.PIPE, text=True, start_new_session=True)
    try:
        end = time.monotonic() + 80.0
        while time.monotonic() < end and (not path.exists() or path.read_text().count("\n") < 3):
            time.sleep(0.1)
        os.killpg(going.pid, signal.SIGINT)  # as a terminal's Ctrl-C does: to the whole group
        said = going.communicate(timeout=60)[1]
    finally:
        if going.poll() is None:
            os.killpg(going.pid, signal.SIGKILL)
            going.wait()
    assert going.returncode == 130
    assert "Traceback" not in said
    rows = list(csv.reader(path.read_text().splitlines()))
    assert len(rows) > 2
    assert {len(row) for row in rows} == {len(rows[0])}
