"""A long log summarised, beside pandas reading the same file: time as a ratio, and peak memory.

Run: python tests/benchmarks/log_reading.py [rows]     10 million rows unless stated (about 240 MB on disk)
Each measurement is a process of its own, so neither inherits the other's memory; the two take turns,
and the ratio is that of the fastest runs.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

ROWS = 10_000_000
TURNS = 3
ALLOWED_RATIO = 2.0
ALLOWED_PEAK_MB = 500.0

MEASURE = """
import re, sys, time
from pathlib import Path
import numpy, pandas, pyarrow.csv, scipy.optimize
# VmHWM starts afresh with the program; ru_maxrss would carry over the size of the process that started it.
def peak_mb(): return int(re.search("VmHWM:\\\\s+(\\\\d+)", Path("/proc/self/status").read_text())[1]) / 1024.0
path, before = Path(sys.argv[1]), peak_mb()
start = time.perf_counter()
{work}
print(time.perf_counter() - start, peak_mb() - before)
"""
SUMMARY = """
from planner.record.log_summary import summarise_log
assert summarise_log(path).rows > 0
"""
PANDAS = 'pandas.read_csv(path, engine="pyarrow")'


def write_log(path: Path, rows: int) -> None:
    """A log at 10 Hz of a load that changes every 300 s, with noise; invented."""
    import numpy as np
    import pyarrow as pa
    from pyarrow import csv

    rng = np.random.default_rng(1)
    time_s = np.arange(rows) * 0.1
    current_a = np.where((time_s // 300.0) % 2 == 0, 20.0, 100.0) + rng.normal(0.0, 0.05, rows)
    voltage_v = 13.2 - 0.003 * current_a - 0.5 * time_s / time_s[-1] + rng.normal(0.0, 0.001, rows)
    columns = {
        "Time (s)": np.round(time_s, 1),
        "Voltage (V)": np.round(voltage_v, 4),
        "Current (A)": np.round(current_a, 3),
    }
    csv.write_csv(pa.table(columns), path)


def measured(work: str, path: Path) -> tuple[float, float]:
    """Seconds and peak memory [MB] above the interpreter with its libraries, in a process of its own."""
    run = subprocess.run(
        [sys.executable, "-c", MEASURE.format(work=work), str(path)],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).parents[2],
    )
    seconds, peak_mb = run.stdout.split()
    return float(seconds), float(peak_mb)


def main() -> int:
    """Print the ratio and the peak; return 1 when either is above what is allowed."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else ROWS
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "long.csv"
        write_log(path, rows)
        turns = [(measured(PANDAS, path), measured(SUMMARY, path)) for _ in range(TURNS)]
    pandas_s = min(pandas[0] for pandas, _ in turns)
    summary_s = min(summary[0] for _, summary in turns)
    peak_mb = max(summary[1] for _, summary in turns)
    pandas_mb = max(pandas[1] for pandas, _ in turns)
    ratio = summary_s / pandas_s
    print(f"{rows} rows: pandas reads in {pandas_s:.2f} s ({pandas_mb:.0f} MB)")
    print(f"summary of the log in {summary_s:.2f} s ({peak_mb:.0f} MB above the interpreter)")
    print(
        f"ratio {ratio:.2f} (allowed {ALLOWED_RATIO}), peak {peak_mb:.0f} MB (allowed {ALLOWED_PEAK_MB:.0f} MB)"
    )
    return int(ratio > ALLOWED_RATIO or peak_mb > ALLOWED_PEAK_MB)


if __name__ == "__main__":
    raise SystemExit(main())
