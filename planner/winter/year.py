"""The year hour by hour: cells, gate at both ends, charge ledger; many weather years at once.

Arrays run time first, draws last: (8760, n). Three rows are kept side by side where charge matters: the
gate with the lower thresholds, the gate with the upper ones, and no gate at all, which says what the
battery would have taken.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

import numpy as np
import numpy.typing as npt

from planner.constants import NOMINAL_UNIT_V, SECONDS_PER_HOUR
from planner.winter.calendar_year import HOURS, HOURS_PER_DAY, by_month
from planner.winter.cell_temperature import cell_temperatures, hourly_decay, stays_off
from planner.winter.gate_hours import gate_open, gate_step
from planner.winter.ledger import Ledger
from planner.winter.schema import GateEnds, Heater, WinterUnit
from planner.winter.thermostat import Thermostat, heat_hour

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
LOW, HIGH, FREE = 0, 1, 2  # rows: lower thresholds, upper thresholds, never blocked
ROWS = 3


@dataclass(frozen=True, slots=True)
class YearInputs:
    """What a year is computed from.

    air_k : air around the battery [K], shape (8760, n). offered_a : (8760, 1) or (8760, n) [A].
    use_a : (8760,) [A]. conductance_w_per_k, heat_capacity_j_per_k : of the cells.
    """

    air_k: Array
    offered_a: Array
    use_a: Array
    unit: WinterUnit
    gates: GateEnds
    conductance_w_per_k: float
    heat_capacity_j_per_k: float
    start_soc: float = 1.0
    heater: Heater | None = None


@dataclass(frozen=True, slots=True)
class YearTotals:
    """Sums over the year, one column a weather year (n of them, last axis).

    hours_offered (n,): a source is present. hours_blocked (2, n): of those, the gate is shut; row 0 is the
    end with the lower number, row 1 the other, here and below. charge_lost_c (2, n): offered in the
    blocked hours [C]. exposed_hours (2, n): offered, gate open, cells below the charge limit.
    charge_missed_c (2, n): what the battery would have taken without a gate, less what it took [C].
    unserved_c (2, n): what the uses lacked [C]. days_dark (2, n). coldest_cell_k (n,).
    hours_hot (n,): cells above the maker's charge or discharge limit; None when neither is stated.
    heater_j (2, n): energy the heater took [J]. taken_c (2, n): put into the cells [C].
    drawn_c (2, n): taken out of them [C]. end_charge_c (2, n): left at the end [C].
    offered_m (12, n), blocked_m, lost_c_m, exposed_m (2, 12, n): month by month.
    """

    hours_offered: Array
    hours_blocked: Array
    charge_lost_c: Array
    exposed_hours: Array
    charge_missed_c: Array
    unserved_c: Array
    days_dark: Array
    coldest_cell_k: Array
    hours_hot: Array | None
    heater_j: Array
    taken_c: Array
    drawn_c: Array
    end_charge_c: Array
    offered_m: Array
    blocked_m: Array
    lost_c_m: Array
    exposed_m: Array

    @property
    def years(self) -> int:
        """Number of weather years."""
        return int(self.hours_offered.shape[-1])

    def percentile(self, share: float) -> YearTotals:
        """Each quantity's own percentile over the weather years, as totals of one year. share : 0 to 100."""
        found: dict[str, Any] = {}
        for entry in fields(self):
            values = getattr(self, entry.name)
            found[entry.name] = (
                None if values is None else np.percentile(values, share, axis=-1, keepdims=True)
            )
        return YearTotals(**found)


@dataclass(frozen=True, slots=True)
class YearTrace:
    """Hour by hour, both ends: cells at the start of the hour [K], gate, state of charge at its end.

    All of shape (8760, 2, n); row 0 is the gate with the lower thresholds.
    """

    cell_k: Array
    is_open: Flags
    soc: Array


@dataclass(slots=True)
class _Run:
    """Filled while the hours pass. cell_k : (8760, 1 or 3, n); is_open : (8760, 3, n)."""

    cell_k: Array
    is_open: Flags
    ledger: Ledger
    heater_j: Array
    soc: Array | None


def run_year(inputs: YearInputs, keep_trace: bool = False) -> tuple[YearTotals, YearTrace | None]:
    """One pass through the year for all weather years at once.

    keep_trace : also return the hour by hour course; it holds about 0.4 MB a weather year.
    Source of the one-hour step: exact solution of the lumped capacity with air held over the hour; the
    gate looks at the cells at the start of the hour.
    """
    run = _new_run(inputs, keep_trace)
    if inputs.heater is None or inputs.heater.fed_by == "charger":
        _year_by_cells(inputs, run)
    else:
        _heated_year(inputs, inputs.heater, run)
    trace = None
    if run.soc is not None:
        shape = (HOURS, 2, inputs.air_k.shape[1])
        trace = YearTrace(np.broadcast_to(run.cell_k[:, :2], shape), run.is_open[:, :2], run.soc)
    return _totals(inputs, run), trace


def joined(parts: list[YearTotals]) -> YearTotals:
    """Totals of several blocks of weather years as one."""
    found: dict[str, Any] = {}
    for entry in fields(YearTotals):
        values = [getattr(part, entry.name) for part in parts]
        found[entry.name] = None if values[0] is None else np.concatenate(values, axis=-1)
    return YearTotals(**found)


def _new_run(inputs: YearInputs, keep_trace: bool) -> _Run:
    n = inputs.air_k.shape[1]
    rows = ROWS if inputs.heater is not None and inputs.heater.fed_by == "battery" else 1
    capacity_c = inputs.unit.capacity_c
    return _Run(
        cell_k=np.empty((HOURS, rows, n)),
        is_open=np.ones((HOURS, ROWS, n), dtype=bool),
        ledger=Ledger(capacity_c, np.full((ROWS, n), capacity_c * inputs.start_soc)),
        heater_j=np.zeros((ROWS, n)),
        soc=np.empty((HOURS, 2, n)) if keep_trace else None,
    )


def _year_by_cells(inputs: YearInputs, run: _Run) -> None:
    """Without a heater, or with one the charger feeds, the cells do not depend on the charge: first they, then it."""
    offered_a = inputs.offered_a
    if inputs.heater is None:
        decay = hourly_decay(inputs.heat_capacity_j_per_k / inputs.conductance_w_per_k)
        run.cell_k[:, 0] = cell_temperatures(inputs.air_k.T, decay).T
    else:
        run.cell_k[:, 0], heat_j = charger_heated(inputs, inputs.heater)
        run.heater_j += heat_j.sum(axis=0)
        offered_a = offered_a - heat_j / (SECONDS_PER_HOUR * NOMINAL_UNIT_V)
    _gate(inputs, run)
    bands = inputs.unit.charge_bands
    accept_a = accepted_a(run.cell_k, bands) if bands else None
    present = inputs.offered_a.max(axis=1) > 0.0
    for hour in range(HOURS):
        most = np.inf if accept_a is None else accept_a[hour]
        _book(run, hour, offered_a[hour], inputs.use_a[hour], most, bool(present[hour]))


def charger_heated(inputs: YearInputs, heater: Heater) -> tuple[Array, Array]:
    """Cells at the start of each hour [K] and the heat of each [J], (8760, n), of a heater the charger feeds."""
    n = inputs.air_k.shape[1]
    thermostat = _thermostat(inputs, heater)
    decay = hourly_decay(thermostat.tau_s)
    may = np.broadcast_to(inputs.offered_a * NOMINAL_UNIT_V >= heater.power_w, inputs.air_k.shape)
    some: Flags = np.asarray(may.any(axis=1))
    cells, heat_j = np.empty((HOURS, n)), np.zeros((HOURS, n))
    cell_k, on = inputs.air_k[:1].copy(), np.zeros((1, n), dtype=bool)
    for hour in range(HOURS):
        air_k, cells[hour] = inputs.air_k[hour], cell_k
        if some[hour] and not stays_off(cell_k, air_k, on, heater):
            may_heat = np.ascontiguousarray(may[hour : hour + 1])
            heat_hour(cell_k, on, heat_j[hour : hour + 1], air_k, may_heat, thermostat)
        else:
            cell_k, on[:] = air_k + (cell_k - air_k) * decay, False
    return cells, heat_j


def _thermostat(inputs: YearInputs, heater: Heater) -> Thermostat:
    tau_s = inputs.heat_capacity_j_per_k / inputs.conductance_w_per_k
    return Thermostat(heater.power_w, heater.target_k, heater.off_above_k, inputs.conductance_w_per_k, tau_s)


def _gate(inputs: YearInputs, run: _Run) -> None:
    """All hours of both ends at once."""
    for row, pair in ((LOW, inputs.gates.low), (HIGH, inputs.gates.high)):
        run.is_open[:, row] = gate_open(run.cell_k[:, 0], pair.block_k, pair.resume_k)


def _book(
    run: _Run, hour: int, offered_a: Array, use_a: Array | float, accept_a: Array | float, present: bool
) -> None:
    """The hour in the ledger, and the day closed at midnight."""
    if present:
        run.ledger.hour(offered_a, use_a, run.is_open[hour], accept_a)
    else:
        run.ledger.quiet_hour(use_a)
    if run.soc is not None:
        run.soc[hour] = run.ledger.charge_c[:2] / run.ledger.capacity_c
    if hour % HOURS_PER_DAY == HOURS_PER_DAY - 1:
        run.ledger.end_day()


def _heated_year(inputs: YearInputs, heater: Heater, run: _Run) -> None:
    """With a heater the battery feeds, cells, gate and charge depend on each other: hour after hour."""
    n = inputs.air_k.shape[1]
    block_k = np.array([[inputs.gates.low.block_k], [inputs.gates.high.block_k], [-np.inf]])
    resume_k = np.array([[inputs.gates.low.resume_k], [inputs.gates.high.resume_k], [-np.inf]])
    thermostat = _thermostat(inputs, heater)
    decay = hourly_decay(thermostat.tau_s)
    cell_k, energy_j = np.tile(inputs.air_k[0], (ROWS, 1)), np.zeros((ROWS, n))
    bands, present = inputs.unit.charge_bands, inputs.offered_a.max(axis=1) > 0.0
    on, is_open = np.zeros((ROWS, n), dtype=bool), np.zeros((ROWS, n), dtype=bool)
    for hour in range(HOURS):
        air_k = inputs.air_k[hour]
        is_open = gate_step(is_open, cell_k, block_k, resume_k)
        run.cell_k[hour], run.is_open[hour] = cell_k, is_open
        may_heat = run.ledger.charge_c * NOMINAL_UNIT_V >= heater.power_w * SECONDS_PER_HOUR
        if may_heat.any() and not stays_off(cell_k, air_k, on, heater):
            heat_hour(cell_k, on, energy_j, air_k, may_heat, thermostat)
        else:
            cell_k, energy_j[:], on[:] = air_k + (cell_k - air_k) * decay, 0.0, False
        run.heater_j += energy_j
        heater_a = energy_j / (SECONDS_PER_HOUR * NOMINAL_UNIT_V)
        accept_a = accepted_a(run.cell_k[hour], bands) if bands and present[hour] else np.inf
        _book(run, hour, inputs.offered_a[hour], inputs.use_a[hour] + heater_a, accept_a, bool(present[hour]))


def accepted_a(cell_k: Array, bands: tuple[tuple[float, float, float], ...]) -> Array:
    """Largest charge current at a cell temperature [A]: of the band it lies in; no band, no limit.

    bands : (from K, until K, current A); where two meet or overlap the smaller current counts.
    """
    limit = np.full(cell_k.shape, np.inf)
    for low_k, high_k, current_a in bands:
        inside = (cell_k >= low_k) & (cell_k <= high_k)
        limit = np.where(inside, np.minimum(limit, current_a), limit)
    return limit


def _totals(inputs: YearInputs, run: _Run) -> YearTotals:
    n = inputs.air_k.shape[1]
    unit, ledger = inputs.unit, run.ledger
    present = np.broadcast_to(inputs.offered_a > 0.0, (HOURS, n))
    blocked_m, lost_m, exposed_m = [], [], []
    for row in (LOW, HIGH):
        cells = run.cell_k[:, min(row, run.cell_k.shape[1] - 1)]
        shut = present & ~run.is_open[:, row]
        blocked_m.append(by_month(shut))
        lost_m.append(by_month(np.where(shut, inputs.offered_a, 0.0)) * SECONDS_PER_HOUR)
        exposed_m.append(by_month(present & run.is_open[:, row] & (cells < unit.charge_min_k)))
    offered_m = by_month(present)
    # The lower thresholds block less and expose more, so the ends change places for the exposure.
    blocked, lost, exposed = np.stack(blocked_m), np.stack(lost_m), np.stack(exposed_m[::-1])
    # A battery kept waiting once more may be the emptier one later and take more: the ends may change places.
    missed = np.sort(np.maximum(ledger.taken_c[FREE] - ledger.taken_c[:2], 0.0), axis=0)
    return YearTotals(
        hours_offered=offered_m.sum(axis=0),
        hours_blocked=blocked.sum(axis=1),
        charge_lost_c=lost.sum(axis=1),
        exposed_hours=exposed.sum(axis=1),
        charge_missed_c=missed,
        unserved_c=ledger.unserved_c[:2],
        days_dark=ledger.days_dark[:2],
        coldest_cell_k=run.cell_k[:, :2].min(axis=(0, 1)),
        hours_hot=_hours_hot(run.cell_k[:, 0], unit),
        heater_j=run.heater_j[:2],
        taken_c=ledger.taken_c[:2],
        drawn_c=ledger.drawn_c[:2],
        end_charge_c=ledger.charge_c[:2],
        offered_m=offered_m,
        blocked_m=blocked,
        lost_c_m=lost,
        exposed_m=exposed,
    )


def _hours_hot(cell_k: Array, unit: WinterUnit) -> Array | None:
    limits = [limit for limit in (unit.charge_max_k, unit.discharge_max_k) if limit is not None]
    return np.sum(cell_k > min(limits), axis=0, dtype=np.float64) if limits else None
