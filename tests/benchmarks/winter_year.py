"""How fast a year of charging is, as ratios measured side by side in one run.

    python -m tests.benchmarks.winter_year

A year of 8,760 hours for 200 drawn weather years, both ends of the gate, beside the same years one by one (timed on a
few and scaled); each usual change beside the place as it is. Processor time, the least of several, taken in turns.
"""

from __future__ import annotations

import time
import tracemalloc
from collections.abc import Callable
from dataclasses import replace

from planner.winter.mitigation import usual_variants
from planner.winter.outlook import drawn_years
from tests.winter.invented_year import CLIMATE, TESTED, UNIT, WEATHER

YEARS, SAMPLE, REPEATS = 200, 3, 3


def least_s(works: dict[str, Callable[[], object]]) -> dict[str, float]:
    """Least processor time of each [s]."""
    least = dict.fromkeys(works, float("inf"))
    for _ in range(REPEATS):
        for name, work in works.items():
            begin = time.process_time()
            work()
            least[name] = min(least[name], time.process_time() - begin)
    return least


def peak_mb(draws: int) -> float:
    """Largest memory held at once [MB]."""
    tracemalloc.start()
    drawn_years(CLIMATE, WEATHER, UNIT, TESTED, draws)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / 1e6


def main() -> None:
    """Print the ratios."""
    variants = {one.id: one for one in usual_variants(CLIMATE, UNIT, TESTED)}
    pad = variants["heater"]
    assert pad.climate.heater is not None
    on_battery = replace(pad.climate, heater=replace(pad.climate.heater, fed_by="battery"))
    variants["heater fed by the battery"] = replace(pad, climate=on_battery)

    def work(variant, draws):  # type: ignore[no-untyped-def]
        return lambda: drawn_years(variant.climate, WEATHER, variant.unit, TESTED, draws)

    works = {name: work(one, YEARS) for name, one in variants.items()}
    works["one by one"] = lambda: [work(variants["as_is"], 1)() for _ in range(SAMPLE)]
    took = least_s(works)
    plain = took["as_is"]
    singly = took.pop("one by one") / SAMPLE * YEARS
    print(
        f"{YEARS} years at once {plain:.2f} s; one by one {singly:.0f} s (timed on {SAMPLE}, scaled): {singly / plain:.0f} times"
    )
    for name, seconds in took.items():
        print(f"{name}: {seconds:.2f} s, {seconds / plain:.2f} times the place as it is")
    few, many = peak_mb(YEARS), peak_mb(3 * YEARS)
    print(f"peak memory {few:.0f} MB at {YEARS} years, {many:.0f} MB at {3 * YEARS}: {many / few:.2f} times")


if __name__ == "__main__":
    main()
