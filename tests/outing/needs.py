"""Invented needs the tests of this room share."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from planner.outing.exceedance import Trace
from planner.outing.schema import Load, Outing, Use


def load(kind: str, *uses: Use, **keys: object) -> Load:
    """A load with its uses; evidence and spread as good as any."""
    return Load(**{"name": kind, "kind": kind, "uses": uses, "evidence": "stated", "spread": 0.15, **keys})  # type: ignore[arg-type]


def outing(duration_s: float, *loads: Load) -> Outing:
    """An outing at 12 degC."""
    return Outing("invented", duration_s, 285.15, 285.15, loads)


def held(*segments: tuple[float, float]) -> Trace:
    """A trace of constant currents from (seconds, amperes), one after the other."""
    length_s, current_a = np.array(segments, dtype=np.float64).T
    return Trace(np.append(0.0, np.cumsum(length_s)), current_a, current_a.copy())


def joined(time_s: Sequence[float], current_a: Sequence[float]) -> Trace:
    """A trace of straight lines through (seconds, amperes)."""
    values = np.array(current_a, dtype=np.float64)
    return Trace(np.array(time_s, dtype=np.float64), values[:-1], values[1:])
