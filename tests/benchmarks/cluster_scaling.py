"""A sweep on a Dask cluster of this machine, one worker and two: how evenly the work is shared, and what sharing costs.

    python -m tests.benchmarks.cluster_scaling [ROWS]

ROWS of the sweep (800). Told of processor time, as in `sweep_scaling`: what one worker needs over what the busier of two
has to do. Scheduler and workers are started and ended by this script, on 127.0.0.1.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from tests.benchmarks.sweep_scaling import OUTING, UNIT, processor_s


def measure(rows: int, workers: int) -> tuple[float, float, float]:
    """Processor time of all workers and of the busiest [s], and the clock's [s]."""
    import distributed

    from planner.record.reader import read_record
    from planner.verdict.sweep import plan_sweep, run_blocks, usual_block

    with tempfile.TemporaryDirectory() as folder:
        outing = Path(folder) / "day.toml"
        outing.write_text(OUTING, encoding="utf-8")
        ranges = ["load.1.current=5 A:20 A", "ambient=0 degC:25 degC"]
        warm, sweep = (plan_sweep(outing, [read_record(UNIT)], ranges, points=n) for n in (8 * workers, rows))
        cluster = distributed.LocalCluster(n_workers=workers, threads_per_worker=1, dashboard_address=None,
                                           host="127.0.0.1", local_directory=folder)  # fmt: skip
        with cluster, distributed.Client(cluster, set_as_default=False) as client:
            pids = client.run(__import__("os").getpid).values()
            list(run_blocks(warm, client.get_executor(), workers, 1))
            before = [processor_s(pid) for pid in pids]
            began = time.perf_counter()
            counted = sum(
                len(block)
                for block in run_blocks(sweep, client.get_executor(), workers, usual_block(sweep, 2))
            )
            clock = time.perf_counter() - began
            each = [processor_s(pid) - first for pid, first in zip(pids, before, strict=True)]
    assert counted == rows
    return sum(each), max(each), clock


def main() -> None:
    """One line a number of workers, then the gain."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 800
    found = {workers: measure(rows, workers) for workers in (1, 2)}
    for workers, (whole, busiest, clock) in found.items():
        print(f"{workers} worker(s): {1e3 * whole / rows:.2f} ms a row of processor time, the busiest {busiest:.1f} s, "
              f"{clock:.1f} s by the clock")  # fmt: skip
    print(
        f"two against one: {found[1][1] / found[2][1]:.2f} x by processor time, {found[1][2] / found[2][2]:.2f} x by the clock"
    )


if __name__ == "__main__":
    main()
