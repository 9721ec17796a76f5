"""What a raw bench log says: one pass over the file, then everything read from what was kept.

Discharge current is positive in all results, whatever the file's own sign.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from planner.constants import COULOMB_PER_AH, JOULE_PER_WH
from planner.log_file import iter_blocks, repeat_warnings
from planner.log_file.columns import FloatArray, refuse
from planner.log_file.stated import LogOptions
from planner.record.log_ending import UNTIL, Ending, at_the_last_load, find_ending
from planner.record.log_outline import Outline
from planner.record.log_ramp import Ramp, find_ramp
from planner.record.log_recovery import Recovery, TimeConstants, find_recovery, find_time_constants
from planner.record.log_sign import LOADED, Sign, settle_sign
from planner.record.log_steps import Step, StepFinder
from planner.record.log_thermal import Thermal, find_thermal
from planner.record.log_totals import LISTED_GAPS, Flow, Totals

BOTH_INTEGRALS = 0.001  # share by which hold and trapezoid may differ before both are shown
CLOCK_CHANGE_S = 3600.0  # a gap of one hour in clock time is also what summer time makes
CURVE_POINTS = 40
DRAWN_BEFORE = 0.01  # of the charge: more taken at other loads first, and the curve would begin in its middle


@dataclass(frozen=True, slots=True)
class LogSummary:
    """What one log says, SI units, discharge positive.

    discharge, charge : charge and energy each way, by trapezoid and by hold.
    mean_current_a : net charge over the duration. mean_voltage_v : energy over charge of the discharge,
    mean over time when nothing was discharged. mean_of_samples_a : the plain mean of the rows.
    gaps : (start s, length s). samples_s : usual, shortest, longest interval.
    shortest_event_s : shortest time between two sudden changes, None without them.
    curve : (charge taken out C, terminal V), thinned. warnings : in words.
    """

    file: str
    columns: dict[str, str | None]
    rows: int
    duration_s: float
    discharge: Flow
    charge: Flow
    mean_voltage_v: float
    mean_current_a: float
    mean_current_hold_a: float
    mean_of_samples_a: float
    samples_s: tuple[float, float, float]
    repeats: int
    gaps: tuple[tuple[float, float], ...]
    shortest_event_s: float | None
    steps: tuple[Step, ...]
    step_count: int
    ending: Ending | None
    ramp: Ramp | None
    recovery: Recovery | None
    time_constants: tuple[TimeConstants, ...]
    thermal: Thermal | None
    curve: tuple[tuple[float, float], ...]
    outline: FloatArray
    warnings: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        """The object `log --json` prints."""
        from planner.record.log_report import json_object

        return json_object(self)

    def to_toml(self) -> str:
        """Tables to paste into a record; what the log cannot know stands there as a comment."""
        from planner.record.log_toml import record_tables

        return record_tables(self)

    def to_text(self) -> str:
        """The summary in words, 80 columns."""
        from planner.record.log_report import text

        return text(self)


def summarise_log(path: Path, says: LogOptions | None = None) -> LogSummary:
    """Read a bench log once and say what it holds. says : what its file leaves open.

    Raises InputRefused when the file cannot be read in one way only, or the meaning of its current's sign
    cannot be settled.
    """
    says = says or LogOptions()
    totals, outline, finder = Totals(), Outline(), StepFinder()
    headings: dict[str, str] = {}
    notes: tuple[str, ...] = ()
    for block in iter_blocks(
        path,
        decimal_comma=says.decimal_comma,
        columns=says.columns,
        date_order=says.date_order,
        interval_s=says.interval_s,
        required=("time", "voltage", "current"),
    ):
        headings, notes = block.headings, block.warnings
        totals.add(block)
        outline.add(block)
        finder.add(block)
    finder.finish()
    if totals.duration_s <= 0.0:
        refuse(path, "time", "the same in every row", "a time that passes", "Check the time column.")
    table = outline.table()
    sign = settle_sign(totals, finder.steps, table, says.discharge)
    if not sign.settled and totals.positive.charge_c <= totals.negative.charge_c * BOTH_INTEGRALS:
        refuse(
            path,
            f'"{headings["current"]}"',
            "negative throughout, while the voltage stays the same",
            "a log from which discharge and charge can be told",
            'Say discharge = "negative" if it is a discharge; else this is the log of a charge.',
        )
    return _summary(path.name, headings, notes, totals, finder, table, sign)


def _summary(
    name: str,
    headings: dict[str, str],
    notes: tuple[str, ...],
    totals: Totals,
    finder: StepFinder,
    table: FloatArray,
    sign: Sign,
) -> LogSummary:
    """Everything that is read from the kept parts, once the sign is known."""
    out, back = (totals.positive, totals.negative)[:: -1 if sign.factor < 0.0 else 1]
    table = table * np.array([[1.0], [1.0], [sign.factor], [1.0]])
    ramp = find_ramp(table)
    steps = _steps(finder, sign, ramp)
    ending = find_ending(table, steps, totals.usual_s, ramp)
    summary = LogSummary(
        name,
        {quantity: headings.get(quantity) for quantity in ("time", "voltage", "current", "temperature")},
        totals.rows,
        totals.duration_s,
        out,
        back,
        out.energy_j / out.charge_c if out.charge_c > 0.0 else totals.voltage_time_vs / totals.duration_s,
        *_mean_currents(out, back, totals, sign),
        (totals.usual_s, totals.shortest_s, totals.longest_s),
        totals.repeats,
        tuple(totals.gaps),
        finder.shortest_event_s if np.isfinite(finder.shortest_event_s) else None,
        steps,
        finder.count,
        ending,
        ramp,
        find_recovery(table, steps),
        find_time_constants(table, steps),
        find_thermal(table),
        _curve(table, ending),
        table,
        (),
    )
    return replace(summary, warnings=(*notes, *sign.warnings, *_warnings(summary, totals)))


def _mean_currents(out: Flow, back: Flow, totals: Totals, sign: Sign) -> tuple[float, float, float]:
    """Mean current [A], discharge positive: by trapezoids, by readings held until the next, over the readings."""
    return (
        (out.charge_c - back.charge_c) / totals.duration_s,
        (out.charge_hold_c - back.charge_hold_c) / totals.duration_s,
        sign.factor * totals.current_sum_a / totals.rows,
    )


def _steps(finder: StepFinder, sign: Sign, ramp: Ramp | None) -> tuple[Step, ...]:
    """The sudden changes of current, discharge positive. A slowly sampled ramp looks like stairs: none of those."""
    steps = (replace(s, from_a=sign.factor * s.from_a + 0.0, to_a=sign.factor * s.to_a + 0.0) for s in finder.steps)
    return tuple(s for s in steps if ramp is None or not ramp.start_s < s.start_s <= ramp.end_s)


def _curve(table: FloatArray, ending: Ending | None) -> tuple[tuple[float, float], ...]:
    """Charge taken out against voltage under load, thinned to CURVE_POINTS along both."""
    if ending is None:
        return ()
    time_s, voltage_v, current_a, _ = table
    charge_c = np.concatenate(
        ([0.0], np.cumsum(0.5 * np.diff(time_s) * np.maximum(current_a[1:] + current_a[:-1], 0.0)))
    )
    # A row counts when it carries the load the discharge ended with: mixed loads give no single curve.
    under = np.flatnonzero(current_a > LOADED * ending.current_a)
    loaded = at_the_last_load(table, under, ending.current_a, ending.last_v)
    if loaded.size < 2 or charge_c[loaded[0]] - charge_c[under[0]] > DRAWN_BEFORE * charge_c[loaded[-1]]:
        return ()
    # Steps in charge and steps in voltage together, so that the knee gets its share of points.
    charge, voltage = charge_c[loaded] - charge_c[loaded[0]], voltage_v[loaded]
    way = charge / max(float(np.ptp(charge)), 1e-9) + np.concatenate(
        ([0.0], np.cumsum(np.abs(np.diff(voltage))))
    ) / max(float(np.sum(np.abs(np.diff(voltage)))), 1e-9)
    at = np.unique(np.searchsorted(way, np.linspace(0.0, way[-1], CURVE_POINTS)).clip(0, way.size - 1))
    rising = at[np.append(True, np.diff(charge[at]) > 0.0)]
    return tuple((float(charge[i]), float(voltage[i])) for i in rising)


def _warnings(summary: LogSummary, totals: Totals) -> tuple[str, ...]:
    found = [*repeat_warnings(summary.repeats), *_integral_warnings(summary)]
    if totals.gap_count:
        longest = max(length for _, length in summary.gaps)
        listed = f" (the first {LISTED_GAPS} listed)" if totals.gap_count > LISTED_GAPS else ""
        found.append(
            f"{totals.gap_count} gap{'' if totals.gap_count == 1 else 's'}{listed}, the longest {longest:g} s, "
            "bridged by a straight line."
        )
        if any(abs(length - CLOCK_CHANGE_S) <= 2.0 * summary.samples_s[0] for _, length in summary.gaps):
            found.append("A gap of one hour may be a clock set to summer time: then no time passed in it.")
    if totals.top.clipped:
        found.append(_flat(totals.top.value, totals.top.rows))
    if totals.bottom.clipped:
        found.append(_flat(-totals.bottom.value, totals.bottom.rows))
    event = summary.shortest_event_s
    if event is not None and event <= 2.0 * summary.samples_s[0]:
        found.append(
            f"The shortest event seen lasts {event:g} s, about one sample: shorter surges are not seen, "
            "and peaks are lower bounds."
        )
    if summary.ending is not None and not summary.ending.certain:
        found.append(
            f"It seems to have run until {UNTIL[summary.ending.kind]}. That is not certain: a trip, an operator's stop "
            "and the meter's limit can look the same in a log. Confirm ended_by."
        )
    if summary.steps:
        found.append(
            "A resistance counts only with the temperature and state of charge it was read at: add them."
        )
    return tuple(found)


def _integral_warnings(summary: LogSummary) -> list[str]:
    """Both integrals where they differ, and the plain mean of the rows beside them."""
    out = summary.discharge
    pairs = [
        (out.charge_c, out.charge_hold_c),
        (out.energy_j, out.energy_hold_j),
        (summary.charge.charge_c, summary.charge.charge_hold_c),
    ]
    if all(abs(line - hold) <= BOTH_INTEGRALS * max(line, hold) for line, hold in pairs):
        return []
    return [
        (
            "The samples can be read two ways. Straight lines between them: "
            f"{out.charge_c / COULOMB_PER_AH:.4g} Ah, {out.energy_j / JOULE_PER_WH:.5g} Wh, "
            f"mean {summary.mean_current_a:.2f} A (used here). Each held until the next: "
            f"{out.charge_hold_c / COULOMB_PER_AH:.4g} Ah, {out.energy_hold_j / JOULE_PER_WH:.5g} Wh, "
            f"mean {summary.mean_current_hold_a:.2f} A. "
            f"The plain mean of the rows, {summary.mean_of_samples_a:.2f} A, is "
            "neither. Say how the logger works."
        )
    ]


def _flat(value_a: float, rows: int) -> str:
    return (
        f"Flat top: {rows} rows read exactly {value_a:g} A while others scatter: the meter's range may end "
        "there, and the true peaks are higher."
    )
