"""How fast the engine is, as ratios measured side by side in one run.

    python -m tests.benchmarks.engine_speed

Each time is the least of several, since other work may share the machine. The one-by-one solution (LSODA, rtol
1e-8) is timed on a few scenarios and scaled to all of them; that is said in the output.
"""

from __future__ import annotations

import dataclasses
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from planner.battery.fit import fit_record
from planner.battery.join import join_units
from planner.simulate.engine import simulate, simulate_in_blocks
from planner.verdict.assess import assess
from tests.oracles.circuit_truth import CircuitParameters, forever, lsoda_run
from tests.oracles.pieces import LoadPiece
from tests.simulate.invented_packs import LIVELY, circuit_of, setup_of, timeline_of
from tests.verdict.invented_bench import MOTOR_HOUR, RESERVOIR_DAY, STURDY, read_need, read_unit, write_log

SCENARIOS = 500
SAMPLE = 3
REPEATS = 5
CLOCK = time.process_time  # a fair measure beside one that runs on one processor alone


def day_in_minutes(seed: int = 1) -> list[LoadPiece]:
    """24 h of 1,440 different minutes, about 3.5 A on average so that a full day is lived through (invented)."""
    amps = np.random.default_rng(seed).gamma(1.5, 2.2, 1440)
    return [LoadPiece(60.0, current_a=float(a)) for a in amps]


def packs(count: int, seed: int = 2) -> list[CircuitParameters]:
    """Packs that differ in charge, resistance and diffusion."""
    rng = np.random.default_rng(seed)
    return [
        dataclasses.replace(LIVELY, q_c=LIVELY.q_c * float(c), r_cell_ohm=LIVELY.r_cell_ohm * float(r), tau_d_s=float(t))
        for c, r, t in zip(rng.normal(1, 0.04, count), rng.lognormal(0, 0.2, count), rng.uniform(300, 1200, count),
                           strict=True)
    ]  # fmt: skip


def least_s(work: Callable[[], object], repeats: int = REPEATS, clock: Callable[[], float] = CLOCK) -> float:
    """Shortest of several times [s]: of the processors, or by the clock where that is asked for."""
    times = []
    for _ in range(repeats):
        begin = clock()
        work()
        times.append(clock() - begin)
    return min(times)


def peak_bytes(work: Callable[[], object]) -> int:
    """Largest memory Python and numpy held at once during the work."""
    tracemalloc.start()
    work()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak


def against_lsoda() -> None:
    crowd, loads = packs(SCENARIOS), day_in_minutes()
    circuit, line = circuit_of(crowd), timeline_of(loads)
    once = setup_of(SCENARIOS, repeat=False, keep_trace=False)
    engine_s = least_s(lambda: simulate(circuit, line, once))
    wall_s = least_s(lambda: simulate(circuit, line, once), clock=time.perf_counter)
    begin = CLOCK()
    slow = [lsoda_run(pack, loads) for pack in crowd[:SAMPLE]]
    slow_s = (CLOCK() - begin) / SAMPLE * SCENARIOS
    print(
        f"{SCENARIOS} scenarios x 24 h x 1 min: engine {1e3 * engine_s:.0f} ms of processor time, "
        f"{1e3 * wall_s:.0f} ms by the clock; LSODA {slow_s:.0f} s (timed on {SAMPLE}, scaled); ratio {slow_s / engine_s:,.0f}"
    )
    full = simulate(circuit_of(crowd[:SAMPLE]), line, setup_of(SAMPLE))
    worst = max(
        abs(float(full.end_s[k]) / lsoda_run(crowd[k], forever(loads)).runtime_s - 1.0) for k in range(SAMPLE)
    )
    assert all(run.ended_by == "end" for run in slow)
    print(f"runtime of the same outing repeated to the end: worst of {SAMPLE} off by {worst:.1e}")


def linear_in_scenarios() -> None:
    line, base = timeline_of(day_in_minutes()), None
    for count in (100, 1000, 10_000):
        circuit, setup = circuit_of(packs(count)), setup_of(count, repeat=False, keep_trace=False)

        def work(circuit=circuit, setup=setup):  # type: ignore[no-untyped-def]
            return simulate_in_blocks(circuit, line, setup)

        seconds = least_s(work, 3 if count < 10_000 else 2)
        base = base or seconds / count
        print(
            f"{count:6d} scenarios: {seconds:.2f} s, {1e6 * seconds / count:.0f} us each, "
            f"{seconds / count / base:.2f} of the cost at 100; peak {peak_bytes(work) / 1e6:.0f} MB beyond the inputs"
        )


def linear_in_steps() -> None:
    circuit, setup = circuit_of(packs(SCENARIOS)), setup_of(SCENARIOS, repeat=False, keep_trace=False)
    loads, base = day_in_minutes(), None
    for pieces in (360, 720, 1440):
        line = timeline_of(loads[:pieces])
        seconds = least_s(lambda line=line: simulate(circuit, line, setup))  # type: ignore[misc]
        base = base or seconds / pieces
        print(
            f"{pieces:5d} pieces: {1e3 * seconds:.0f} ms, {seconds / pieces / base:.2f} of the cost a piece at 360"
        )


def bank_of_four() -> None:
    """Four branches under four times the load against one unit: cost of Kirchhoff's laws at every step."""
    day = day_in_minutes()
    four = [dataclasses.replace(load, current_a=4.0 * load.current_a) for load in day]
    once = setup_of(SCENARIOS, repeat=False, keep_trace=False)
    leads = np.array([1.2e-3, 2.6e-3, 1.8e-3, 1.4e-3])
    single, line = circuit_of(packs(SCENARIOS)), timeline_of(day)
    bank = join_units([circuit_of(packs(SCENARIOS, seed)) for seed in (2, 3, 4, 5)], 4, 1)
    joined, shared = timeline_of(four), dataclasses.replace(once, lead_ohm=leads)
    one_s, four_s = best_of_both(lambda: simulate(single, line, once), lambda: simulate(bank, joined, shared))
    print(
        f"bank of four, {SCENARIOS} scenarios x 24 h: {1e3 * four_s:.0f} ms against {1e3 * one_s:.0f} ms for one unit: "
        f"{four_s / one_s:.2f} times"
    )


def best_of_both(first: Callable[[], object], second: Callable[[], object]) -> tuple[float, float]:
    """Least processor time of each [s], taken in turns so that other work on the machine meets both."""
    times: tuple[list[float], list[float]] = ([], [])
    for _ in range(REPEATS):
        for work, kept in zip((first, second), times, strict=True):
            begin = time.process_time()
            work()
            kept.append(time.process_time() - begin)
    return min(times[0]), min(times[1])


def whole_answers() -> None:
    with TemporaryDirectory() as name:
        folder = Path(name)
        write_log(folder / "motor.csv", MOTOR_HOUR * 5)
        record, outing = read_unit(folder, STURDY), read_need(folder, RESERVOIR_DAY)
        fitted = fit_record(record)
        fit_s = least_s(lambda: fit_record(record), clock=time.perf_counter)
        assess_s = least_s(lambda: assess(record, outing, draws=500, fitted=fitted), clock=time.perf_counter)
        both_s = least_s(lambda: assess(record, outing, draws=500), clock=time.perf_counter)
    print(
        f"assess of a day outing with 500 draws: {1e3 * both_s:.0f} ms; of it the fit {1e3 * fit_s:.0f} ms, "
        f"the rest {1e3 * assess_s:.0f} ms"
    )


if __name__ == "__main__":
    bank_of_four()
    against_lsoda()
    linear_in_scenarios()
    linear_in_steps()
    whole_answers()
