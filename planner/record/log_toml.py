"""A log's summary as tests of a record. What a log cannot know is asked for, with what it suggests."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner.constants import COULOMB_PER_AH, JOULE_PER_WH, ZERO_CELSIUS_K
from planner.record.capacity_reader import CURVE_AGREEMENT
from planner.record.log_report import second_reading
from planner.record.log_sign import LOADED
from planner.record.log_steps import Step
from planner.record.schema import FULL_ENDINGS

if TYPE_CHECKING:
    from planner.record.log_ending import Ending
    from planner.record.log_summary import LogSummary

OFFSET = 0.01  # of a step: a meter that reads so much below zero at rest shows no charge (common practice, no source)
LARGEST_STEPS = 6  # steps printed, the largest first chosen
TERMINAL_READINGS = 6
STEADY = 0.05  # of the mean: a discharge of steadier current or power is given as constant
ENDINGS = "cutoff, undervoltage, trip, clock, operator or meter: say which"

Value = str | list[list[str]]


@dataclass(frozen=True, slots=True)
class Line:
    """One key of a test. value : as the record writes it. asked : only the tester can say; value is a suggestion."""

    key: str
    value: Value
    remark: str = ""
    asked: bool = False


@dataclass(frozen=True, slots=True)
class FoundTest:
    """One test a log holds. kind : key of its list in a record. where : which part of the log, in words."""

    kind: str
    lines: tuple[Line, ...]
    where: str = ""

    def values(self) -> dict[str, Value]:
        """What is certain of it, by key."""
        return {line.key: line.value for line in self.lines if not line.asked}


def found_tests(summary: LogSummary) -> tuple[FoundTest, ...]:
    """Capacity, current, step and terminal tests of a log, as far as it goes."""
    ending, tests = summary.ending, []
    if ending is not None:
        tests.append(_capacity(summary) if ending.kind in FULL_ENDINGS else _current(summary))
    steps = sorted(
        (s for s in summary.steps if _is_step_test(s)),
        key=lambda s: -abs(s.to_a - s.from_a),
    )
    tests += [_step(summary, step) for step in sorted(steps[:LARGEST_STEPS], key=lambda s: s.start_s)]
    if summary.thermal is not None:
        tests.append(_terminal(summary))
    return tuple(tests)


def _is_step_test(step: Step) -> bool:
    """Whether a step says the resistance of a discharge: read again after a while, between currents that discharge."""
    to_v, after_s = second_reading(step)
    change_a = step.to_a - step.from_a
    discharges = min(step.from_a, step.to_a) >= -OFFSET * abs(change_a)
    return after_s > 0.0 and not step.opened and discharges and (step.from_v - to_v) * change_a > 0.0


def record_tables(summary: LogSummary) -> str:
    """The same as tables to paste; what is asked for stands there as a comment."""
    head = f"# from {_plain(summary.file)}; check every line, enter what is commented out"
    return "\n\n".join([head, *map(_table, found_tests(summary))]) + "\n"


def _table(test: FoundTest) -> str:
    heading = f"[[{test.kind}]]" + (f"   # {test.where}" if test.where else "")
    rows = []
    for line in test.lines:
        remark = f"   # {line.remark}" if line.remark else ""
        rows.append(f"{'# ' if line.asked else ''}{line.key} = {_written(line.value)}{remark}")
    return "\n".join([heading, *rows])


def _written(value: Value) -> str:
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    return "[" + ", ".join(f"[{', '.join(map(_written, row))}]" for row in value) + "]"


def _capacity(summary: LogSummary) -> FoundTest:
    ending, out = summary.ending, summary.discharge
    assert ending is not None
    time_s, voltage_v, current_a, _ = summary.outline
    loaded = (time_s >= ending.start_s) & (time_s <= ending.end_s) & (current_a > 0.5 * ending.current_a)
    power_w = voltage_v[loaded] * current_a[loaded]
    constant_power = power_w.size > 1 and np.std(power_w) < 0.2 * np.std(current_a[loaded]) * np.mean(
        voltage_v[loaded]
    )
    under_load_s = _under_load_s(summary, ending)
    if constant_power and np.std(power_w) < STEADY * np.mean(power_w):
        drawn = Line("power", f"{np.mean(power_w):.2f} W")
    else:
        drawn = Line("current", f"{out.charge_c / max(under_load_s, 1e-9):.4g} A")
    lines = [
        drawn,
        Line("duration", f"{under_load_s:.6g} s"),
        Line("charge", f"{out.charge_c / COULOMB_PER_AH:.4f} Ah"),
        Line("energy", f"{out.energy_j / JOULE_PER_WH:.2f} Wh"),
        Line("cutoff_voltage", f"{ending.last_v:.3f} V", "lowest reading under load; the set value if known"),
        _temperature(summary, ending.start_s),
        _ended_by(ending.kind, ending.certain),
    ]
    # where other loads took part of the charge as well, one curve is not the curve of all of it
    if len(summary.curve) > 1 and abs(summary.curve[-1][0] - out.charge_c) <= CURVE_AGREEMENT * out.charge_c:
        points = [[f"{charge / COULOMB_PER_AH:.4f} Ah", f"{volts:.4f} V"] for charge, volts in summary.curve]
        lines.append(Line("curve", points))
    return FoundTest("capacity_test", tuple(lines))


def _under_load_s(summary: LogSummary, ending: Ending) -> float:
    """Time under load [s]: pauses do not count, as charge over it is to be the current that was held."""
    time_s, _, current_a, _ = summary.outline
    under = (current_a > LOADED * ending.current_a) & (time_s <= ending.end_s)
    # Half of each interval belongs to either of its ends, as in the trapezoid.
    return float(np.diff(time_s) @ (0.5 * (under[1:].astype(float) + under[:-1])))


def _current(summary: LogSummary) -> FoundTest:
    ending, ramp = summary.ending, summary.ramp
    assert ending is not None
    if ramp is not None:
        lines = [Line("kind", "ramp"), Line("current", f"{ramp.end_a:.5g} A"),
                 Line("rate", f"{ramp.rate_a_per_s:.4g} A/s")]  # fmt: skip
    else:
        lines = [Line("kind", "hold"), Line("current", f"{ending.current_a:.5g} A"),
                 Line("duration", f"{ending.held_s:.6g} s")]  # fmt: skip
    lines += [_temperature(summary, ending.start_s), _ended_by(ending.kind, ending.certain)]
    return FoundTest("current_test", tuple(lines))


def _ended_by(kind: str, certain: bool) -> Line:
    if certain:
        return Line("ended_by", kind)
    return Line("ended_by", kind, f"looks like {kind}; {ENDINGS}", asked=True)


def _temperature(summary: LogSummary, at_s: float) -> Line:
    """The cells' temperature: what the log's probe read then, if it sat on the cells, which only the tester knows."""
    time_s, _, _, temperature_k = summary.outline
    told = np.flatnonzero(np.isfinite(temperature_k) & (time_s <= at_s))
    if not told.size:
        return Line("temperature", "25 degC", "of the cells: not in the log, enter it", asked=True)
    value = f"{temperature_k[told[-1]] - ZERO_CELSIUS_K:.1f} degC"
    return Line("temperature", value, "of the cells: the log's probe then, if it sat on them", asked=True)


def _state_of_charge(summary: LogSummary, at_s: float) -> Line:
    """What is left of the log's charge, if it began full and ran to empty; that it began full only the tester knows."""
    time_s, _, current_a, _ = summary.outline
    if summary.ending is None or summary.ending.kind not in FULL_ENDINGS or summary.discharge.charge_c <= 0.0:
        return Line("state_of_charge", "50 %", "not in the log, enter it", asked=True)
    before = time_s <= at_s
    out_c = float(np.trapezoid(current_a[before], time_s[before]))
    left = 100.0 * min(max(1.0 - out_c / summary.discharge.charge_c, 0.0), 1.0)
    return Line("state_of_charge", f"{left:.0f} %", "if the log began with a full battery", asked=True)


def _step(summary: LogSummary, step: Step) -> FoundTest:
    to_v, after_s = second_reading(step)
    lines = (
        Line("from_current", f"{max(step.from_a, 0.0):.5g} A"),
        Line("to_current", f"{max(step.to_a, 0.0):.5g} A"),
        Line("from_voltage", f"{step.from_v:.4f} V"),
        Line("to_voltage", f"{to_v:.4f} V"),
        Line("after", f"{after_s:g} s"),
        _state_of_charge(summary, step.start_s),
        _temperature(summary, step.start_s),
    )
    return FoundTest("step_test", lines, f"at {step.start_s:.6g} s of the log")


def _terminal(summary: LogSummary) -> FoundTest:
    thermal = summary.thermal
    assert thermal is not None
    time_s, _, current_a, temperature_k = summary.outline
    told = np.isfinite(temperature_k) & (np.abs(current_a - thermal.current_a) <= STEADY * thermal.current_a)
    at_s, value_k = time_s[told], temperature_k[told]
    loaded_from = summary.ending.start_s if summary.ending else float(time_s[0])
    later = np.flatnonzero((at_s > loaded_from) & np.append(np.diff(at_s) > 0.0, True))  # of equal times the last
    chosen = (
        later[np.unique(np.linspace(0, later.size - 1, TERMINAL_READINGS).round().astype(int))]
        if later.size
        else []
    )
    points = [
        [f"{(at_s[i] - loaded_from) / 60.0:.4g} min", f"{value_k[i] - ZERO_CELSIUS_K:.2f} degC"]
        for i in chosen
    ]
    lines = (
        Line("current", f"{thermal.current_a:.5g} A"),
        Line("ambient", "25 degC", "of the air: not in the log, enter it", asked=True),
        Line("readings", points),
    )
    return FoundTest("terminal_test", lines, "if the probe sat on a terminal")


def _plain(name: str) -> str:
    """A file name without line breaks, so that it stays inside its comment."""
    return "".join(c if c.isprintable() else "?" for c in name)
