"""The command `sweep` as a user runs it."""

from __future__ import annotations

import csv
import os
import pty
import signal
import subprocess
import sys
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
        (
            ("--vary", "ambient=5 degC:15 degC:2", "-o", "/no/such/folder/out.parquet"),
            "/no/such/folder/out.parquet",
        ),
        (("--vary", "ambient=5 degC:15 degC:2", "--workers", "0"), "a whole number"),
        (("--vary", "ambient=5 degC:15 degC:2", "--points", "0"), "a whole number, 1 to 1,000,000"),
        (
            ("--vary", "ambient=5 degC:15 degC:2", "--workers", "2", "--cluster", "tcp://127.0.0.1:1"),
            "one of them",
        ),
        (("--vary", "use_per_day=1 Ah:2 Ah:2"), "not there"),
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
    assert "no room left" in done.stderr and "0 of 2 rows" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_full_disk_under_a_parquet_table_says_that_it_cannot_be_read(tmp_path):
    full = tmp_path / "full.parquet"
    full.symlink_to("/dev/full")
    done = run("--vary", "ambient=5 degC:15 degC:2", "-o", str(full))
    assert done.returncode == 2
    assert "no room left" in done.stderr and "cannot be read" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_hypercube_over_every_kind_of_file_is_one_command(tmp_path):
    words = ["--vary", "outing.ambient=5 degC:20 degC", "--vary", "battery.storage.sleep_current=5 mA:20 mA",
             "--vary", "climate.use_per_day=2 Ah:9 Ah", "--points", "3", "--seed", "5",
             "--climate", str(HOME / "climates" / "cold-lake.toml")]  # fmt: skip
    done = run(*words)
    assert done.returncode == 0, done.stderr
    rows = list(csv.DictReader(done.stdout.splitlines()))
    assert [row["refused"] for row in rows] == ["", "", ""]
    assert len({row["climate.use_per_day (Ah)"] for row in rows}) == 3
    assert all(row["winter_charging"] for row in rows)


def test_rows_done_and_time_left_are_told_where_somebody_is_looking():
    ours, theirs = pty.openpty()
    words = command("--vary", "ambient=5 degC:15 degC:2")
    with subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, stderr=theirs) as going:
        going.communicate(timeout=100)
    os.close(theirs)
    said = os.read(ours, 4096).decode()
    os.close(ours)
    assert "2 of 2 rows, 0:00:00 left" in said


@pytest.mark.slow
@pytest.mark.parametrize(("workers", "ending"), [("1", "csv"), ("2", "parquet")])
def test_an_interrupted_sweep_leaves_a_valid_file_of_the_rows_it_had(tmp_path, workers, ending):
    path = tmp_path / f"out.{ending}"
    words = command("--vary", "ambient=0 degC:20 degC:50000", "-o", str(path), "--workers", workers)
    ours, theirs = pty.openpty()
    going = subprocess.Popen(words, cwd=ROOT, stderr=theirs, start_new_session=True)
    os.close(theirs)
    try:
        said = os.read(ours, 4096).decode()  # some rows are done once progress is told
        os.killpg(going.pid, signal.SIGINT)  # as a terminal's Ctrl-C does: to the whole group
        going.wait(timeout=90)
        said += os.read(ours, 65536).decode()
    finally:
        os.close(ours)
        if going.poll() is None:
            os.killpg(going.pid, signal.SIGKILL)
            going.wait()
    assert going.returncode == 130
    assert "Traceback" not in said
    if ending == "csv":
        rows = list(csv.reader(path.read_text().splitlines()))
        assert {len(row) for row in rows} == {len(rows[0])}
        whole = len(rows) - 1
    else:
        whole = pyarrow.parquet.read_table(path).num_rows
    assert 0 < whole < 50_000
    assert f"{whole:,} of 50,000 rows are in {path}" in said.replace("\r", "")
