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
from planner.winter.calendar_year import HOURS, by_month
from planner.winter.cell_temperature import cell_temperatures, hourly_decay, time_constant_s
from planner.winter.gate_hours import gate_open
from planner.winter.heated_year import heated_by_battery, heated_by_charger
from planner.winter.ledger import CHARGE, DAYS_DARK, DRAWN, TAKEN, UNSERVED, Ledger, band_table
from planner.winter.schema import GateEnds, Heater, WinterUnit
from planner.winter.thermostat import Thermostat

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
        ledger=Ledger.opened(capacity_c, np.full((ROWS, n), capacity_c * inputs.start_soc)),
        heater_j=np.zeros((ROWS, n)),
        soc=np.empty((HOURS, 2, n)) if keep_trace else None,
    )


def _year_by_cells(inputs: YearInputs, run: _Run) -> None:
    """Without a heater, or with one the charger feeds, the cells do not depend on the charge: first they, then it."""
    offered_a = inputs.offered_a
    if inputs.heater is None:
        decay = hourly_decay(time_constant_s(inputs.conductance_w_per_k, inputs.heat_capacity_j_per_k))
        run.cell_k[:, 0] = cell_temperatures(inputs.air_k.T, decay).T
    else:
        cell_k, heat_j = charger_heated(inputs, inputs.heater)
        run.cell_k[:, 0] = cell_k
        run.heater_j += heat_j.sum(axis=0)
        offered_a = offered_a - heat_j / (SECONDS_PER_HOUR * NOMINAL_UNIT_V)
    for row, pair in ((LOW, inputs.gates.low), (HIGH, inputs.gates.high)):
        run.is_open[:, row] = gate_open(run.cell_k[:, 0], pair.block_k, pair.resume_k)
    bands = inputs.unit.charge_bands
    run.ledger.keep(offered_a, inputs.use_a, run.is_open, run.cell_k, bands, run.soc)


def charger_heated(inputs: YearInputs, heater: Heater) -> tuple[Array, Array]:
    """Cells at the start of each hour [K] and the heat of each [J], (8760, n), of a heater the charger feeds."""
    cell_k, heat_j = np.empty(inputs.air_k.shape), np.empty(inputs.air_k.shape)
    heated_by_charger(cell_k, heat_j, inputs.air_k, inputs.offered_a, _thermostat(inputs, heater))
    return cell_k, heat_j


def _thermostat(inputs: YearInputs, heater: Heater) -> Thermostat:
    tau_s = time_constant_s(inputs.conductance_w_per_k, inputs.heat_capacity_j_per_k)
    return Thermostat(heater.power_w, heater.target_k, heater.off_above_k, inputs.conductance_w_per_k, tau_s)


def _heated_year(inputs: YearInputs, heater: Heater, run: _Run) -> None:
    """With a heater the battery feeds, cells, gate and charge depend on each other: hour after hour."""
    ends = inputs.gates
    pairs = np.array(
        [[ends.low.block_k, ends.low.resume_k], [ends.high.block_k, ends.high.resume_k], [-np.inf, -np.inf]]
    )
    course = np.empty((0, 0, 0)) if run.soc is None else run.soc
    heated_by_battery(
        run.ledger.books, run.cell_k, run.is_open, run.heater_j, course, inputs.air_k, inputs.offered_a, inputs.use_a,
        pairs, band_table(inputs.unit.charge_bands), run.ledger.capacity_c, _thermostat(inputs, heater),
    )  # fmt: skip


def _totals(inputs: YearInputs, run: _Run) -> YearTotals:
    n = inputs.air_k.shape[1]
    unit, books = inputs.unit, run.ledger.books
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
    missed = np.sort(np.maximum(books[TAKEN, FREE] - books[TAKEN, :2], 0.0), axis=0)
    return YearTotals(
        hours_offered=offered_m.sum(axis=0),
        hours_blocked=blocked.sum(axis=1),
        charge_lost_c=lost.sum(axis=1),
        exposed_hours=exposed.sum(axis=1),
        charge_missed_c=missed,
        unserved_c=books[UNSERVED, :2],
        days_dark=books[DAYS_DARK, :2],
        coldest_cell_k=run.cell_k[:, :2].min(axis=(0, 1)),
        hours_hot=_hours_hot(run.cell_k[:, 0], unit),
        heater_j=run.heater_j[:2],
        taken_c=books[TAKEN, :2],
        drawn_c=books[DRAWN, :2],
        end_charge_c=books[CHARGE, :2],
        offered_m=offered_m,
        blocked_m=blocked,
        lost_c_m=lost,
        exposed_m=exposed,
    )


def _hours_hot(cell_k: Array, unit: WinterUnit) -> Array | None:
    limits = [limit for limit in (unit.charge_max_k, unit.discharge_max_k) if limit is not None]
    return np.sum(cell_k > min(limits), axis=0, dtype=np.float64) if limits else None
