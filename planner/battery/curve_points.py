"""Curves bent so that they pass through recorded points; compiled, as every draw has a curve of its own."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.battery.curve import GRID, LEAST_SLOPE_V
from planner.compiled import compiled, kept

Floats = NDArray[np.float64]


def curves_through(base: Floats, place: Floats, volts: Floats) -> Floats:
    """Prior curves through every recorded point, each stretch between two points keeping the prior's shape.

    A stretch is the prior's stretch scaled to the two voltages, so sparse points beside a knee cannot make
    the curve overshoot and turn back, as adding a difference would. Above the points the difference stays as it is.

    base : prior curves [V], (r, GRID + 1). place : points on the axis of charge, rising in each row, the first 0;
    volts : open-circuit voltage there [V], rising; both (r, m). Returns curves of the shape of base [V].
    """
    curves = np.empty_like(base)
    _bend(curves, np.ascontiguousarray(base), place, volts, np.empty_like(place))
    return curves


@kept("battery/curve*.py")
def _bend(curves: Floats, base: Floats, place: Floats, volts: Floats, there: Floats) -> None:
    """As `curves_through`. there : left with the prior's voltage at each point."""
    last = place.shape[1] - 1
    for row in range(base.shape[0]):
        for point in range(last + 1):
            there[row, point] = _prior_at(base, row, place[row, point])
        point = 0
        for k in range(GRID + 1):
            prior_v = _prior_v(base, row, k)
            while point < last and there[row, point + 1] <= prior_v:
                point += 1
            while point > 0 and there[row, point] > prior_v:
                point -= 1
            curves[row, k] = volts[row, point]
            if point < last and prior_v > there[row, point]:
                share = (prior_v - there[row, point]) / (there[row, point + 1] - there[row, point])
                curves[row, k] += share * (volts[row, point + 1] - volts[row, point])
            curves[row, k] += max(prior_v - there[row, last], 0.0)


@compiled
def _prior_v(base: Floats, row: int, k: int) -> float:
    """The prior curve at a grid point, strictly rising [V]."""
    found: float = base[row, k] + LEAST_SLOPE_V * k / GRID
    return found


@compiled
def _prior_at(base: Floats, row: int, soc: float) -> float:
    """The same between grid points, held at the upper end [V]. soc : not below 0."""
    k = min(int(min(soc, 1.0) * GRID), GRID - 1)
    low_v = _prior_v(base, row, k)
    return low_v + (min(soc, 1.0) * GRID - k) * (_prior_v(base, row, k + 1) - low_v)
