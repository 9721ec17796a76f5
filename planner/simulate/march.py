"""The march of many scenarios through an outing: steps, watches, ledgers, and those that are over.

Scenarios share the timeline but not the clock: each may have leapt over whole outings (leap.py), so time is
kept per scenario. A scenario that ended is written to the result and dropped from the arrays.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import Circuit, Pace, State, first_axis_sum, pace, rested, units_sum, warmth
from planner.battery.source import Demand, Instant, instant
from planner.outing.timeline import Timeline
from planner.simulate.demand import Demands
from planner.simulate.inverters import InverterWatch, inverter_watches
from planner.simulate.results import Book, TraceBuilder, units_mean
from planner.simulate.setup import Setup
from planner.simulate.step import Moment, Network, Step, moment_of, moments_at, take_step
from planner.simulate.watch import TripWatch, VoltageAt, VoltageWatch

Floats = NDArray[np.float64]

Swings = tuple[Floats, Floats, Floats]  # holding and top current above a coarse piece's mean, its variance

MOST_PACES = 64  # step lengths remembered at once: a log of many lengths must not fill the memory
IDLE_STEP_S = 3600.0  # without current every state is exact at any step; cells still drift to the air
LEAST_STEP_S = 1e-3
DROP_SHARE = 0.08  # arrays are made smaller once this share of their scenarios is over


def step_count(length_s: float, current_a: float, charge_c: float, setup: Setup) -> int:
    """Into how many steps a piece is cut, by a rough current [A] and the charge of all branches [C]."""
    if current_a <= 0.0:
        return max(1, math.ceil(length_s / IDLE_STEP_S))
    span = min(setup.step_charge * charge_c / current_a, setup.longest_step_s)
    return max(1, math.ceil(length_s / max(span, LEAST_STEP_S) - 1e-9))


class March:
    """Scenarios on their way. index says which of the n original scenarios each column is."""

    def __init__(self, circuit: Circuit, timeline: Timeline, setup: Setup) -> None:
        n = setup.load_factor.shape[1]
        shape = (len(setup.lead_ohm), setup.series, n)
        self.circuit, self.timeline, self.setup = circuit, timeline, setup
        wiring = np.broadcast_to(np.asarray(setup.wiring_ohm, dtype=float), (n,))
        self.network = Network(setup.lead_ohm[:, np.newaxis], wiring)
        self.index = np.arange(n)
        self.over = np.zeros(n, dtype=bool)
        self.state: State = rested(circuit, shape, setup.start_soc, setup.cell_k)
        self.ambient_k = np.broadcast_to(np.asarray(setup.ambient_k, dtype=float), (n,))
        self.demands = Demands(timeline, setup.load_factor, setup.size_current_a)
        self.clock_s = np.zeros(n)
        self.charge_c, self.energy_j, self.heat_j = np.zeros(n), np.zeros(n), np.zeros(n)
        self.least_head_v, self.least_v, self.lately_v = np.full(n, np.inf), np.full(n, np.inf), np.full(n, np.inf)
        self.ohmic_j, self.gap_charge_c = np.zeros(n), np.zeros((*shape[:2], n))
        self.book = Book(n, len(timeline.names))
        self.trace = TraceBuilder(n, setup.keep_trace)
        self.size_charge_c = setup.size_charge_c or float(circuit.charge_c.min())
        self.steps = 0
        self.switched = False
        self.start_stored_j = self.stored_j(self.state)
        self._set_watches(n, shape[0])
        self._begin_again()

    def _set_watches(self, n: int, branches: int) -> None:
        setup, line = self.setup, self.timeline
        self.cutoff = VoltageWatch(setup.cutoff_v, setup.cutoff_delay_s, np.zeros(n))
        opens = setup.undervoltage_v
        self.opening = None if opens is None else VoltageWatch(opens, 0.0, np.zeros(n))
        self.inverters = inverter_watches(line, n)
        self.trip_watches = [TripWatch(a, t, np.zeros((branches, n))) for a, t in setup.trips]

    def _begin_again(self) -> None:
        """The arrays are new or fewer: what was kept for their columns is gone."""
        self.warm = warmth(self.circuit, self.state.temp_k)
        self.paces: dict[float, Pace] = {}
        self.units: Instant | None = None

    def _pace(self, span: float) -> Pace:
        """The factors of a step length, remembered: outings repeat a few lengths over and over."""
        if span not in self.paces:
            if len(self.paces) >= MOST_PACES:
                self.paces.clear()
            self.paces[span] = pace(self.circuit, span)
        return self.paces[span]

    def stored_j(self, state: State) -> Floats:
        """Charge-weighted integral of the curve, all units [J], (n,)."""
        area = self.circuit.curve.integral(state.soc, self.circuit.offset)
        return units_sum(self.circuit.charge_c * area)

    def walk_piece(self, piece: int) -> None:
        """All steps of one piece of the timeline."""
        length = float(self.timeline.edges_s[piece + 1] - self.timeline.edges_s[piece])
        count = self._step_count(piece, length)
        span, steady = length / count, self.demands.steady(piece)
        here = middle = last = self.demands.at(piece, 0.0)
        swing, steps = self.demands.swing(piece), self._pace(span)
        now: Moment | None = None
        for number in range(count):
            if len(self.index) == 0 or self.over.all():
                return
            if not steady:
                here, middle, last = (self.demands.at(piece, (number + part) / count) for part in (0.0, 0.5, 1.0))
            if self.units is None:
                self.units = instant(self.circuit, self.warm, self.state)
                now = None
            if now is None or not steady:
                now = moment_of(self.units, here, self.network)
            step = take_step(self.circuit, steps, self.state, now, middle, last,
                             self.network, self.ambient_k, None if swing is None else swing[2])  # fmt: skip
            self._finish(piece, number / count, step, last, span, swing)
            now = step.end
            if (self._drop() or self.switched) and number + 1 < count and len(self.index):
                here = middle = last = self.demands.at(piece, 0.0)
                swing, steps = self.demands.swing(piece), self._pace(span)
                now, self.switched = None, False

    def _step_count(self, piece: int, length_s: float) -> int:
        charge_c = self.size_charge_c * len(self.setup.lead_ohm)
        return step_count(length_s, self.demands.largest_a(piece), charge_c, self.setup)

    def _finish(self, piece: int, fraction: float, step: Step, demand: Demand, span: float,
                swing: Swings | None) -> None:  # fmt: skip
        """Watch the step, keep the ledgers, write the trace, move on."""
        ends = self._ends(piece, step, demand, span, swing)
        self.steps += 1
        self.trace.add(self, piece, fraction, step, span)
        self.charge_c = self.charge_c + first_axis_sum(step.branch_a) * span
        self.energy_j = self.energy_j + step.delivered_j
        self.heat_j = self.heat_j + step.heat_j
        self.ohmic_j = self.ohmic_j + step.ohmic_j
        self.gap_charge_c = self.gap_charge_c + step.gap_charge_c
        before, self.state, self.warm, self.units = self.state, step.state, step.warm, step.end.units
        if ends is not None:
            self._close(ends, step, span, before)
        self.clock_s = self.clock_s + span

    def _ends(self, piece: int, step: Step, demand: Demand, span: float,
              swing: Swings | None) -> tuple[Floats, NDArray[np.str_]] | None:  # fmt: skip
        """Seconds into the step at which each scenario's battery ends (inf: not) and how; None if none."""
        hidden = None if swing is None else swing[0]
        bus_at = self._voltage_at(step, demand, span, hidden, behind=False)
        first, last = step.start.bus_v, step.end.bus_v
        if swing is not None:
            first, last = first - swing[0] * step.start.bus_ohm, last - swing[0] * step.end.bus_ohm
        if self.over.any():  # those that are over have nothing left to cross
            first, last = np.where(self.over, np.inf, first), np.where(self.over, np.inf, last)
        low = np.minimum(first, last)
        self.lately_v = self.least_v
        lowest = low if swing is None else low - (swing[1] - swing[0]) * step.end.bus_ohm
        self.least_v = np.minimum(self.least_v, lowest)
        self.least_head_v = np.minimum(self.least_head_v, low - self.setup.cutoff_v)
        self._watch_inverters(piece, step, demand, span, hidden)
        self._watch_trips(step, span)
        found = [("cutoff", self.cutoff.look(first, last, span, bus_at)), ("empty", _empty_s(step, span))]
        if self.opening is not None:
            found.append(("undervoltage", self.opening.look(first, last, span, bus_at)))
        if all(times is None for _, times in found):
            return None
        when, kind = np.full(len(self.index), np.inf), np.full(len(self.index), "none", dtype="<U12")
        for name, times in found:
            if times is not None:
                earlier = times < when
                when, kind = np.where(earlier, times, when), np.where(earlier, name, kind)
        when = np.where(self.over, np.inf, when)
        return (when, kind) if np.isfinite(when).any() else None

    def _voltage_at(self, step: Step, demand: Demand, span: float, hidden_a: Floats | None,
                    behind: bool) -> VoltageAt:  # fmt: skip
        """Voltage at the battery, or behind the wiring, inside the step for some scenarios, by the exact states."""

        def some(index: NDArray[np.intp]) -> Callable[[Floats], Floats]:
            part = replace(
                demand,
                current_a=demand.current_a[index],
                power_w=demand.power_w[index],
                conductance_s=demand.conductance_s[index],
            )
            circuit, state = self.circuit.select(index), self.state.select(index)
            warming = (step.state.temp_k - self.state.temp_k)[..., index] / span
            branch = step.branch_a[:, index]
            wire = self.network.wiring_ohm[index]
            network = Network(self.network.lead_ohm, wire)
            more = 0.0 if hidden_a is None else hidden_a[index]

            def look(time_s: Floats) -> Floats:
                there = moments_at(circuit, state, branch, part, network, time_s, warming)
                volts = there.bus_v - more * there.bus_ohm
                return volts - (there.current_a + more) * wire if behind else volts

            return look

        return some

    def _watch_inverters(self, piece: int, step: Step, demand: Demand, span: float,
                         hidden_a: Floats | None) -> None:  # fmt: skip
        wire = self.network.wiring_ohm
        more: Floats | float = 0.0 if hidden_a is None else hidden_a
        for inverter in self.inverters:
            load = inverter.load
            if not self.timeline.uses_inverter[load, piece]:
                self.book.left_off(self, inverter, inverter.off)
                self._switch(inverter, inverter.rest())
                continue
            first = step.start.bus_v - more * step.start.bus_ohm - (step.start.current_a + more) * wire
            last = step.end.bus_v - more * step.end.bus_ohm - (step.end.current_a + more) * wire
            head = np.minimum(first, last) - inverter.watch.level_v
            self.least_head_v = np.minimum(self.least_head_v, head)
            times = inverter.look(first, last, span, self._voltage_at(step, demand, span, hidden_a, behind=True))
            if times is not None:
                self.book.inverter(self, load, times, first_axis_sum(step.branch_a), units_mean(self.state.soc))
            self._switch(inverter, inverter.switch(times, last, self.clock_s))

    def note_left_off(self) -> None:
        """Inverters off for a whole outing are not coming back by themselves."""
        for inverter in self.inverters:
            long = self.clock_s - inverter.off_since_s >= self.timeline.edges_s[-1]
            self.book.left_off(self, inverter, inverter.off & long)

    def _switch(self, inverter: InverterWatch, changed: bool) -> None:
        """Take an inverter's load off, or on again, from the next step."""
        if changed:
            self.demands.switch(inverter.load, inverter.off)
            self.switched = True

    def _watch_trips(self, step: Step, span: float) -> None:
        for watch in self.trip_watches:
            times = watch.look(step.branch_a, span)
            if times is not None:
                self.book.trip(self, times)

    def _close(self, ends: tuple[Floats, NDArray[np.str_]], step: Step, span: float, before: State) -> None:
        """Write down the scenarios that ended inside the step just taken, at their own moment in it."""
        when, kind = ends
        self.book.end(self, when, kind, step, span, before)
        self.over = self.over | np.isfinite(when)

    def _drop(self) -> bool:
        """Make the arrays smaller when enough scenarios are over. True when it did."""
        if np.count_nonzero(self.over) < max(1.0, DROP_SHARE * len(self.index)):
            return False
        keep = ~self.over
        index = np.flatnonzero(keep)
        self.circuit, self.state = self.circuit.select(index), self.state.select(index)
        self.gap_charge_c = self.gap_charge_c[..., keep]
        for name in ("index", "ohmic_j", "lately_v", "clock_s", "charge_c", "energy_j", "heat_j", "ambient_k",
                     "least_head_v",
                     "least_v", "over", "start_stored_j"):  # fmt: skip
            setattr(self, name, getattr(self, name)[keep])
        self.demands.keep(keep)
        self.network = Network(self.network.lead_ohm, self.network.wiring_ohm[keep])
        watches = [self.cutoff, self.opening, *self.inverters, *self.trip_watches]
        for watch in watches:
            if watch is not None:
                watch.keep(keep)
        self._begin_again()
        return True


def _empty_s(step: Step, span: float) -> Floats | None:
    """Seconds into the step at which the first unit's reading x reaches 0, inf where none does."""
    first, last = step.start.units.x, step.end.units.x
    below = last <= 0.0
    if not below.any():
        return None
    fall = np.where(below & (first > last), first - last, 1.0)
    into = np.where(first <= 0.0, 0.0, span * first / fall)
    earliest: Floats = np.where(below, into, np.inf).min(axis=(0, 1))
    return earliest
