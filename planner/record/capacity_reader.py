"""The full discharges of a record: typed figures completed and compared, or read from the raw log."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from planner.constants import COULOMB_PER_AH, JOULE_PER_WH, ZERO_CELSIUS_K
from planner.errors import InputRefused
from planner.log_file.stated import LogOptions, read_options
from planner.record.capacity_log import LogFigures, capacity_from_log
from planner.record.conditions import (
    COLDEST_K,
    HIGHEST_UNIT_V,
    HOTTEST_K,
    LOWEST_UNIT_V,
    MAX_CURRENT_A,
    MAX_TIME_S,
    read_conditions,
)
from planner.record.schema import FULL_ENDINGS, CapacityTest, Instrument, TestConditions
from planner.toml_table import Table

ENDINGS = (*FULL_ENDINGS, "trip", "clock", "operator", "meter")
TYPED = ("current", "power", "duration", "charge", "energy", "curve")

MAX_CHARGE_C = 5_000.0 * COULOMB_PER_AH
MAX_POWER_W = 100_000.0
LOWEST_CURVE_V, HIGHEST_CURVE_V = 8.0, 16.0  # four LFP cells between 2.0 and 4.0 V
LOWEST_MEAN_V, HIGHEST_MEAN_V = 8.0, 16.0
AGREEMENT = 0.02  # figures of one discharge further apart than this are told; common practice, no source
NOT_ONE = 0.25  # figures further apart than this are not of one discharge, or not in the unit that was meant
AT_THE_TOP = 0.001  # of the voltage: an end within this of the highest reading is no end of a discharge
CURVE_AGREEMENT = 0.05  # a curve that ends further from the charge belongs to another discharge


def read_capacity_test(table: Table, instruments: dict[str, Instrument]) -> CapacityTest:
    """One [[capacity_test]]; problems and warnings are noted in the table."""
    log, options = table.path("log"), read_options(table)
    figures = _figures(table, log, options) if log is not None else None
    at = read_conditions(table, instruments, "current", cell_k=_logged_cell_k(table, figures))
    ended_by = table.choice("ended_by", ENDINGS, required=True)
    if table.has("log"):
        return _logged(table, at, ended_by, figures, log)
    return _typed(table, at, ended_by)


def _figures(table: Table, log: Path, options: LogOptions) -> LogFigures | None:
    try:
        figures = capacity_from_log(log, options)
    except InputRefused as refusal:
        table.add_problems(refusal.problems)
        return None
    for warning in figures.warnings:
        table.warn(f"{log.name}: {warning}")
    return figures


def _logged_cell_k(table: Table, figures: LogFigures | None) -> float | None:
    """Temperature of the cells from the log [K], where the test states none; None without a usable one."""
    if table.has("temperature") or figures is None or figures.cell_k is None:
        return None
    celsius = figures.cell_k - ZERO_CELSIUS_K
    if not COLDEST_K <= figures.cell_k <= HOTTEST_K:
        table.warn(f"the log's first temperature is {celsius:.4g} °C, not one of cells: left aside")
        return None
    table.warn(f"the temperature of the cells is taken from the log's first reading, {celsius:.4g} °C")
    return figures.cell_k


def _logged(
    table: Table, at: TestConditions, ended_by: str, figures: LogFigures | None, log: Path | None
) -> CapacityTest:
    """The test as its log says. `figures` is None when the log was refused: a stand-in, never returned."""
    for key in TYPED:
        if table.has(key):
            table.problem(key, "given beside log", "a log, or typed figures", "Keep one of the two.")
    cutoff_v = table.quantity("cutoff_voltage", "voltage", low=LOWEST_UNIT_V, high=HIGHEST_UNIT_V)
    if figures is None:
        return CapacityTest(at, None, None, math.nan, math.nan, None, math.nan, ended_by)
    if not LOWEST_MEAN_V <= figures.energy_j / figures.charge_c <= HIGHEST_MEAN_V:
        mean_v = figures.energy_j / figures.charge_c
        allowed = f"{LOWEST_MEAN_V:g} to {HIGHEST_MEAN_V:g} V"
        table.problem("log", f"of {mean_v:.4g} V mean", allowed, "Check the log's columns and their units.")
    _falls(table, "log", figures.end_v, figures.span_v, ended_by)
    return CapacityTest(
        at,
        figures.current_a,
        figures.power_w,
        figures.duration_s,
        figures.charge_c,
        figures.energy_j,
        figures.end_v if cutoff_v is None else cutoff_v,
        ended_by,
        figures.curve,
        log,
        figures.moving,
    )


def _typed(table: Table, at: TestConditions, ended_by: str) -> CapacityTest:
    current_a = table.quantity("current", "current", above=0.0, high=MAX_CURRENT_A)
    power_w = table.quantity("power", "power", above=0.0, high=MAX_POWER_W)
    duration_s = table.quantity("duration", "duration", above=0.0, high=MAX_TIME_S)
    charge_c = table.quantity("charge", "charge", above=0.0, high=MAX_CHARGE_C)
    energy_j = table.quantity("energy", "energy", above=0.0, high=MAX_CHARGE_C * HIGHEST_MEAN_V)
    curve = _curve(table)
    cutoff_v = _cutoff(table, at, curve)
    if charge_c is None and curve and not table.has("charge"):
        charge_c = curve[-1][0]
    if table.has("power") and table.has("current"):
        fix = "Keep the one the tester's load held steady."
        table.problem("power", "given beside current", "one of current and power", fix)
    elif table.has("power"):
        duration_s, energy_j = _completed_power(table, power_w, duration_s, charge_c, energy_j)
    else:
        current_a, duration_s, charge_c = _completed_current(table, current_a, duration_s, charge_c)
    _compare(table, charge_c, energy_j, curve)
    if curve:
        volts = [volt for _, volt in curve]
        _falls(table, "curve", volts[-1], (min(volts), max(volts)), ended_by)
    return CapacityTest(
        at,
        current_a,
        power_w,
        math.nan if duration_s is None else duration_s,
        math.nan if charge_c is None else charge_c,
        energy_j,
        cutoff_v,
        ended_by,
        curve,
    )


def _curve(table: Table) -> tuple[tuple[float, float], ...]:
    """The typed curve, its charge checked to rise strictly from zero."""
    limits = ((0.0, MAX_CHARGE_C), (LOWEST_CURVE_V, HIGHEST_CURVE_V))
    rows = table.pairs("curve", ("charge", "voltage"), limits=limits)
    curve = tuple((charge_c, voltage_v) for charge_c, voltage_v in rows)
    if not curve:
        return ()
    if len(curve) < 2:
        table.problem("curve", "one row", "at least two rows", "Add rows, or leave the curve out.")
    elif curve[0][0] != 0.0:
        table.problem("curve.1.1", f"{curve[0][0] / COULOMB_PER_AH:g} Ah", "0 Ah", "Start the curve at 0 Ah.")
    for i in range(1, len(curve)):
        if not curve[i][0] > curve[i - 1][0]:
            found = f"{curve[i][0] / COULOMB_PER_AH:g} Ah"
            allowed = f"more than {curve[i - 1][0] / COULOMB_PER_AH:g} Ah"
            table.problem(f"curve.{i + 1}.1", found, allowed, "Put the rows in order of charge, each once.")
            break
    return curve


def _cutoff(table: Table, at: TestConditions, curve: tuple[tuple[float, float], ...]) -> float:
    """Where the discharge ended [V]: as stated, else the last voltage known of it."""
    stated = table.quantity("cutoff_voltage", "voltage", low=LOWEST_UNIT_V, high=HIGHEST_UNIT_V)
    if stated is not None:
        return stated
    if curve:
        return curve[-1][1]
    if at.end_v is not None and at.end_v >= LOWEST_UNIT_V:
        return at.end_v
    if not table.has("cutoff_voltage"):
        fix = 'Write cutoff_voltage = "10.0 V", the voltage at which the discharge ended.'
        table.problem("cutoff_voltage", "absent", "the voltage at the end", fix)
    return math.nan


def _completed_current(
    table: Table, current_a: float | None, duration_s: float | None, charge_c: float | None
) -> tuple[float | None, float | None, float | None]:
    """Current, duration and charge, the missing one from the other two."""
    if current_a is not None and duration_s is not None and charge_c is not None:
        counted_c = current_a * duration_s
        _tell_apart(table, "current x duration", counted_c, "charge", charge_c, COULOMB_PER_AH, "Ah")
    elif current_a is not None and duration_s is not None:
        charge_c = current_a * duration_s
    elif current_a is not None and charge_c is not None:
        duration_s = charge_c / current_a
    elif duration_s is not None and charge_c is not None:
        current_a = charge_c / duration_s
    else:
        _too_few(table, ("current", "duration", "charge"))
    return current_a, duration_s, charge_c


def _completed_power(
    table: Table,
    power_w: float | None,
    duration_s: float | None,
    charge_c: float | None,
    energy_j: float | None,
) -> tuple[float | None, float | None]:
    """Duration and energy of a constant-power discharge, the missing one from the other."""
    if power_w is not None and duration_s is not None:
        drawn_j = power_w * duration_s
        if energy_j is None:
            energy_j = drawn_j
        else:
            _tell_apart(table, "power x duration", drawn_j, "energy", energy_j, JOULE_PER_WH, "Wh")
    elif power_w is not None and energy_j is not None:
        duration_s = energy_j / power_w
    else:
        _too_few(table, ("power", "duration", "energy"))
    if charge_c is None and not table.has("charge"):
        fix = "Add the charge the meter counted: at constant power it does not follow from the rest."
        table.problem("charge", "absent", "a charge, or a curve", fix)
    return duration_s, energy_j


def _too_few(table: Table, keys: tuple[str, str, str]) -> None:
    """Note that fewer than two of three figures are there; silent where a wrong one was already noted."""
    given = [key for key in keys if table.has(key)]
    if len(given) < 2:
        missing = " or ".join(key for key in keys if key not in given)
        found = f"alone with {given[0]}" if given else "without figures"
        table.problem("", found, f"two of {', '.join(keys)}, or a log", f"Add {missing}.")


def _compare(
    table: Table, charge_c: float | None, energy_j: float | None, curve: tuple[tuple[float, float], ...]
) -> None:
    """Compare charge, energy and curve of one discharge with each other."""
    if charge_c is not None and energy_j is not None:
        mean_v = energy_j / charge_c
        if not LOWEST_MEAN_V <= mean_v <= HIGHEST_MEAN_V:
            found = (
                f"{energy_j / JOULE_PER_WH:g} Wh from {charge_c / COULOMB_PER_AH:g} Ah, {mean_v:.3g} V mean"
            )
            allowed = f"{LOWEST_MEAN_V:g} to {HIGHEST_MEAN_V:g} V mean"
            table.problem("energy", found, allowed, "Check both figures and their units.")
    if len(curve) < 2:
        return
    if charge_c is not None and not abs(curve[-1][0] - charge_c) <= CURVE_AGREEMENT * charge_c:
        found = f"ending at {curve[-1][0] / COULOMB_PER_AH:g} Ah"
        allowed = f"within 5 % of the charge, {charge_c / COULOMB_PER_AH:g} Ah"
        table.problem("curve", found, allowed, "Type the whole curve of this discharge, to its end.")
    if energy_j is not None:
        curve_c, curve_v = np.array(curve).T
        area_j = float(np.trapezoid(curve_v, curve_c))
        _tell_apart(table, "the area under the curve", area_j, "energy", energy_j, JOULE_PER_WH, "Wh")


def _falls(table: Table, key: str, end_v: float, span_v: tuple[float, float], ended_by: str) -> None:
    """Refuse as empty, else tell, what ends at its highest voltage: a charge read as a discharge does.

    span_v : lowest and highest voltage under load [V].
    """
    if not (1.0 + AT_THE_TOP) * span_v[0] < end_v >= (1.0 - AT_THE_TOP) * span_v[1]:
        return
    if ended_by in FULL_ENDINGS:
        allowed = f"a discharge, whose voltage has fallen when it ends by {ended_by}"
        fix = "Is it a charge? Give the discharge: a charge says nothing of what can be drawn."
        table.problem(key, f"ending at its highest voltage, {end_v:.4g} V", allowed, fix)
    else:
        found = f"the {key} ends at its highest voltage, {end_v:.4g} V, as a charge does"
        table.warn(f"{found}: check that it is a discharge")


def _tell_apart(
    table: Table, name: str, value: float, other_name: str, other: float, factor: float, unit: str
) -> None:
    """Warn when two figures for one thing differ by more than AGREEMENT; the second is kept. Refuse beyond NOT_ONE."""
    if not abs(value - other) <= NOT_ONE * other:
        found = f"{other / factor:.4g} {unit}, where {name} gives {value / factor:.4g} {unit}"
        fix = "Check all of these figures and their units, minutes and hours too."
        table.problem(other_name, found, f"within {100.0 * NOT_ONE:.0f} % of each other", fix)
    elif not abs(value - other) <= AGREEMENT * other:
        table.warn(
            f"{name} gives {value / factor:.4g} {unit} and {other_name} {other / factor:.4g} {unit}, "
            f"{abs(value / other - 1.0):.1%} apart: {other_name} is used"
        )
