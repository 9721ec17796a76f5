"""The earliest month: the outing in each month's cold of a climate, from the coldest month on.

A month's cold is the temperature that one hour in ten lies below; air and cells stand at it. The climate's own
year of charging is judged as it is.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from planner.outing.reader import COLDEST_K
from planner.verdict.boundary import BOUNDARY, GOOD_EVERYWHERE, GOOD_NOWHERE, Found
from planner.verdict.limit_inputs import Case, Steps
from planner.verdict.limit_probe import Asking, Probe, Table
from planner.winter.calendar_year import DAYS_IN_MONTH, HOURS_PER_DAY
from planner.winter.weather_source import load_weather

Floats = NDArray[np.float64]

MONTH = "earliest_month"
COLD_HOURS = 0.1
NAMES = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
         "November", "December")  # fmt: skip


@dataclass(frozen=True, slots=True)
class MonthLimit:
    """As `Limit`, of a month: value and sure_value are names."""

    found: Found
    searched: tuple[str, str]
    value: str | None = None
    inside: Probe | None = None
    outside: Probe | None = None
    sure_value: str | None = None
    sure_outside: Probe | None = None
    probes: int = 0


def month_limit(asking: Asking) -> MonthLimit:
    """The first month after the coldest that is good; steps of `found` are months after the coldest."""
    cold_k = month_cold_k(asking)
    first = int(np.argmin(cold_k))
    order = [(first + k) % 12 for k in range(12)]

    def case(step: int) -> Case:
        kelvin = max(float(cold_k[order[step]]), COLDEST_K)
        return Case(asking.record, replace(asking.outing, cell_k=kelvin, ambient_k=kelvin))

    steps = Steps(MONTH, "month", lambda step: NAMES[order[step]], case, range(1, 12), (), off_grid=True)
    table = Table(asking, steps, Probe("", None, 0.0, math.nan, math.nan))
    searched = (NAMES[order[0]], NAMES[order[11]])
    rough = next((step for step in range(12) if table.rough(step)), 12)
    good = _first(table.good, rough)
    sure = None if good is None else _first(table.sure, good)
    name, after = (None, None) if sure is None else (NAMES[order[sure]], table.at(sure - 1) if sure else None)
    if good is None or good == 0:
        kind = GOOD_NOWHERE if good is None else GOOD_EVERYWHERE
        found = Found(kind, None, None, (0, 11), True)
        return MonthLimit(found, searched, sure_value=name, sure_outside=after, probes=len(table.exact))
    found = Found(BOUNDARY, good, good - 1, (0, 11), True)
    return MonthLimit(found, searched, NAMES[order[good]], table.at(good), table.at(good - 1), name, after,
                      len(table.exact))  # fmt: skip


def _first(good: Callable[[int], bool], guess: int) -> int | None:
    """The first of twelve that is good, sought from a guess: back while the one before is good, else on."""
    while 0 < guess and good(guess - 1):
        guess -= 1
    return next((step for step in range(guess, 12) if good(step)), None)


def month_cold_k(asking: Asking) -> Floats:
    """Temperature that one hour in ten of each month lies below [K], (12,)."""
    assert asking.climate is not None
    air_k = load_weather(asking.climate).air_k
    edges = np.concatenate([[0], np.cumsum(np.asarray(DAYS_IN_MONTH) * HOURS_PER_DAY)])
    return np.array([np.quantile(air_k[int(a) : int(b)], COLD_HOURS) for a, b in pairwise(edges)])
