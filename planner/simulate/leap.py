"""Whole outings skipped while nothing can happen in them.

A light load repeats its outing hundreds of times. Once an outing has been walked and the cells' temperature
comes back to where it was, the next outings cost the same charge but for the slow fall of the voltage. So
each scenario leaps as many as its lowest voltage leaves room for, and the outing after the leap corrects
the charge by the trapezoid of the two (second order). Banks are never leapt: their branches drift.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.battery.curve import GRID
from planner.simulate.march import March
from planner.simulate.setup import LONGEST_RUN_S

Floats = NDArray[np.float64]

HEAD_SHARE = 0.8  # of the voltage still above the nearest level that a leap may use up
CHARGE_SHARE = 0.9  # of the charge to that voltage
STEADY_K = 0.05  # change of cell temperature over an outing below which it counts as repeating
RISE_OF_POWER = 1.3  # a power load's current may rise this much as the voltage falls


@dataclass(frozen=True, slots=True)
class PassStart:
    """Where each scenario stood as an outing began, (n,) by original index."""

    soc: Floats
    temp_k: Floats
    charge_c: Floats
    heat_j: Floats


def pass_start(march: March, n: int) -> PassStart:
    """Note the start of an outing, and begin its lowest headroom anew."""
    march.least_head_v = np.full(len(march.index), np.inf)
    values = (
        march.state.soc.mean(axis=(0, 1)), march.state.temp_k.max(axis=(0, 1)),
        march.charge_c, march.heat_j,
    )  # fmt: skip
    full = []
    for value in values:
        column = np.full(n, np.nan)
        column[march.index] = value
        full.append(column)
    return PassStart(*full)


class Leaper:
    """Decides and corrects the leaps of one march."""

    def __init__(self, march: March, n: int) -> None:
        self.march = march
        self.leapt = np.zeros(n)
        self.cost = np.zeros((2, n))  # charge and heat of the outing before the leap
        line, trips = march.timeline, march.setup.trips
        largest = max((march.demands.largest_a(k) for k in range(len(line.edges_s) - 1)), default=0.0)
        risk = bool(line.power_w.any()) and any(RISE_OF_POWER * largest >= a for a, _ in trips)
        self.able = len(march.setup.lead_ohm) == 1 and march.setup.series == 1 and not risk

    def after_pass(self, began: PassStart) -> None:
        """Correct the last leap by the outing just walked, then leap again where there is room."""
        if not self.able or len(self.march.index) == 0:
            return
        march = self.march
        index = march.index
        cost = np.array([march.charge_c - began.charge_c[index], march.heat_j - began.heat_j[index]])
        self._move(*(0.5 * self.leapt[index] * (cost - self.cost[:, index])))
        count = self._room(began, cost[0])
        self._move(*(count * cost))
        march.clock_s = march.clock_s + count * (march.timeline.edges_s[-1])
        self.leapt[index], self.cost[:, index] = count, cost

    def _move(self, charge_c: Floats, heat_j: Floats) -> None:
        """Take charge out without walking; what the curve gave up and was not heat was delivered."""
        march = self.march
        before = march.stored_j()
        march.state.soc = march.state.soc - charge_c / march.circuit.charge_c
        march.units = None  # they were looked up before the leap
        march.charge_c = march.charge_c + charge_c
        march.heat_j = march.heat_j + heat_j
        march.energy_j = march.energy_j + (before - march.stored_j()) - heat_j

    def _room(self, began: PassStart, charge_c: Floats) -> Floats:
        """How many outings each scenario may skip, (n,) whole numbers."""
        march = self.march
        units = march.state.soc[0, 0]
        rows = np.broadcast_to(march.circuit.offset[0, 0] // (GRID + 1), units.shape)
        curve = march.circuit.curve
        x_now = 1.0 + (units - march.state.gap_1[0, 0] - march.state.gap_2[0, 0] - 1.0) / march.warm.cold_fraction[0, 0]
        now_v, _ = curve.look_up(x_now, rows * (GRID + 1))
        lowest = now_v - HEAD_SHARE * np.maximum(march.least_head_v, 0.0)
        room = (x_now - curve.soc_at(lowest, rows)) * march.warm.cold_fraction[0, 0] * CHARGE_SHARE
        used = charge_c / march.circuit.charge_c[0, 0]
        steady = np.abs(march.state.temp_k[0, 0] - began.temp_k[march.index]) < STEADY_K
        period = float(march.timeline.edges_s[-1])
        most = np.maximum(LONGEST_RUN_S - march.clock_s, 0.0) / period + 1.0
        with np.errstate(divide="ignore", invalid="ignore"):
            fits = np.where(used > 0.0, room / used - 1.0, np.inf)
        fits = np.where(steady & ~march.over, np.minimum(fits, most), 0.0)
        return np.floor(np.maximum(np.nan_to_num(fits, nan=0.0), 0.0))
