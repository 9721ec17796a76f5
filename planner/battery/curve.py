"""Open-circuit voltage against charge: one table a scenario, on an even grid.

The table *is* the curve: straight between grid points, held at its ends, so that its integral is exact
and no voltage is ever read outside it. Row r, column k is the voltage at soc = k / GRID.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

GRID = 400  # cells of the table: a knee of 5 % of charge gets 20 of them
SOC_GRID = np.linspace(0.0, 1.0, GRID + 1)
LEAST_SLOPE_V = 1e-3  # V from empty to full: keeps every curve strictly rising, so that it can be inverted


class CurveTable:
    """Rows of open-circuit curves. volts : (rows, GRID + 1) [V], made strictly rising where it is not."""

    def __init__(self, volts: Floats) -> None:
        table = np.atleast_2d(np.asarray(volts, dtype=float))
        if np.diff(table, axis=1).min() < 0.99 * LEAST_SLOPE_V / GRID:
            table = np.maximum.accumulate(table, axis=1) + LEAST_SLOPE_V * SOC_GRID
        self.volts = table
        self.slope = np.zeros_like(self.volts)
        self.slope[:, :-1] = np.diff(self.volts, axis=1) * GRID
        self._flat_v, self._flat_slope = self.volts.ravel(), self.slope.ravel()

    def tables(self, rows: NDArray[np.intp]) -> Floats:
        """Voltage, slope, and exact integral from 0 to each grid point, of some rows, (3, rows, GRID + 1) [V]."""
        found = np.empty((3, len(rows), GRID + 1))
        found[0], found[1], found[2, :, 0] = self.volts[rows], self.slope[rows], 0.0
        np.cumsum(0.5 * (found[0, :, 1:] + found[0, :, :-1]) / GRID, axis=1, out=found[2, :, 1:])
        return found

    def look_up(self, soc: Floats, offset: NDArray[np.intp]) -> tuple[Floats, Floats]:
        """Voltage [V] and slope [V per unit of soc] at soc; offset is row * (GRID + 1), broadcastable."""
        place = np.minimum(np.maximum(soc, 0.0), 1.0) * GRID
        cell = place.astype(np.intp)
        index = cell + offset
        slope = self._flat_slope.take(index)
        place -= cell
        place *= 1.0 / GRID
        place *= slope
        place += self._flat_v.take(index)
        return place, slope
