"""A log's summary as tables of a record, ready to paste. What a log cannot know stands there as a comment."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner.constants import COULOMB_PER_AH, JOULE_PER_WH, ZERO_CELSIUS_K
from planner.record.log_report import second_reading
from planner.record.log_steps import Step

if TYPE_CHECKING:
    from planner.record.log_summary import LogSummary

LARGEST_STEPS = 6  # steps printed, the largest first chosen
TERMINAL_READINGS = 6
STEADY = 0.05  # of the mean: a discharge of steadier current or power is given as constant
FULL_ENDS = ("cutoff", "undervoltage")
UNKNOWN_TEMPERATURE = '# temperature = "25 degC"   # of the cells: not in the log, enter it'


def record_tables(summary: LogSummary) -> str:
    """Capacity, current, step and terminal tests as record tables, as far as the log goes."""
    tables = [f"# from {_plain(summary.file)}; check every line, enter what is commented out"]
    ending = summary.ending
    if ending is not None and ending.kind in FULL_ENDS:
        tables.append(_capacity(summary))
    elif ending is not None:
        tables.append(_current(summary))
    steps = sorted(
        (s for s in summary.steps if second_reading(s)[1] > 0.0 and not s.opened),
        key=lambda s: -abs(s.to_a - s.from_a),
    )
    tables += [_step(step) for step in sorted(steps[:LARGEST_STEPS], key=lambda s: s.start_s)]
    if summary.thermal is not None:
        tables.append(_terminal(summary))
    return "\n\n".join(tables) + "\n"


def _capacity(summary: LogSummary) -> str:
    ending, out = summary.ending, summary.discharge
    assert ending is not None
    lines = ["[[capacity_test]]"]
    time_s, voltage_v, current_a, _ = summary.outline
    loaded = (time_s >= ending.start_s) & (time_s <= ending.end_s) & (current_a > 0.5 * ending.current_a)
    power_w = voltage_v[loaded] * current_a[loaded]
    constant_power = power_w.size > 1 and np.std(power_w) < 0.2 * np.std(current_a[loaded]) * np.mean(
        voltage_v[loaded]
    )
    if constant_power and np.std(power_w) < STEADY * np.mean(power_w):
        lines.append(f'power = "{np.mean(power_w):.2f} W"')
    else:
        lines.append(f'current = "{out.charge_c / max(ending.end_s - ending.start_s, 1e-9):.4g} A"')
    lines += [
        f'duration = "{ending.end_s - ending.start_s:.6g} s"',
        f'charge = "{out.charge_c / COULOMB_PER_AH:.4f} Ah"',
        f'energy = "{out.energy_j / JOULE_PER_WH:.2f} Wh"',
        f'cutoff_voltage = "{ending.last_v:.3f} V"   # lowest reading under load; the set value if known',
        UNKNOWN_TEMPERATURE,
        _ended_by(ending.kind, ending.certain),
    ]
    if len(summary.curve) > 1:
        points = ", ".join(
            f'["{charge / COULOMB_PER_AH:.4f} Ah", "{volts:.4f} V"]' for charge, volts in summary.curve
        )
        lines.append(f"curve = [{points}]")
    return "\n".join(lines)


def _current(summary: LogSummary) -> str:
    ending, ramp = summary.ending, summary.ramp
    assert ending is not None
    lines = ["[[current_test]]"]
    if ramp is not None:
        lines += ['kind = "ramp"', f'current = "{ramp.end_a:.5g} A"', f'rate = "{ramp.rate_a_per_s:.4g} A/s"']
    else:
        lines += [
            'kind = "hold"',
            f'current = "{ending.current_a:.5g} A"',
            f'duration = "{ending.held_s:.6g} s"',
        ]
    return "\n".join([*lines, UNKNOWN_TEMPERATURE, _ended_by(ending.kind, ending.certain)])


def _ended_by(kind: str, certain: bool) -> str:
    if certain:
        return f'ended_by = "{kind}"'
    return f'# ended_by = "…"   # looks like {kind}; cutoff, undervoltage, trip, clock, operator or meter: say which'


def _step(step: Step) -> str:
    to_v, after_s = second_reading(step)
    return "\n".join(
        [
            f"[[step_test]]   # at {step.start_s:.6g} s of the log",
            f'from_current = "{step.from_a:.5g} A"',
            f'to_current = "{step.to_a:.5g} A"',
            f'from_voltage = "{step.from_v:.4f} V"',
            f'to_voltage = "{to_v:.4f} V"',
            f'after = "{after_s:g} s"',
            '# state_of_charge = "50 %"   # not in the log, enter it',
            UNKNOWN_TEMPERATURE,
        ]
    )


def _terminal(summary: LogSummary) -> str:
    thermal = summary.thermal
    assert thermal is not None
    time_s, _, current_a, temperature_k = summary.outline
    told = np.isfinite(temperature_k) & (np.abs(current_a - thermal.current_a) <= STEADY * thermal.current_a)
    at_s, value_k = time_s[told], temperature_k[told]
    loaded_from = summary.ending.start_s if summary.ending else float(time_s[0])
    later = np.flatnonzero(at_s > loaded_from)
    chosen = (
        later[np.unique(np.linspace(0, later.size - 1, TERMINAL_READINGS).round().astype(int))]
        if later.size
        else []
    )
    points = ", ".join(
        f'["{(at_s[i] - loaded_from) / 60.0:.4g} min", "{value_k[i] - ZERO_CELSIUS_K:.2f} degC"]'
        for i in chosen
    )
    return "\n".join(
        [
            "[[terminal_test]]   # if the probe sat on a terminal",
            f'current = "{thermal.current_a:.5g} A"',
            '# ambient = "25 degC"   # not in the log, enter it',
            f"readings = [{points}]",
        ]
    )


def _plain(name: str) -> str:
    """A file name without line breaks, so that it stays inside its comment."""
    return "".join(c if c.isprintable() else "?" for c in name)
