"""Writing down what became of the scenarios: ends, marks, cut-outs, and the trace of the first outing."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import State, units_sum
from planner.simulate.setup import Run, Trace

if TYPE_CHECKING:
    from planner.simulate.inverters import InverterWatch
    from planner.simulate.march import March
    from planner.simulate.step import Step

Floats = NDArray[np.float64]


def units_mean(values: Floats) -> Floats:
    """Mean over all units, (branches, series, n) -> (n,)."""
    mean: Floats = units_sum(values) / (values.shape[0] * values.shape[1])
    return mean


def _within(before: State, after: State, share: Floats) -> State:
    """Charge and temperature a share of the way through a step; charge moves straight, the rest nearly so."""
    return replace(
        after,
        soc=before.soc + share * (after.soc - before.soc),
        temp_k=before.temp_k + share * (after.temp_k - before.temp_k),
    )


class Book:
    """Results of n scenarios of L loads, filled as they come."""

    def __init__(self, n: int, loads: int) -> None:
        self.end_s = np.full(n, np.inf)
        self.end_kind = np.full(n, "none", dtype="<U12")
        self.end_charge_c, self.end_energy_j, self.end_heat_j = np.zeros(n), np.zeros(n), np.zeros(n)
        self.stored_change_j, self.end_soc = np.zeros(n), np.full(n, np.nan)
        self.mark_charge_c, self.mark_energy_j = np.full(n, np.nan), np.full(n, np.nan)
        self.mark_temp_k, self.mark_soc, self.min_v = np.full(n, np.nan), np.full(n, np.nan), np.full(n, np.nan)
        self.inverter_s = np.full((loads, n), np.inf)
        self.inverter_charge_c = np.full((loads, n), np.nan)
        self.inverter_soc = np.full((loads, n), np.nan)
        self.left_off_s = np.full((loads, n), np.inf)
        self.trip_s = np.full(n, np.inf)

    def mark(self, march: March) -> None:
        """The outing's end: what was used by the scenarios that got there."""
        live = ~march.over
        where = march.index[live]
        self.mark_charge_c[where], self.mark_energy_j[where] = march.charge_c[live], march.energy_j[live]
        self.mark_temp_k[where] = march.state.temp_k.max(axis=(0, 1))[live]
        self.mark_soc[where] = units_mean(march.state.soc)[live]
        self.min_v[where] = march.least_v[live]

    def inverter(self, march: March, load: int, into_s: Floats, current_a: Floats, soc: Floats) -> None:
        """First cut-out of a load's inverter, into_s seconds into the step about to be finished."""
        fresh = np.isfinite(into_s) & np.isinf(self.inverter_s[load, march.index]) & ~march.over
        where = march.index[fresh]
        self.inverter_s[load, where] = (march.clock_s + into_s)[fresh]
        self.inverter_charge_c[load, where] = march.charge_c[fresh] + current_a[fresh] * into_s[fresh]
        self.inverter_soc[load, where] = soc[fresh]
        if np.isnan(march.timeline.restart_v[load]):
            self.left_off_s[load, where] = self.inverter_s[load, where]

    def left_off(self, march: March, inverter: InverterWatch, mask: NDArray[np.bool_]) -> None:
        """An inverter that could have restarted by itself and did not while it was wanted."""
        fresh = mask & ~march.over & np.isinf(self.left_off_s[inverter.load, march.index])
        self.left_off_s[inverter.load, march.index[fresh]] = inverter.off_since_s[fresh]

    def trip(self, march: March, into_s: Floats) -> None:
        """First moment a trip of the record is met."""
        fresh = np.isfinite(into_s) & ~march.over
        where = march.index[fresh]
        self.trip_s[where] = np.minimum(self.trip_s[where], (march.clock_s + into_s)[fresh])

    def end(self, march: March, into_s: Floats, kind: NDArray[np.str_], step: Step, span: float,
            before: State) -> None:  # fmt: skip
        """The battery's end inside the step just finished: everything is told as of that moment."""
        done = np.isfinite(into_s)
        where, share = march.index[done], np.where(done, into_s, span) / span
        state = _within(before, march.state, share)
        self.end_s[where] = (march.clock_s + into_s)[done]
        self.end_kind[where] = kind[done]
        ledgers = (
            (self.end_charge_c, march.charge_c, units_sum(step.branch_a[:, np.newaxis]) * span),
            (self.end_energy_j, march.energy_j, step.delivered_j),
            (self.end_heat_j, march.heat_j, step.heat_j),
        )
        for book, total, last in ledgers:
            book[where] = (total - last * (1.0 - share))[done]
        self.stored_change_j[where] = (march.start_stored_j - march.stored_j(state))[done]
        self.end_soc[where] = units_mean(state.soc)[done]
        early = done & np.isnan(self.mark_charge_c[march.index])
        where = march.index[early]
        self.mark_charge_c[where], self.mark_energy_j[where] = self.end_charge_c[where], self.end_energy_j[where]
        self.mark_temp_k[where] = state.temp_k.max(axis=(0, 1))[early]
        self.mark_soc[where] = self.end_soc[where]
        passed_v = step.start.bus_v + share * (step.end.bus_v - step.start.bus_v)
        lowest = np.minimum(march.lately_v, np.minimum(step.start.bus_v, np.maximum(passed_v, march.setup.cutoff_v)))
        self.min_v[where] = lowest[early]

    def run(self, steps: int, trace: Trace | None) -> Run:
        """The finished result."""
        return Run(
            self.end_s, self.end_kind, self.end_charge_c, self.end_energy_j, self.end_heat_j,
            self.stored_change_j, self.end_soc, self.mark_charge_c, self.mark_energy_j, self.mark_temp_k,
            self.mark_soc, self.min_v, self.inverter_s, self.inverter_charge_c, self.inverter_soc, self.left_off_s,
            self.trip_s,
            steps, trace,
        )  # fmt: skip


class TraceBuilder:
    """Collects the first outing step by step; columns of scenarios that ended stay NaN."""

    def __init__(self, n: int, keep: bool) -> None:
        self.n, self.open = n, keep
        self.kept = keep
        self.times: list[tuple[float, float, int]] = []
        self.columns: list[tuple[Floats, ...]] = []
        self.branches: list[tuple[Floats, Floats]] = []

    def add(self, march: March, piece: int, fraction: float, step: Step, span: float) -> None:
        """One step, while the first outing lasts."""
        if not self.open:
            return
        edges = march.timeline.edges_s
        start = float(edges[piece] + fraction * (edges[piece + 1] - edges[piece]))
        self.times.append((start, start + span, piece))
        live = march.index[~march.over]
        soc = units_mean(step.state.soc)
        temp = step.state.temp_k.max(axis=(0, 1))
        values = (step.start.current_a, step.end.current_a, step.start.bus_v, step.end.bus_v, soc, temp)
        self.columns.append(tuple(self._spread(live, value[~march.over]) for value in values))
        count = len(step.branch_a)
        if len(live) and live[0] == 0:
            self.branches.append((step.start.branch_a[:, 0].copy(), step.end.branch_a[:, 0].copy()))
        else:
            self.branches.append((np.full(count, np.nan), np.full(count, np.nan)))

    def _spread(self, live: NDArray[np.intp], values: Floats) -> Floats:
        if len(live) == self.n:
            return values
        full = np.full(self.n, np.nan)
        full[live] = values
        return full

    def build(self) -> Trace | None:
        """The trace, or None when it was not wanted."""
        if not self.kept or not self.times:
            return None
        start, end, piece = zip(*self.times, strict=True)
        start_a, end_a, start_v, end_v, soc, temp = (np.array(column) for column in zip(*self.columns, strict=True))
        first, last = zip(*self.branches, strict=True)
        return Trace(
            np.array(start), np.array(end), np.array(piece, dtype=np.intp), start_a, end_a, start_v, end_v, soc, temp,
            np.array(first), np.array(last),
        )  # fmt: skip
