"""A sweep of a 24 h outing: does its time grow as its rows, does its memory stay, do two processes halve it.

    python tests/benchmarks/sweep_scaling.py [ROWS] [DRAWS]

ROWS of the largest run (1,600; 100,000 for the full proof), DRAWS of every row (0). Every run is a process of its
own and measures its own processor time, which other work on the machine lengthens far less than the clock; each is
made twice and the better one kept. With two processes the clock is shown beside the share of the processors that was
had, and the gain is told of processor time: one process's over what the busier of two has to do, the parent's half
included.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import active_children, get_context
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
UNIT = ROOT / "profiles" / "batteries" / "unit_one.toml"
REPEATS = 2
KILO = 1024.0
OUTING = """
format = 1
name = "A day and a night (invented)"
duration = "24 h"
ambient = "12 degC"
reserve = "20 %"
[[load]]
name = "motor"
kind = "current"
current = "12 A"
use = [
  { start = "0 min", length = "3 h", on = "5 min", off = "10 min" },
  { start = "8 h", length = "2 h" },
]
evidence = "measured"
[[load]]
name = "lights"
kind = "power"
power = "15 W"
use = [{ start = "2 h", length = "20 h" }]
"""


def processor_s(pid: int) -> float:
    """User and system time of a process [s], as the kernel tells it."""
    fields = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8").rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def most_mb(pid: int) -> float:
    """Most memory a process ever held [MB]."""
    text = Path(f"/proc/{pid}/status").read_text(encoding="utf-8")
    return float(text.split("VmHWM:")[1].split()[0]) / KILO


def measure(rows: int, workers: int, draws: int) -> dict[str, float]:
    """One run in this process. A few rows first, so that neither imports nor the processes' start are measured."""
    from planner.record.reader import read_record
    from planner.verdict.sweep import plan_sweep, run_blocks, usual_block

    with tempfile.TemporaryDirectory() as folder:
        outing = Path(folder) / "day.toml"
        outing.write_text(OUTING, encoding="utf-8")
        record = read_record(UNIT)
        ranges = ["load.1.current=5 A:20 A", "ambient=0 degC:25 degC"]
        warm = plan_sweep(outing, [record], ranges, draws, points=4 * workers)
        sweep = plan_sweep(outing, [record], ranges, draws, points=rows)
        executor = None if workers == 1 else ProcessPoolExecutor(workers, mp_context=get_context("spawn"))
        counted = sum(len(block) for block in run_blocks(warm, executor, workers, 1))
        before = {child.pid: processor_s(child.pid) for child in active_children()}
        clock, own = time.perf_counter(), time.process_time()
        size = usual_block(sweep, 2)  # for one process too: how many rows run together is not what is compared
        counted = sum(len(block) for block in run_blocks(sweep, executor, workers, size))
        assert counted == rows
        clock, own = time.perf_counter() - clock, time.process_time() - own
        others = [processor_s(pid) - began for pid, began in before.items()]
        memory = max([most_mb(os.getpid()), *(most_mb(pid) for pid in before)])
        if executor is not None:
            executor.shutdown()
    busiest = max([*others, 0.5 * (own + sum(others))]) if others else own
    return {"clock_s": clock, "cpu_s": own + sum(others), "busiest_s": busiest, "memory_mb": memory}


def apart(rows: int, workers: int, draws: int) -> dict[str, float]:
    """The best of several runs, each in a process of its own."""
    one_thread = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    found = []
    for _ in range(REPEATS):
        words = [sys.executable, __file__, "--one", str(rows), str(workers), str(draws)]
        path = os.pathsep.join(filter(None, [str(ROOT), os.environ.get("PYTHONPATH")]))
        done = subprocess.run(words, env={**os.environ, **one_thread, "PYTHONPATH": path}, check=True,
                              stdout=subprocess.PIPE, text=True)  # fmt: skip
        found.append(json.loads(done.stdout))
    best = min(found, key=lambda one: one["cpu_s"])
    best["memory_mb"] = max(one["memory_mb"] for one in found)
    return best


def interpreter_mb() -> float:
    """Memory of an interpreter that does nothing [MB]."""
    code = "import resource; print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"
    return float(subprocess.run([sys.executable, "-c", code], check=True, capture_output=True).stdout) / KILO


def main() -> None:
    """Print one line a size, then the ratios."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 1600
    draws = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    bare = interpreter_mb()
    runs = {}
    for size in (rows // 4, rows // 2, rows):
        runs[size] = found = apart(size, 1, draws)
        print(f"{size:>7,} rows: {1e3 * found['cpu_s'] / size:6.2f} ms a row of processor time, "
              f"{found['memory_mb'] - bare:4.0f} MB above the interpreter", flush=True)  # fmt: skip
    print(f"time from a quarter to all rows: {runs[rows]['cpu_s'] / runs[rows // 4]['cpu_s']:.2f} x (4 is linear)")
    print(f"memory from a quarter to all rows: {runs[rows]['memory_mb'] - runs[rows // 4]['memory_mb']:+.0f} MB")
    two = apart(rows, 2, draws)
    share = two["cpu_s"] / two["clock_s"]
    print(f"two processes: {runs[rows]['cpu_s'] / two['busiest_s']:.2f} x by processor time; by the clock "
          f"{runs[rows]['clock_s'] / two['clock_s']:.2f} x, with {share:.2f} processors had of 2 asked for "
          f"(one process: {runs[rows]['cpu_s'] / runs[rows]['clock_s']:.2f} of 1); "
          f"{two['memory_mb'] - bare:.0f} MB in the larger process")  # fmt: skip


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        print(json.dumps(measure(*(int(word) for word in sys.argv[2:]))))
    else:
        main()
