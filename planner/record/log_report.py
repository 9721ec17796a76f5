"""A log's summary as a JSON object and as text of 80 columns."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from planner.constants import COULOMB_PER_AH, JOULE_PER_WH, ZERO_CELSIUS_K
from planner.record.log_ending import UNTIL
from planner.record.log_steps import READ_AFTER_S, Step

if TYPE_CHECKING:
    from planner.record.log_ending import Ending
    from planner.record.log_ramp import Ramp
    from planner.record.log_recovery import Recovery, TimeConstants
    from planner.record.log_summary import LogSummary
    from planner.record.log_thermal import Thermal

LISTED_STEPS = 2000  # in JSON; the count of all stands beside them
SHOWN_STEPS = 8  # in text
SHOWN_GAPS = 5
COLUMNS = 80
READING_OF_STEP_S = 10.0  # the second reading of a step, where the log has it


def second_reading(step: Step) -> tuple[float, float]:
    """Second reading of a step [V] and how long after it [s]: 10 s, else the longest below, else 0."""
    for wait, value in reversed(list(zip(READ_AFTER_S, step.after_v, strict=True))):
        if wait <= READING_OF_STEP_S and not math.isnan(value):
            return value, wait
    return step.first_v, 0.0


def json_object(summary: LogSummary) -> dict[str, Any]:
    """The keys of `log --json`. Names end in their unit; null where the log cannot tell."""
    out, back = summary.discharge, summary.charge
    usual_s, shortest_s, longest_s = summary.samples_s
    return {
        "file": summary.file,
        "charge_Ah": out.charge_c / COULOMB_PER_AH,
        "charged_Ah": back.charge_c / COULOMB_PER_AH,
        "energy_Wh": out.energy_j / JOULE_PER_WH,
        "charged_Wh": back.energy_j / JOULE_PER_WH,
        "charge_hold_Ah": out.charge_hold_c / COULOMB_PER_AH,
        "energy_hold_Wh": out.energy_hold_j / JOULE_PER_WH,
        "duration_s": summary.duration_s,
        "mean_voltage_V": summary.mean_voltage_v,
        "mean_current_A": summary.mean_current_a,
        "mean_current_hold_A": summary.mean_current_hold_a,
        "mean_of_samples_A": summary.mean_of_samples_a,
        "rows": summary.rows,
        "gaps": [{"start_s": start, "length_s": length} for start, length in summary.gaps],
        "samples": {
            "interval_s": usual_s,
            "shortest_s": shortest_s,
            "longest_s": longest_s,
            "repeats": summary.repeats,
            "shortest_event_s": summary.shortest_event_s,
        },
        "ended_by": summary.ending.kind if summary.ending else None,
        "ending": _ending(summary.ending),
        "steps": [_step(step) for step in summary.steps[:LISTED_STEPS]],
        "step_count": summary.step_count,
        "ramp": _ramp(summary.ramp),
        "recovery": _recovery(summary.recovery),
        "time_constants": [_time_constants(found) for found in summary.time_constants],
        "thermal": _thermal(summary.thermal),
        "columns": summary.columns,
        "warnings": list(summary.warnings),
    }


def _ending(ending: Ending | None) -> dict[str, Any] | None:
    if ending is None:
        return None
    return {
        "certain": ending.certain,
        "evidence": ending.evidence,
        "start_s": ending.start_s,
        "end_s": ending.end_s,
        "held_s": ending.held_s,
        "current_A": ending.current_a,
        "last_V": ending.last_v,
        "after_V": ending.after_v,
    }


def _ramp(ramp: Ramp | None) -> dict[str, float] | None:
    if ramp is None:
        return None
    return {
        "start_s": ramp.start_s,
        "end_s": ramp.end_s,
        "from_A": ramp.from_a,
        "end_A": ramp.end_a,
        "rate_A_per_s": ramp.rate_a_per_s,
    }


def _recovery(recovery: Recovery | None) -> dict[str, Any] | None:
    if recovery is None:
        return None
    return {
        "start_s": recovery.start_s,
        "from_V": recovery.from_v,
        "end_V": recovery.end_v,
        "rest_s": recovery.rest_s,
        "still_rising": recovery.still_rising,
        "readings": [{"after_s": wait, "V": value} for wait, value in recovery.readings],
    }


def _time_constants(found: TimeConstants) -> dict[str, Any]:
    return {
        "start_s": found.start_s,
        "at_rest": found.at_rest,
        "tau_s": list(found.tau_s),
        "resistance_mohm": [1e3 * ohm for ohm in found.resistance_ohm],
        "rms_mV": 1e3 * found.rms_v,
    }


def _thermal(thermal: Thermal | None) -> dict[str, Any] | None:
    if thermal is None:
        return None
    return {
        "current_A": thermal.current_a,
        "readings": thermal.readings,
        "tau_s": thermal.tau_s,
        "tau_low_s": thermal.tau_low_s,
        "tau_high_s": thermal.tau_high_s,
        "first_degC": thermal.first_k - ZERO_CELSIUS_K,
        "last_degC": thermal.last_k - ZERO_CELSIUS_K,
        "end_degC": None if thermal.end_k is None else thermal.end_k - ZERO_CELSIUS_K,
    }


def _step(step: Step) -> dict[str, Any]:
    to_v, after_s = second_reading(step)
    return {
        "start_s": step.start_s,
        "from_A": step.from_a,
        "to_A": step.to_a,
        "from_V": step.from_v,
        "to_V": to_v,
        "after_s": after_s,
        "resistance_mohm": {
            f"{wait:g}": None if math.isnan(ohm) else 1e3 * ohm
            for wait, ohm in zip(READ_AFTER_S, step.resistance_ohm, strict=True)
        },
    }


def text(summary: LogSummary) -> str:
    """What the log says, for reading."""
    out = summary.discharge
    lines = [
        f"{summary.file}: {summary.rows} rows, {summary.duration_s:g} s, one in {summary.samples_s[0]:g} s",
        (
            f"Discharged  {out.charge_c / COULOMB_PER_AH:.3f} Ah   {out.energy_j / JOULE_PER_WH:.1f} Wh   "
            f"mean {summary.mean_voltage_v:.3f} V   {summary.mean_current_a:.3f} A"
        ),
        f"Charged     {summary.charge.charge_c / COULOMB_PER_AH:.3f} Ah",
        "Columns     "
        + ", ".join(f"{quantity}: {heading}" for quantity, heading in summary.columns.items() if heading),
    ]
    if summary.ending:
        sure = "" if summary.ending.certain else ", not certain"
        until = f"{UNTIL[summary.ending.kind]} (ended_by {summary.ending.kind}{sure})"
        lines.append(f"Ran until   {until}: {summary.ending.evidence}")
    lines += [f"Gap         at {start:g} s, {length:g} s long" for start, length in summary.gaps[:SHOWN_GAPS]]
    lines += _more(len(summary.gaps), SHOWN_GAPS, "gaps")
    lines += _step_lines(summary.steps)
    lines += _settling_lines(summary)
    lines += [f"Warning     {warning}" for warning in summary.warnings]
    return "\n".join(
        textwrap.fill(line, COLUMNS, subsequent_indent=" " * 12, drop_whitespace=True)
        if len(line) > COLUMNS
        else line
        for line in lines
    )


def _step_lines(steps: Sequence[Step]) -> list[str]:
    if not steps:
        return []
    heads = "".join(f"{wait:g} s".rjust(9) for wait in READ_AFTER_S)
    lines = ["Steps       at s   from A     to A  mohm after:" + heads[4:]]
    largest = sorted(steps, key=lambda step: -abs(step.to_a - step.from_a))[:SHOWN_STEPS]
    for step in sorted(largest, key=lambda step: step.start_s):
        ohms = [
            "-".rjust(9) if math.isnan(ohm) else f"{1e3 * ohm:.{3 if ohm < 1.0 else 0}f}".rjust(9)
            for ohm in step.resistance_ohm
        ]
        lines.append(f"{step.start_s:16.7g}{step.from_a:z9.2f}{step.to_a:z9.2f}{'':8}{''.join(ohms)}")
    return lines + _more(len(steps), SHOWN_STEPS, "steps")


def _settling_lines(summary: LogSummary) -> list[str]:
    lines = []
    if summary.ramp:
        lines.append(f"Ramp        {summary.ramp.rate_a_per_s:.4g} A/s up to {summary.ramp.end_a:.4g} A")
    if summary.recovery:
        readings = ", ".join(f"{value:.3f} V at {wait:g} s" for wait, value in summary.recovery.readings)
        rising = "; still rising, so not yet the rest voltage" if summary.recovery.still_rising else ""
        lines.append(f"Recovery    from {summary.recovery.from_v:.3f} V: {readings}{rising}")
    for found in summary.time_constants:
        terms = ", ".join(
            f"{tau:.3g} s ({1e3 * ohm:.3f} mohm)"
            for tau, ohm in zip(found.tau_s, found.resistance_ohm, strict=True)
        )
        state = "at rest" if found.at_rest else "under load, fall of the curve mixed in"
        lines.append(f"Settling    after {found.start_s:g} s: {terms}; {state}")
    thermal = summary.thermal
    if thermal and thermal.tau_s and thermal.end_k:
        high = "no upper limit" if thermal.tau_high_s is None else f"{thermal.tau_high_s / 60.0:.3g} min"
        low = "no lower limit" if thermal.tau_low_s is None else f"{thermal.tau_low_s / 60.0:.3g} min"
        lines.append(
            f"Heat        time constant {thermal.tau_s / 60.0:.3g} min, settling at "
            f"{thermal.end_k - ZERO_CELSIUS_K:.1f} degC; half a kelvin on the last reading moves it "
            f"between {low} and {high}"
        )
    elif thermal:
        lines.append("Heat        the temperature does not settle in this log: no time constant")
    return lines


def _more(count: int, shown: int, what: str) -> list[str]:
    return [f"            … and {count - shown} more {what}"] if count > shown else []
