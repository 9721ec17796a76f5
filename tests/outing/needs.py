"""Invented needs the tests of this room share."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from planner.outing.exceedance import Trace
from planner.outing.schema import Load, Log, Outing, StartSurge, Use


def load(kind: str, *uses: Use, **keys: object) -> Load:
    """A load with its uses; evidence and spread as good as any."""
    return Load(**{"name": kind, "kind": kind, "uses": uses, "evidence": "stated", "spread": 0.15, **keys})  # type: ignore[arg-type]


def outing(duration_s: float, *loads: Load) -> Outing:
    """An outing at 12 degC."""
    return Outing("invented", duration_s, 285.15, 285.15, loads)


EVERY_KIND = outing(
    3600.0,
    load("current", Use(0.0, 600.0), current_a=5.0, surge=StartSurge(40.0, 0.5)),
    load("power", Use(0.0, 900.0), power_w=60.0),
    load("resistive", Use(100.0, 500.0), resistance_ohm=2.0),
    load("inverter", Use(0.0, 3600.0, None, 60.0, 60.0), power_w=400.0, efficiency=0.88, idle_w=9.0),
    load("motor", Use(0.0, 1200.0, 0.4), full_current_a=52.0, motor_table=((0.5, 8.0),)),
    load(
        "recorded",
        Use(0.0, 3600.0),
        log=Log(Path("invented.csv"), (0.0, 1800.0, 3600.0), (3.0, 9.0, 4.0), "line"),
    ),
)


def held(*segments: tuple[float, float]) -> Trace:
    """A trace of constant currents from (seconds, amperes), one after the other."""
    length_s, current_a = np.array(segments, dtype=np.float64).T
    return Trace(np.append(0.0, np.cumsum(length_s)), current_a, current_a.copy())


def joined(time_s: Sequence[float], current_a: Sequence[float]) -> Trace:
    """A trace of straight lines through (seconds, amperes)."""
    values = np.array(current_a, dtype=np.float64)
    return Trace(np.array(time_s, dtype=np.float64), values[:-1], values[1:])
