"""From circuit, setup and timeline to the plain arrays of the compiled march, and back to a Run.

All arrays are fresh, writable and C-contiguous: to the compiler a read-only one is another type, and the whole march
would be compiled again for it.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import Circuit
from planner.battery.curve import GRID
from planner.outing.timeline import Timeline
from planner.simulate import tables
from planner.simulate.leap import most_leap_v
from planner.simulate.pieces import rough_current_a
from planner.simulate.setup import LONGEST_RUN_S, Run, Setup, Trace
from planner.simulate.tables import Floats, Now, Pieces, Results, Rules, Watches

Shape = tuple[int, int, int]  # branches, series, scenarios
ENDS = (
    "end_s", "end_kind", "end_charge_c", "end_energy_j", "end_heat_j", "stored_change_j", "end_soc", "mark_charge_c",
    "mark_energy_j", "mark_temp_k", "mark_soc", "min_v", "trip_s", "steps",
)  # fmt: skip
CUTOUTS = ("inverter_s", "inverter_charge_c", "inverter_soc", "left_off_s")


def units_of(circuit: Circuit, shape: Shape) -> Floats:
    """The circuit's parameters, scenario by scenario, (n, u, parameters)."""
    columns = [
        circuit.charge_c, circuit.metal_ohm, circuit.cell_ohm, circuit.diffusion_tau_s, circuit.gap_lag,
        circuit.activation_k, circuit.diffusion_activation_k, circuit.heat_capacity_j_per_k,
        circuit.conductance_w_per_k, _rows_of(circuit)[1],
    ]  # fmt: skip
    for ohm, tau_s in zip(circuit.pair_ohm, circuit.pair_tau_s, strict=True):
        columns += [ohm, tau_s]
    for band, loss in enumerate(circuit.cold_loss_per_k):
        columns += [_band(circuit.cold_from_k, band), _band(circuit.cold_width_k, band), loss]
    each = [np.broadcast_to(column, shape).reshape(-1, shape[2]).T for column in columns]
    return np.ascontiguousarray(np.stack(each, axis=-1))


def _rows_of(circuit: Circuit) -> tuple[NDArray[np.intp], Floats]:
    """The curves in use, and which of them each unit has. A block of many scenarios carries only its own along."""
    rows, place = np.unique(circuit.offset // (GRID + 1), return_inverse=True)
    return rows, place.reshape(np.shape(circuit.offset)).astype(float)


def _band(values: Floats, band: int) -> Floats:
    """One band's values, where all bands may share one."""
    return values[band if len(values) > 1 else 0]  # type: ignore[no-any-return]


def rules_of(circuit: Circuit, timeline: Timeline, setup: Setup) -> Rules:
    """Batteries, start, surroundings and ends, scenario by scenario."""
    n = setup.load_factor.shape[1]
    shape = (len(setup.lead_ohm), setup.series, n)
    rough = rough_current_a(timeline) if setup.size_current_a is None else setup.size_current_a
    drawn = (timeline.current_start_a, timeline.current_end_a, timeline.power_w, timeline.conductance_s)
    told = (setup.ambient_k, setup.cell_k, setup.wiring_ohm)
    numbers = (
        setup.cutoff_v,
        setup.cutoff_delay_s,
        math.nan if setup.undervoltage_v is None else setup.undervoltage_v,
        most_leap_v(timeline, float(rough.max(initial=0.0)), setup.trips),
        circuit.reference_k,
        timeline.edges_s[-1],
        setup.repeat,
        LONGEST_RUN_S if any(bool(values.any()) for values in drawn) else 0.0,
    )
    start = np.broadcast_to(np.asarray(setup.start_soc, dtype=float), shape)
    return Rules(
        unit=units_of(circuit, shape),
        start_soc=np.array(start.reshape(-1, n).T, order="C"),
        told=np.stack([np.broadcast_to(np.asarray(values, dtype=float), (n,)) for values in told], axis=-1),
        factor=np.array(setup.load_factor, dtype=float, order="C"),
        trips=np.array(setup.trips, dtype=float).reshape(-1, 2).T.copy(),
        numbers=np.array(numbers, dtype=float),
    )


def now_of(circuit: Circuit, pieces: Pieces, rules: Rules, lead_ohm: Floats) -> Now:
    """Working room for one scenario."""
    u, pairs, (rows, _) = rules.unit.shape[1], len(circuit.pair_ohm), _rows_of(circuit)
    return Now(
        curves=circuit.curve.tables(rows),
        unit=np.zeros(rules.unit.shape[1:]),
        state=np.zeros((3, u, tables.STATES + pairs)),
        warm=np.zeros((3, u, tables.WARMTHS)),
        instant=np.zeros((3, u, tables.INSTANTS)),
        tally=np.zeros((u, tables.TALLIES)),
        branch=np.zeros((4, len(lead_ohm))),
        faded=np.zeros((len(pieces.spans_s), u, 1 + pairs)),
        lead_ohm=np.array(lead_ohm, dtype=float, order="C"),
        s=np.zeros(tables.PLACES),
    )


def own_room(now: Now) -> Now:
    """Working room of another thread; what nothing writes into is shared."""
    return Now(now.curves, *(array.copy() for array in now[1:]))


def own_watches(watches: Watches) -> Watches:
    """Counters of another thread."""
    return Watches(*(array.copy() for array in watches))


def watches_of(rules: Rules, branches: int) -> Watches:
    """Counters of the watches of one scenario."""
    loads, held = len(rules.factor), np.zeros((rules.trips.shape[1], branches))
    return Watches(np.zeros(tables.VOLTAGE_WATCHES + loads), held, np.zeros(loads), np.zeros(loads))


def results_of(rules: Rules, pieces: Pieces, branches: int, trace: bool) -> Results:
    """Empty results: ends that never came, marks not reached, traces not written."""
    loads, n = rules.factor.shape
    steps = int(pieces.table[tables.COUNT].sum()) if trace else 0
    ends = np.full((tables.END_ROWS, n), np.nan)
    ends[[tables.END_S, tables.TRIP_S]] = np.inf
    zeros = (
        tables.END_KIND,
        tables.END_CHARGE_C,
        tables.END_ENERGY_J,
        tables.END_HEAT_J,
        tables.STORED_CHANGE_J,
    )
    ends[[*zeros, tables.STEPS]] = 0.0
    cutouts = np.full((tables.CUTOUT_ROWS, loads, n), np.nan)
    cutouts[[tables.INVERTER_S, tables.LEFT_OFF_S]] = np.inf
    return Results(
        ends, cutouts, np.full((tables.TRACES, steps, n), np.nan), np.full((2, steps, branches), np.nan)
    )


def run_of(results: Results, pieces: Pieces) -> Run:
    """The finished result."""
    values = dict(zip(ENDS, results.ends, strict=True))
    kinds = np.array(tables.END_KINDS)[values.pop("end_kind").astype(int)]
    steps = int(values.pop("steps").max(initial=0.0))
    cutouts = dict(zip(CUTOUTS, results.inverters, strict=True))
    return Run(**values, **cutouts, end_kind=kinds, steps=steps, trace=_trace_of(results, pieces))


def _trace_of(results: Results, pieces: Pieces) -> Trace | None:
    """The first outing as far as any scenario got; None when it was not wanted."""
    lived = np.flatnonzero(np.isfinite(results.trace[tables.TRACE_END_V]).any(axis=1))
    if len(lived) == 0:
        return None
    rows = slice(0, int(lived[-1]) + 1)
    count = pieces.table[tables.COUNT].astype(int)
    span = pieces.spans_s[pieces.table[tables.SPAN_OF].astype(int)]
    piece = np.repeat(np.arange(len(count)), count)
    number = np.arange(len(piece)) - np.repeat(np.cumsum(count) - count, count)
    begin = np.concatenate([[0.0], np.cumsum(span * count)[:-1]])
    start = begin[piece] + number * span[piece]
    branches = results.branch_trace[:, rows]
    values = results.trace[:, rows]
    return Trace(start[rows], (start + span[piece])[rows], piece[rows], *values, *branches)
