"""Bench tests that were not run, written as if they had passed: as tests of a record, and as TOML to paste."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from planner.constants import COULOMB_PER_AH, JOULE_PER_WH, ZERO_CELSIUS_K
from planner.outing.exceedance import WINDOWS_S
from planner.record.instrument import current_limit, temperature_limit, time_limit
from planner.record.schema import (
    CapacityTest,
    ColdChargeTest,
    CurrentTest,
    Instrument,
    Record,
    TerminalTest,
    TestConditions,
)

PlannedTest = CurrentTest | CapacityTest | TerminalTest | ColdChargeTest

BENCH_K = ZERO_CELSIUS_K + 25.0  # temperature of a bench, where the outing asks for no other


def meter_for_current(record: Record, size_a: float, kind: str) -> Instrument | None:
    """The record's meter with the smallest error at that current.

    kind : "hold" looks among the holds' meters first, "discharge" among the discharges'. None without any.
    """
    holds = [test.at.instrument for test in record.current_tests]
    discharges = [test.at.instrument for test in record.capacity_tests]
    for group in (holds, discharges) if kind == "hold" else (discharges, holds):
        known = [meter for meter in group if meter is not None and meter.current_gain is not None]
        if known:
            return min(known, key=lambda meter: current_limit(meter, size_a).half_width)
    return None


def probe_of(record: Record) -> Instrument | None:
    """The record's temperature probe with the smallest error, None without any."""
    conditions = [test.at for test in record.cold_charge_tests] + [test.at for test in record.terminal_tests]
    conditions += [test.at for test in record.current_tests] + [test.at for test in record.capacity_tests]
    known = [
        at.instrument
        for at in conditions
        if at.instrument is not None and at.instrument.temperature_k is not None
    ]
    return min(known, key=lambda meter: temperature_limit(meter).half_width, default=None)


def held(current_a: float, duration_s: float, cell_k: float, meter: Instrument | None) -> CurrentTest:
    """A hold ended by the clock."""
    at = TestConditions("current_test", meter, cell_k, True)
    return CurrentTest(at, "hold", current_a, duration_s, None, "clock")


def tripped(test: CurrentTest, after_s: float) -> CurrentTest:
    """The same hold, had the unit opened after that time."""
    return replace(test, duration_s=after_s, ended_by="trip")


def broken_off(test: CapacityTest, after_s: float) -> CapacityTest:
    """The same discharge, had the unit opened for current or heat after that time."""
    part = after_s / test.duration_s
    energy_j = None if test.energy_j is None else part * test.energy_j
    return replace(
        test, duration_s=after_s, charge_c=part * test.charge_c, energy_j=energy_j, ended_by="trip"
    )


def discharged(current_a: float, charge_c: float, energy_j: float, cell_k: float, cutoff_v: float,
               meter: Instrument | None) -> CapacityTest:  # fmt: skip
    """A full discharge to the cut-off, its figures rounded as a bench writes them down."""
    duration_s = float(round(charge_c / current_a))
    charge_c = round(charge_c / COULOMB_PER_AH, 2) * COULOMB_PER_AH
    energy_j = round(energy_j / JOULE_PER_WH, 1) * JOULE_PER_WH
    at = TestConditions("capacity_test", meter, cell_k, True)
    return CapacityTest(at, current_a, None, duration_s, charge_c, energy_j, cutoff_v, "cutoff")


def terminals_read(current_a: float, rise_ss_k: float, tau_s: float, times_s: Sequence[float],
                   probe: Instrument | None) -> TerminalTest:  # fmt: skip
    """Terminal readings to a tenth of a kelvin along a rise to rise_ss_k with that time constant."""
    readings = tuple((t, BENCH_K + round(-rise_ss_k * math.expm1(-t / tau_s), 1)) for t in times_s)
    return TerminalTest(TestConditions("terminal_test", probe, BENCH_K, False), current_a, BENCH_K, readings)


def charging_tried(direction: str, cell_k: float, charging: str, probe: Instrument | None) -> ColdChargeTest:
    """One try to charge cold cells after a long soak."""
    return ColdChargeTest(
        TestConditions("cold_charge_test", probe, cell_k, True), direction, charging, 86400.0
    )


def with_tests(record: Record, tests: Sequence[PlannedTest]) -> Record:
    """The record with these tests at the end of theirs, as a file with them pasted at its end would give."""
    for test in tests:
        if isinstance(test, CurrentTest):
            place = f"current_test.{len(record.current_tests) + 1}"
            here = replace(test, at=replace(test.at, place=place))
            record = replace(record, current_tests=(*record.current_tests, here))
        elif isinstance(test, CapacityTest):
            place = f"capacity_test.{len(record.capacity_tests) + 1}"
            full = replace(test, at=replace(test.at, place=place))
            record = replace(record, capacity_tests=(*record.capacity_tests, full))
        elif isinstance(test, TerminalTest):
            place = f"terminal_test.{len(record.terminal_tests) + 1}"
            read = replace(test, at=replace(test.at, place=place))
            record = replace(record, terminal_tests=(*record.terminal_tests, read))
        else:
            place = f"cold_charge_test.{len(record.cold_charge_tests) + 1}"
            cold = replace(test, at=replace(test.at, place=place))
            record = replace(record, cold_charge_tests=(*record.cold_charge_tests, cold))
    return record


def toml_of(tests: Sequence[PlannedTest]) -> str:
    """The tests as tables to paste at the end of the record's file."""
    return "\n".join("\n".join(_table(test)) + "\n" for test in tests)


def _table(test: PlannedTest) -> list[str]:
    if isinstance(test, CurrentTest):
        lines = _hold_lines(test)
    elif isinstance(test, CapacityTest):
        lines = _discharge_lines(test)
    elif isinstance(test, TerminalTest):
        lines = _terminal_lines(test)
    else:
        lines = [
            "[[cold_charge_test]]",
            f'direction = "{test.direction}"',
            f'cell_temperature = "{_celsius(test.at.cell_k)} degC"',
            f'charging = "{test.charging}"',
            'soak = "24 h"',
        ]
    if test.at.instrument is not None:
        lines.append(f'instrument = "{test.at.instrument.name}"')
    return lines


def _hold_lines(test: CurrentTest) -> list[str]:
    return [
        "[[current_test]]",
        f'kind = "{test.kind}"',
        f'current = "{_number(test.current_a)} A"',
        f'duration = "{_number(test.duration_s or 0.0)} s"',
        f'ended_by = "{test.ended_by}"',
        f'temperature = "{_celsius(test.at.cell_k)} degC"',
    ]


def _discharge_lines(test: CapacityTest) -> list[str]:
    return [
        "[[capacity_test]]",
        f'current = "{_number(test.current_a or test.mean_current_a)} A"',
        f'duration = "{_number(test.duration_s)} s"',
        f'charge = "{_number(test.charge_c / COULOMB_PER_AH)} Ah"',
        f'energy = "{_number((test.energy_j or 0.0) / JOULE_PER_WH)} Wh"',
        f'cutoff_voltage = "{_number(test.cutoff_v)} V"',
        f'temperature = "{_celsius(test.at.cell_k)} degC"',
        f'ended_by = "{test.ended_by}"',
    ]


def _terminal_lines(test: TerminalTest) -> list[str]:
    rows = [f'  ["{_number(t / 60.0)} min", "{_celsius(k)} degC"],' for t, k in test.readings]
    return [
        "[[terminal_test]]",
        f'current = "{_number(test.current_a)} A"',
        f'ambient = "{_celsius(test.ambient_k)} degC"',
        "readings = [",
        *rows,
        "]",
    ]


def _number(value: float) -> str:
    return f"{value:.10g}"


def _celsius(kelvin: float) -> str:
    return _number(round(kelvin - ZERO_CELSIUS_K, 6))


def current_to_show(need_a: float, meter: Instrument | None, step_a: float) -> float:
    """Least reading [A] on a grid of step_a whose error still leaves need_a."""
    gain = current_limit(meter, 1.0).half_width - current_limit(meter, 0.0).half_width
    floor_a = current_limit(meter, 0.0).half_width
    reading = (need_a + floor_a) / (1.0 - gain)
    return round(math.ceil(reading / step_a - 1e-9) * step_a, 6)


def time_to_show(need_s: float, meter: Instrument | None) -> float:
    """Duration of a test [s]: the need, a second and the timer's error more, up to a round figure.

    The window of a rolling RMS is a convention, not a reading: it is held for its own length.
    """
    if need_s in WINDOWS_S:
        return need_s
    wanted = need_s + 1.0 + time_limit(meter).half_width
    for upper, step in ((10.0, 1.0), (120.0, 10.0), (600.0, 30.0), (math.inf, 60.0)):
        found = math.ceil(wanted / step - 1e-9) * step
        if found <= upper:
            return found
    raise AssertionError("the last step has no upper end")
