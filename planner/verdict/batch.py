"""One battery, one outing, all scenarios in a single run of the engine: centre, moved priors, draws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import Circuit
from planner.battery.draws import Scenarios, scenarios
from planner.battery.envelope import build_envelope
from planner.battery.fit import Fitted, fit_record
from planner.battery.full_discharge import full_discharges
from planner.battery.join import join_units
from planner.constants import COPPER_RESISTIVITY_OHM_M
from planner.outing.build import build_timeline
from planner.outing.coarse import coarsen
from planner.outing.schema import Outing, Wiring
from planner.outing.timeline import Timeline
from planner.record.schema import Record
from planner.simulate.engine import simulate
from planner.simulate.fine_trips import first_trip_s
from planner.simulate.pieces import rough_current_a
from planner.simulate.setup import LONGEST_RUN_S, Run, Setup, longest_step_s

Floats = NDArray[np.float64]

DEFAULT_CUTOFF_V = 10.0  # where a record without a full discharge is stopped: 2.5 V a cell (common practice)


@dataclass(frozen=True, slots=True)
class Batch:
    """What was run and what came of it. Column 0 is the centre; draws start at scenarios.first_draw.

    timeline : every piece of the outing. walked : the same as the engine went through it, coarser for a
    long log.
    units : records of a bank's units where they differ, one a branch or one a unit, branch by branch.
    """

    record: Record
    outing: Outing
    fitted: Fitted
    scenarios: Scenarios
    timeline: Timeline
    walked: Timeline
    setup: Setup
    run: Run
    units: tuple[Record, ...] = ()

    @property
    def branch_units(self) -> tuple[tuple[Record, ...], ...]:
        """The different records in each branch of the bank, the weaker of a string not hidden by the stronger."""
        branches, series = len(self.setup.lead_ohm), self.setup.series
        if not self.units:
            return ((self.record,),) * branches
        each = series if len(self.units) == branches * series else 1
        rows = [self.units[k * each : (k + 1) * each] for k in range(branches)]
        return tuple(tuple({id(record): record for record in row}.values()) for row in rows)

    @property
    def every_unit(self) -> tuple[Record, ...]:
        """The record of each unit of the bank, branch by branch."""
        records = self.units or (self.record,)
        each = len(self.setup.lead_ohm) * self.setup.series // len(records)
        return tuple(record for record in records for _ in range(each))

    @property
    def different_units(self) -> tuple[Record, ...]:
        """The records the answer stands on, each once; the one asked about where the bank names none."""
        records = self.units or (self.record,)
        return tuple(record for k, record in enumerate(records) if record not in records[:k])

    @property
    def draws(self) -> slice:
        """The columns of the draws."""
        return slice(self.scenarios.first_draw, None)

    @property
    def duration_s(self) -> float:
        """The outing's length [s]."""
        return self.outing.duration_s

    def left_off_s(self) -> Floats:
        """First cut-out after which an inverter stayed off [s], (n,), inf where none."""
        first: Floats = self.run.left_off_s.min(axis=0, initial=np.inf)
        return first

    def runtime_s(self) -> Floats:
        """First end of any kind of every scenario [s], inf beyond the longest run."""
        inverter = self.left_off_s()
        first = np.minimum(np.minimum(self.run.end_s, inverter), self.run.trip_s)
        return np.where(first > LONGEST_RUN_S, np.inf, first)

    def ended_by(self, column: int = 0) -> str:
        """Which end a scenario met first: one of the battery's own, inverter_cutout, trip, or none."""
        inverter = float(self.left_off_s()[column])
        kinds = [
            (float(self.run.trip_s[column]), "trip"),
            (inverter, "inverter_cutout"),
            (float(self.run.end_s[column]), str(self.run.end_kind[column])),
        ]
        when, kind = min(kinds, key=lambda pair: pair[0])
        return kind if when <= LONGEST_RUN_S else "none"


def wiring_ohm(wiring: Wiring | None) -> float:
    """Both ways of the cable, copper at 20 degC, and its contacts [ohm]; none without wiring."""
    if wiring is None:
        return 0.0
    return COPPER_RESISTIVITY_OHM_M * 2.0 * wiring.length_m / wiring.area_m2 + wiring.contact_resistance_ohm


def cutoff_v(records: Sequence[Record], outing: Outing) -> float:
    """Where the run is stopped [V]: the buyer's, else the lowest a record went to, times the units in series.

    Of different units the one that was stopped earliest decides.
    """
    if outing.cutoff_v is not None:
        return outing.cutoff_v
    series = outing.bank.series if outing.bank else 1
    stops = ([test.cutoff_v for test in full_discharges(record)] for record in records)
    return max(min(stop, default=DEFAULT_CUTOFF_V) for stop in stops) * series


def undervoltage_v(records: Sequence[Record], series: int) -> float | None:
    """Where a unit itself opens when empty [V], from a discharge that ended so; None when not seen."""
    tests = (test for record in records for test in record.capacity_tests)
    opened = [test.cutoff_v for test in tests if test.ended_by == "undervoltage"]
    return max(opened) * series if opened else None


def trips_of(record: Record) -> tuple[tuple[float, float], ...]:
    """Every reading at which the unit opened for current: (A, s)."""
    return tuple((trip.current_a, trip.duration_s) for trip in build_envelope(record).trips)


def run_batch(record: Record, outing: Outing, draws: int, seed: int, fitted: Fitted | None = None,
              units: tuple[Record, ...] = (), unit_seed: int | None = None) -> Batch:  # fmt: skip
    """Fit the record (unless fitted is given), draw the scenarios, run the outing to the battery's end.

    units : records of a bank's units, one a branch or one a unit, where they differ. unit_seed : seed of what is
    drawn of the batteries, where it is not to be that of the loads.
    """
    fitted = fitted or fit_record(record)
    return run_scenarios(record, outing, fitted, draw(outing, fitted, draws, seed, units, unit_seed), units)


def draw(outing: Outing, fitted: Fitted, draws: int, seed: int, units: tuple[Record, ...] = (),
         unit_seed: int | None = None) -> Scenarios:  # fmt: skip
    """The scenarios of an outing on a battery, or on a bank of different units."""
    bank = (outing.bank.parallel, outing.bank.series) if outing.bank else (1, 1)
    chosen = scenarios(fitted, draws, seed, len(outing.loads), bank, unit_seed)
    return _mixed(chosen, units, draws, seed, bank) if units else chosen


def run_scenarios(record: Record, outing: Outing, fitted: Fitted, chosen: Scenarios,
                  units: tuple[Record, ...] = ()) -> Batch:  # fmt: skip
    """Run scenarios that are drawn already to the battery's end."""
    timeline = build_timeline(outing)
    factor = np.exp(timeline.spread[:, np.newaxis] * chosen.load_normal)
    smallest_c = float(chosen.circuit.charge_c[..., 0].min()) if units else fitted.charge_c
    setup = make_setup(record, outing, smallest_c, factor, units)
    walked, run = walk(timeline, chosen.circuit, setup)
    return Batch(record, outing, fitted, chosen, timeline, walked, setup, run, units)


def _mixed(chosen: Scenarios, units: tuple[Record, ...], draws: int, seed: int,
           bank: tuple[int, int]) -> Scenarios:  # fmt: skip
    """The bank of different units: each with its own fit and draws; an assumption is moved in all units that make it.

    theta stays that of the first unit, at its centre where only others are moved.
    """
    parallel, series = bank
    each = units if len(units) == parallel * series else tuple(u for u in units for _ in range(series))
    fits = {id(record): fit_record(record) for record in units}
    own = [scenarios(fits[id(record)], draws, seed + k, 0) for k, record in enumerate(each)]
    moved = tuple(dict.fromkeys(name for one in (chosen, *own) for name in one.moved))
    circuit = join_units([one.circuit.select(_columns(one, moved)) for one in own], parallel, series)
    rows = _columns(chosen, moved)
    return replace(chosen, circuit=circuit, theta=chosen.theta[rows], moved=moved, first_draw=1 + 2 * len(moved),
                   load_normal=chosen.load_normal[:, rows])  # fmt: skip


def _columns(one: Scenarios, moved: tuple[str, ...]) -> NDArray[np.intp]:
    """Columns of a unit that stand beside each other in its bank: its centre where it does not assume what is moved."""
    places = [1 + 2 * one.moved.index(name) if name in one.moved else None for name in moved]
    sides = [0 if place is None else place + side for place in places for side in (0, 1)]
    return np.array([0, *sides, *range(one.first_draw, len(one.theta))], dtype=np.intp)


def walk(timeline: Timeline, circuit: Circuit, setup: Setup) -> tuple[Timeline, Run]:
    """Run the engine through a timeline, coarsened when it is long; the trips then come from the fine one."""
    walked = coarsen(timeline, setup.cutoff_delay_s)
    setup = replace(setup, size_current_a=sizing_a(walked))
    if walked is timeline:
        return timeline, simulate(circuit, timeline, setup)
    run = simulate(circuit, walked, replace(setup, trips=()))
    volts = setup.cutoff_v, float(circuit.curve.volts.max()) * setup.series
    trips = first_trip_s(timeline, setup.load_factor, setup.trips, volts, len(setup.lead_ohm))
    return walked, replace(run, trip_s=np.where(trips <= run.end_s, trips, np.inf))


def sizing_a(timeline: Timeline) -> Floats:
    """Currents that steps are sized by, (pieces,) [A]: rough ones rounded up to three binary digits.

    So outings whose loads differ a little are cut into the same steps, and many of them may run in one call.
    """
    share, power = np.frexp(rough_current_a(timeline))
    rounded: Floats = np.ldexp(np.ceil(share * 8.0) / 8.0, power)
    return rounded


def make_setup(record: Record, outing: Outing, smallest_c: float | None, load_factor: Floats,
               units: tuple[Record, ...] = ()) -> Setup:  # fmt: skip
    """The engine's setup for this outing.

    smallest_c : charge of the smallest unit, that steps are sized by [C]; as in `Setup`. load_factor : (loads, n).
    units : of a bank, where they differ.
    """
    bank, records = outing.bank, units or (record,)
    branches = bank.parallel if bank else 1
    leads = np.array(bank.lead_resistances_ohm) if bank and bank.lead_resistances_ohm else np.zeros(branches)
    start: Floats | float = outing.start_soc
    if bank and bank.start_charges:
        start = np.array(bank.start_charges).reshape(-1, 1, 1)
    return Setup(
        load_factor=load_factor,
        cell_k=outing.cell_k,
        ambient_k=outing.ambient_k,
        cutoff_v=cutoff_v(records, outing),
        start_soc=start,
        cutoff_delay_s=outing.cutoff_delay_s,
        undervoltage_v=undervoltage_v(records, bank.series if bank else 1),
        wiring_ohm=wiring_ohm(outing.wiring),
        lead_ohm=leads,
        series=bank.series if bank else 1,
        trips=tuple(sorted({trip for one in records for trip in trips_of(one)})),
        size_charge_c=smallest_c,
        longest_step_s=longest_step_s(outing.cell_k, outing.ambient_k),
    )
