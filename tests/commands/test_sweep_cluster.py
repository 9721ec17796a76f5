"""A sweep on a Dask cluster of this machine: the same table, and nothing lost with a worker."""

from __future__ import annotations

import csv
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import distributed
import pytest

from planner.record.reader import read_record
from planner.verdict.sweep import plan_sweep, run_sweep

ROOT = Path(__file__).parents[2]
OUTING = ROOT / "profiles" / "outings" / "kayak_evening.toml"
UNIT = ROOT / "profiles" / "batteries" / "unit_one.toml"
VARY = "ambient=5 degC:25 degC"


def started(*words: str) -> subprocess.Popen[bytes]:
    """A part of the cluster, in a process group of its own, with this checkout on its path."""
    here = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.Popen([sys.executable, "-m", "distributed.cli." + words[0], *words[1:]], cwd=ROOT, env=here,
                            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True)  # fmt: skip


def ended(process: subprocess.Popen[bytes]) -> None:
    """End a part of the cluster that this test started, and all that it started."""
    if process.poll() is None:
        os.killpg(process.pid, signal.SIGKILL)
    process.wait(timeout=30)


@contextmanager
def cluster(folder: Path) -> Iterator[tuple[str, list[subprocess.Popen[bytes]]]]:
    """Address of a scheduler, and its two workers."""
    where = folder / "scheduler.json"
    parts = [started("dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard",
                     "--scheduler-file", str(where))]  # fmt: skip
    try:
        parts += [
            started("dask_worker", "--scheduler-file", str(where), "--host", "127.0.0.1", "--nthreads", "1",
                    "--no-nanny", "--no-dashboard", "--local-directory", str(folder), "--death-timeout", "60")
            for _ in range(2)
        ]  # fmt: skip
        client = distributed.Client(scheduler_file=str(where), timeout=60, set_as_default=False)
        client.wait_for_workers(2, timeout=60)
        address = client.scheduler.address
        client.close()
        yield address, parts[1:]
    finally:
        for part in reversed(parts):
            ended(part)


@pytest.fixture(scope="module")
def plan():
    return plan_sweep(OUTING, [read_record(UNIT)], [VARY], points=60, seed=7)


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_a_worker_is_killed_halfway_and_nothing_is_lost(tmp_path, plan):
    alone = list(run_sweep(plan))
    with cluster(tmp_path) as (address, workers):
        client = distributed.Client(address, timeout=60, set_as_default=False)
        rows = []
        for row in run_sweep(plan, client.get_executor(), 2, 3):
            rows.append(row)
            if len(rows) == 9:
                ended(workers[0])
        assert len(client.nthreads()) == 1
        client.close()
    assert rows == alone


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_the_command_line_uses_a_cluster_and_outlives_a_worker(tmp_path, plan):
    out = tmp_path / "out.csv"
    words = [sys.executable, "-m", "planner", "sweep", str(OUTING), str(UNIT), "--vary", VARY, "--points", "60",
             "--seed", "7", "-o", str(out)]  # fmt: skip
    with cluster(tmp_path) as (address, workers):
        going = subprocess.Popen([*words, "--cluster", address], cwd=ROOT, stderr=subprocess.PIPE, text=True)
        try:
            end = time.monotonic() + 120.0
            while (
                time.monotonic() < end
                and going.poll() is None
                and not (out.exists() and out.stat().st_size > 600)
            ):
                time.sleep(0.02)
            ended(workers[1])
            done_before = out.read_bytes().count(b"\n") - 1
            said = going.communicate(timeout=120)[1]
        finally:
            going.kill()
            going.wait()
    assert (going.returncode, "Traceback" in said) == (0, False), said
    assert done_before < 60
    with out.open(newline="") as stream:
        found = list(csv.reader(stream))[1:]
    expected = [["" if cell is None else cell if isinstance(cell, str) else repr(float(cell)) for cell in row]
                for row in run_sweep(plan)]  # fmt: skip
    assert found == expected


def test_a_cluster_that_is_not_there_is_told_without_a_traceback(monkeypatch, capsys):
    from planner.cli import main
    from planner.commands import executors

    monkeypatch.setattr(executors, "REACHED_WITHIN_S", 0.5)
    words = ["sweep", str(OUTING), str(UNIT), "--vary", VARY, "--points", "2", "--cluster"]
    assert main([*words, "tcp://127.0.0.1:9"]) == 2
    assert "not reached" in capsys.readouterr().err
    assert main([*words, "no address"]) == 2
    assert "not reached" in capsys.readouterr().err


def test_without_dask_the_way_to_get_it_is_told(monkeypatch, capsys):
    from planner.cli import main

    monkeypatch.setitem(sys.modules, "distributed", None)
    words = [
        "sweep",
        str(OUTING),
        str(UNIT),
        "--vary",
        VARY,
        "--points",
        "2",
        "--cluster",
        "tcp://127.0.0.1:9",
    ]
    assert main(words) == 2
    assert "pip install distributed" in capsys.readouterr().err
