"""Whole outings skipped while nothing can happen in them.

A light load repeats its outing hundreds of times. Once an outing has been walked and the cells' temperature
comes back to where it was, the next outings cost the same charge but for the slow fall of the voltage. So
each scenario leaps as many as its lowest voltage leaves room for, and the outing after the leap corrects
the charge by the trapezoid of the two (second order). A bank leaps only as far as its units' charges would not
drift apart by more than DRIFT_SOC.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import reading, units_sum
from planner.battery.curve import GRID
from planner.outing.timeline import Timeline
from planner.simulate.march import March
from planner.simulate.setup import LONGEST_RUN_S

Floats = NDArray[np.float64]

HEAD_SHARE = 0.8  # of the voltage still above the nearest level that a leap may use up
LEAP_V = 0.1  # most voltage a leap may use up when the current depends on it: keeps the trapezoid good
CHARGE_SHARE = 0.9  # of the charge to that voltage
STEADY_K = 0.05  # change of cell temperature over an outing below which it counts as repeating
RISE_OF_POWER = 1.3  # a power load's current may rise this much as the voltage falls
DRIFT_SOC = 0.01  # of charge that units may drift apart in one leap


@dataclass(frozen=True, slots=True)
class PassStart:
    """Where each scenario stood as an outing began, by original index: (branches, series, n) and (n,)."""

    soc: Floats
    temp_k: Floats
    charge_c: Floats
    ohmic_j: Floats
    gap_charge_c: Floats


def pass_start(march: March, n: int) -> PassStart:
    """Note the start of an outing, and begin its lowest headroom anew."""
    march.least_head_v = np.full(len(march.index), np.inf)
    state = march.state

    def spread(values: Floats) -> Floats:
        full = np.full((*values.shape[:-1], n), np.nan)
        full[..., march.index] = values
        return full

    return PassStart(
        spread(state.soc), spread(state.temp_k), spread(march.charge_c), spread(march.ohmic_j),
        spread(march.gap_charge_c),
    )  # fmt: skip


def may_leap(timeline: Timeline, largest_a: float, trips: tuple[tuple[float, float], ...]) -> bool:
    """Whether outings may be skipped at all: power draws more as the voltage falls, so a trip might be met later."""
    return not (timeline.power_w.any() and any(RISE_OF_POWER * largest_a >= a for a, _ in trips))


class Leaper:
    """Decides and corrects the leaps of one march."""

    def __init__(self, march: March, n: int) -> None:
        self.march = march
        self.leapt = np.zeros(n)
        self.cost_soc = np.zeros((*march.state.soc.shape[:-1], n))  # of the outing before the leap
        self.cost = np.zeros((2, n))  # its charge and the heat of its resistances
        line, trips = march.timeline, march.setup.trips
        largest = max((march.demands.largest_a(k) for k in range(len(line.edges_s) - 1)), default=0.0)
        self.most_v = LEAP_V if line.power_w.any() or line.conductance_s.any() else np.inf
        self.able = may_leap(line, largest, trips)

    def after_pass(self, began: PassStart) -> None:
        """Correct the last leap by the outing just walked, then leap again where there is room."""
        if not self.able or len(self.march.index) == 0:
            return
        march = self.march
        index = march.index
        cost = np.array([march.charge_c - began.charge_c[index], march.ohmic_j - began.ohmic_j[index]])
        cost_soc = began.soc[..., index] - march.state.soc
        gap = self._mean_gap(began, cost_soc)
        half = 0.5 * self.leapt[index]
        self._move(half * (cost_soc - self.cost_soc[..., index]), half * (cost - self.cost[:, index]), gap)
        count = self._room(began, cost_soc)
        self._move(count * cost_soc, count * cost, gap)
        march.clock_s = march.clock_s + count * (march.timeline.edges_s[-1])
        self.leapt[index], self.cost[:, index], self.cost_soc[..., index] = count, cost, cost_soc

    def _mean_gap(self, began: PassStart, cost_soc: Floats) -> Floats:
        """Gap of each unit, averaged over the charge of the outing just walked."""
        moved = self.march.gap_charge_c - began.gap_charge_c[..., self.march.index]
        charge = cost_soc * self.march.circuit.charge_c
        return np.where(np.abs(charge) > 0.0, moved / np.where(charge == 0.0, 1.0, charge), 0.0)

    def _move(self, soc: Floats, cost: Floats, gap: Floats) -> None:
        """Take charge out without walking. cost : charge [C] and heat of resistances [J], (2, n).

        What the curve gives up is delivered, but for the resistances' heat and for what the gap hides: charge
        leaves the curve at soc - gap, not at soc.
        """
        charge_c, ohmic_j = cost
        march, circuit = self.march, self.march.circuit
        held, seen = march.state.soc, march.state.soc - gap
        area = circuit.curve.integral
        given = units_sum(circuit.charge_c * (area(held, circuit.offset) - area(held - soc, circuit.offset)))
        got = units_sum(circuit.charge_c * (area(seen, circuit.offset) - area(seen - soc, circuit.offset)))
        march.state.soc = held - soc
        march.units = None  # they were looked up before the leap
        march.charge_c = march.charge_c + charge_c
        march.energy_j = march.energy_j + got - ohmic_j
        march.heat_j = march.heat_j + given - got + ohmic_j

    def _room(self, began: PassStart, cost_soc: Floats) -> Floats:
        """How many outings each scenario may skip, (n,) whole numbers."""
        march, state = self.march, self.march.state
        offset = np.broadcast_to(march.circuit.offset, state.soc.shape)
        fraction = np.broadcast_to(march.warm.cold_fraction, state.soc.shape)
        x_now = reading(march.warm, state.soc, state.gap_1 + state.gap_2)
        now_v, _ = march.circuit.curve.look_up(x_now, offset)
        spare = HEAD_SHARE * np.maximum(march.least_head_v, 0.0) / state.soc.shape[1]
        lowest = now_v - np.minimum(spare, self.most_v)
        rows = (offset // (GRID + 1)).ravel()
        x_low = march.circuit.curve.soc_at(lowest.ravel(), rows).reshape(state.soc.shape)
        room = (x_now - x_low) * fraction * CHARGE_SHARE
        drift = cost_soc.max(axis=(0, 1)) - cost_soc.min(axis=(0, 1))
        with np.errstate(divide="ignore", invalid="ignore"):
            fits = np.where(cost_soc > 0.0, room / cost_soc - 1.0, np.inf).min(axis=(0, 1))
            fits = np.minimum(fits, np.where(drift > 0.0, DRIFT_SOC / drift, np.inf))
        moved_k = np.abs(state.temp_k - began.temp_k[..., march.index]).max(axis=(0, 1))
        most = np.maximum(LONGEST_RUN_S - march.clock_s, 0.0) / float(march.timeline.edges_s[-1]) + 1.0
        fits = np.where((moved_k < STEADY_K) & ~march.over, np.minimum(fits, most), 0.0)
        whole: Floats = np.floor(np.maximum(np.nan_to_num(fits, nan=0.0), 0.0))
        return whole
