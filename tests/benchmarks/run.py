"""Everything that is measured, in one table of ratios within one run; never fails on time.

    python -m tests.benchmarks.run [--quick]

Each time is the least of several processor times, since other work may share the machine; LSODA and the library are
timed on a few scenarios and scaled. --quick takes small sizes, to see that all of it runs.
"""

from __future__ import annotations

import ctypes
import dataclasses
import math
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from typing import NamedTuple

import numpy as np

from planner.battery.fit import fit_record
from planner.library.place import DEMO
from planner.outing.reader import read_outing
from planner.record.reader import read_record
from planner.simulate.engine import simulate
from planner.verdict.assess import assess
from planner.verdict.sweep import plan_sweep, run_sweep
from planner.winter.reader import read_climate
from planner.winter.weather_source import load_weather
from tests.benchmarks import c_loop
from tests.benchmarks.c_loop import Floats
from tests.benchmarks.engine_speed import best_of_both, day_in_minutes, packs, peak_bytes
from tests.benchmarks.log_reading import PANDAS, SUMMARY, measured, write_log
from tests.oracles.circuit_truth import CircuitParameters, forever, library_run, lsoda_run
from tests.oracles.pieces import LoadPiece
from tests.simulate.invented_packs import circuit_of, setup_of, timeline_of

ROOT = Path(__file__).parents[2]
SAMPLE = 3
QUICK = "--quick" in sys.argv[1:]
START = {
    "check": [sys.executable, "-m", "planner", "check", "unit_one"],
    "fit": [sys.executable, "-m", "planner", "fit", "unit_one", "trolling_day"],
    "limits": [sys.executable, "-m", "planner", "limits", "unit_one", "trolling_day"],
    "the app's first page": [sys.executable, "-c", "from streamlit.testing.v1 import AppTest; p = AppTest.from_file('app.py', "
                             "default_timeout=120); p.run(); assert not p.exception"],
    "an empty interpreter": [sys.executable, "-c", ""],
}  # fmt: skip


def row(what: str, value: str, note: str = "") -> None:
    print(f"{what:52s} {value:>14s}  {note}", flush=True)


def least_s(work: Callable[[], object], repeats: int = 3) -> float:
    """The least processor time of several [s], all threads of this process."""
    times = []
    for _ in range(1 if QUICK else repeats):
        began = time.process_time()
        work()
        times.append(time.process_time() - began)
    return min(times)


def engine() -> None:
    loads = day_in_minutes()[: 120 if QUICK else None]
    for count in (50,) if QUICK else (500, 2000):
        crowd = packs(count)
        circuit, line = circuit_of(crowd), timeline_of(loads)
        once = setup_of(count, repeat=False, keep_trace=False)
        engine_s = least_s(lambda: simulate(circuit, line, once))  # noqa: B023  called at once
        row(f"engine, {count} packs, {len(loads)} minutes", f"{1e3 * engine_s:.0f} ms",
            f"peak {peak_bytes(lambda: simulate(circuit, line, once)) / 1e6:.0f} MB")  # noqa: B023  # fmt: skip
        slow_s = least_s(lambda: [lsoda_run(pack, loads) for pack in crowd[:SAMPLE]], 1) / SAMPLE * count  # noqa: B023
        row(
            "  LSODA one by one / engine",
            f"{slow_s / engine_s:,.0f} x",
            f"{slow_s:.0f} s, timed on {SAMPLE} and scaled",
        )
        beside_c(count, lambda: simulate(circuit, line, once))  # noqa: B023  called at once
    if QUICK:
        return
    found = simulate(circuit_of(crowd[:SAMPLE]), line, setup_of(SAMPLE))
    worst = max(
        abs(float(found.end_s[k]) / lsoda_run(crowd[k], forever(loads)).runtime_s - 1.0)
        for k in range(SAMPLE)
    )
    row("  runtime against LSODA, worst", f"{worst:.1e}", f"of {SAMPLE}, the day repeated to the end")
    if find_spec("pybamm") is None:
        row("  library's circuit", "not there", "pip install -r tests/requirements.txt")
    else:
        some = loads[:60]
        library_s = least_s(lambda: library_run(crowd[0], some), 1) / len(some) * len(loads) * count
        row(
            "  library's circuit one by one / engine",
            f"{library_s / engine_s:,.0f} x",
            f"{library_s:.0f} s, timed on an hour and scaled",
        )


def beside_c(count: int, engine_work: Callable[[], object]) -> None:
    """The same packs and minutes in a plain C loop, in turns: as many steps, then as many as make its energy as right."""
    loads, crowd = day_in_minutes()[: 120 if QUICK else None], packs(count)
    with tempfile.TemporaryDirectory() as folder:
        library = c_loop.compiled(Path(folder))
        if library is None:
            row("  engine / plain C loop", "no compiler", "cc was not found")
            return
        ours, theirs = errors_of(library, crowd[:SAMPLE], loads)
        as_right = next((parts for parts, off in theirs.items() if off.energy <= ours.energy), max(PARTS))
        for steps, asked in ((1, "equal steps"), (as_right, "equal energy error")):
            given, _ = c_loop.arguments(crowd, parted(loads, steps), 298.15, 298.15)
            engine_s, c_s = best_of_both(engine_work, lambda: c_loop.call(library, given))  # noqa: B023  called at once
            row(
                f"  engine / plain C loop, {asked}",
                f"{engine_s / c_s:.2f} x",
                f"C {1e3 * c_s:.0f} ms, {steps} a minute; off in energy and runtime: C {theirs[steps]}, engine {ours}",
            )


PARTS = (1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 16)  # steps a minute that the C loop is tried with
FINE = 16  # steps a minute of the engine that both are measured against; each is second order


class Off(NamedTuple):
    """Worst relative errors: energy of the outing, and runtime with the outing repeated to the end."""

    energy: float
    runtime: float

    def __str__(self) -> str:
        return f"{self.energy:.1e} and {self.runtime:.1e}"


def parted(loads: list[LoadPiece], parts: int) -> list[LoadPiece]:
    """The same loads, each in that many equal pieces: the C loop takes a step a piece."""
    return [dataclasses.replace(load, length_s=load.length_s / parts) for load in loads for _ in range(parts)]


def errors_of(
    library: ctypes.CDLL, crowd: list[CircuitParameters], loads: list[LoadPiece]
) -> tuple[Off, dict[int, Off]]:
    """How far the engine is off, and the C loop by its steps a minute; both against the engine in FINE steps."""

    def engine_told(parts: int) -> tuple[Floats, Floats]:
        circuit, line = circuit_of(crowd), timeline_of(parted(loads, parts))
        once = setup_of(len(crowd), repeat=False, keep_trace=False)
        return simulate(circuit, line, once).mark_energy_j, simulate(circuit, line, setup_of(len(crowd))).end_s

    exact_j, exact_s = engine_told(FINE)

    def off(told: tuple[Floats, Floats]) -> Off:
        return Off(float(np.max(np.abs(told[0] / exact_j - 1.0))), float(np.max(np.abs(told[1] / exact_s - 1.0))))

    outings = math.ceil(float(exact_s.max()) / sum(load.length_s for load in loads)) + 1
    theirs = {}
    for parts in PARTS:
        told = []
        for times, column in ((1, 3), (outings, 0)):
            given, out = c_loop.arguments(crowd, parted(loads, parts) * times, 298.15, 298.15)
            c_loop.call(library, given)
            told.append(out[:, column])
        theirs[parts] = off((told[0], told[1]))
    return off(engine_told(1)), theirs


def answers() -> None:
    record, outing = (
        read_record(DEMO / "batteries" / "unit_one.toml"),
        read_outing(DEMO / "outings" / "trolling_day.toml"),
    )
    fitted = fit_record(record)
    draws = 50 if QUICK else 500
    row("fit of a record", f"{1e3 * least_s(lambda: fit_record(record)):.0f} ms")
    row(
        f"answer, {draws} draws, record fitted",
        f"{1e3 * least_s(lambda: assess(record, outing, draws=draws, fitted=fitted)):.0f} ms",
    )
    bank = read_outing(DEMO / "outings" / "bank_motor.toml")
    bank_s = least_s(lambda: assess(record, bank, draws=draws, fitted=fitted), 2)
    row(f"answer of a bank of two, {draws} draws", f"{1e3 * bank_s:.0f} ms")
    climate = read_climate(DEMO / "climates" / "cold-lake.toml")
    weather_s = least_s(lambda: load_weather(climate))
    row("weather of a year from monthly means", f"{1e3 * weather_s:.0f} ms")
    years = least_s(lambda: _winter(draws // 5), 2)
    row(f"winter, {draws // 5} drawn years of 8,760 hours, both gates", f"{1e3 * years:.0f} ms")


def _winter(years: int) -> object:
    from planner.explain.winter_answer import answer_winter

    record, climate = (
        read_record(DEMO / "batteries" / "unit_one.toml"),
        read_climate(DEMO / "climates" / "cold-lake.toml"),
    )
    return answer_winter(record, climate, years, 1)


def sweeps() -> None:
    path, record = DEMO / "outings" / "kayak_evening.toml", read_record(DEMO / "batteries" / "unit_one.toml")
    base = None
    for rows in (20, 40) if QUICK else (100, 200, 400):
        sweep = plan_sweep(path, [record], [f"ambient=5 degC:15 degC:{rows}"])
        seconds = least_s(lambda: list(run_sweep(sweep)), 2)  # noqa: B023  called at once
        base = base or seconds / rows
        row(
            f"sweep of {rows} rows",
            f"{1e3 * seconds / rows:.1f} ms a row",
            f"{seconds / rows / base:.2f} of the cost at the first",
        )


def logs() -> None:
    rows = 100_000 if QUICK else 2_000_000
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "long.csv"
        write_log(path, rows)
        pandas_s, pandas_mb = min(measured(PANDAS, path) for _ in range(2))
        ours_s, ours_mb = min(measured(SUMMARY, path) for _ in range(2))
    row(
        f"log of {rows:,} rows / pandas reading it",
        f"{ours_s / pandas_s:.2f} x",
        f"{ours_mb:.0f} MB against {pandas_mb:.0f} MB",
    )


def starts() -> None:
    """A command from nothing to its answer: processor time, and the largest memory of the process."""
    for name, command in START.items():
        times = []
        for _ in range(1 if QUICK else 3):
            before = resource.getrusage(resource.RUSAGE_CHILDREN)
            began = time.monotonic()
            subprocess.run(command, cwd=ROOT, check=True, capture_output=True, timeout=300)
            after = resource.getrusage(resource.RUSAGE_CHILDREN)
            times.append(
                (
                    after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime,
                    time.monotonic() - began,
                )
            )
        row(
            f"start of {name}",
            f"{min(times)[0]:.2f} s",
            f"{min(wall for _, wall in times):.2f} s on the clock, {_peak_mb(command):.0f} MB",
        )


def _peak_mb(command: list[str]) -> float:
    """Largest memory of a command, from a parent of its own, as a maximum over all children would hide it."""
    ask = "import resource, subprocess, sys; subprocess.run(sys.argv[1:], capture_output=True); " \
          "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"  # fmt: skip
    done = subprocess.run(
        [sys.executable, "-c", ask, *command],
        cwd=ROOT,
        check=True,
        capture_output=True,
        text=True,
        timeout=300,
    )
    return int(done.stdout) / 1024.0


def main() -> int:
    for part in (engine, answers, sweeps, logs, starts):
        part()
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
