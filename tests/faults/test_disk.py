"""Files that change or vanish while they are read, and disks that fill up while a table is written."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest

from planner.errors import InputRefused
from planner.log_file import read_columns
from planner.log_file.replaced import unchanged
from planner.winter.weather_file import read_weather
from tests.winter.weather_writer import epw, tmy3

ROOT = Path(__file__).parents[2]
READS = 12
SWEEP = ("sweep", "kayak_evening", "unit_one", "--vary", "ambient=5 degC:15 degC:16")


def log_text(volts: float, swapped: bool) -> str:
    """Logs alike but for their numbers and the order of two columns: a mixture of both would still look sound."""
    head = "Time (s),Current (A),Voltage (V)" if swapped else "Time (s),Voltage (V),Current (A)"
    rows = (f"{second},5,{volts}" if swapped else f"{second},{volts},5" for second in range(20_000))
    return "\n".join([head, *rows]) + "\n"


@contextmanager
def replaced_all_the_time(path: Path, texts: tuple[str, str], in_place: bool) -> Iterator[None]:
    """Another thread puts the one text and the other in the file's place, as a whole or by writing over it."""
    done = threading.Event()

    def work() -> None:
        number = 0
        while not done.is_set():
            number += 1
            if in_place:
                path.write_text(texts[number % 2], encoding="utf-8")
            else:
                fresh = path.with_name(f"fresh-{number}")
                fresh.write_text(texts[number % 2], encoding="utf-8")
                fresh.replace(path)
            done.wait(0.005)

    path.write_text(texts[0], encoding="utf-8")
    worker = threading.Thread(target=work)
    worker.start()
    try:
        yield
    finally:
        done.set()
        worker.join()


@pytest.mark.parametrize("in_place", [False, True])
def test_a_log_replaced_while_it_is_read_is_the_one_or_the_other_or_refused(
    tmp_path: Path, in_place: bool
) -> None:
    path, refused = tmp_path / "log.csv", 0
    with replaced_all_the_time(path, (log_text(13.0, False), log_text(12.0, True)), in_place):
        for _ in range(READS):
            try:
                found = read_columns(path, required=("time", "voltage", "current"))
            except InputRefused:
                refused += 1
                continue
            assert found.voltage_v is not None and found.current_a is not None
            assert np.unique(found.current_a).tolist() == [5.0]
            assert np.unique(found.voltage_v).tolist() in ([12.0], [13.0])
            assert found.rows == 20_000
    assert refused > 0  # else nothing was replaced in the midst


@pytest.mark.parametrize(("ending", "write"), [("epw", epw), ("csv", tmy3)])
def test_a_weather_file_replaced_while_it_is_read_is_the_one_or_the_other_or_refused(
    tmp_path: Path, ending: str, write: Callable[..., str]
) -> None:
    path = tmp_path / f"year.{ending}"
    texts = write(air=lambda row: 1.0), write(air=lambda row: 2.0)
    with replaced_all_the_time(path, texts, in_place=False):
        for _ in range(READS):
            try:
                air_k = read_weather(path).air_k
            except InputRefused:
                continue
            assert np.unique(air_k).size == 1
    assert np.unique(read_weather(path).air_k).size == 1  # the last one put there


@pytest.mark.parametrize(
    "deed", [Path.unlink, lambda path: path.write_text("other"), lambda path: os.utime(path, (1, 1))]
)
def test_any_change_of_a_file_in_use_is_seen(tmp_path: Path, deed: Callable[[Path], object]) -> None:
    path = tmp_path / "a.csv"
    path.write_text("first")
    with pytest.raises(InputRefused, match="changed while it was read"), unchanged(path):
        deed(path)
    if path.exists():
        with unchanged(path):
            pass


def limited(*words: str, kilobytes: int) -> subprocess.CompletedProcess[str]:
    """A command that may write no file longer than this, as on a disk that is nearly full."""
    shell = f"ulimit -f {kilobytes}; trap '' XFSZ; exec \"$@\""
    command = ["bash", "-c", shell, "bash", sys.executable, "-m", "planner", *words]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=100, check=False)


@pytest.mark.parametrize("ending", ["csv", "parquet"])
def test_a_disk_that_fills_up_while_a_table_is_written_is_told(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"out.{ending}"
    done = limited(*SWEEP, "-o", str(path), kilobytes=1)
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert str(path) in done.stderr
    if ending == "csv":
        assert "no room left on the disk" in done.stderr
        assert path.read_text(encoding="utf-8").startswith("battery,")  # the rows before are there


def test_a_standard_output_that_is_full_is_told() -> None:
    with Path("/dev/full").open("w") as full:
        done = subprocess.run([sys.executable, "-m", "planner", "check", "unit_one"], cwd=ROOT, stdout=full,
                              stderr=subprocess.PIPE, text=True, timeout=100, check=False)  # fmt: skip
    assert done.returncode == 2
    assert "standard output: (file) is no room left on the disk" in done.stderr
    assert "Traceback" not in done.stderr
