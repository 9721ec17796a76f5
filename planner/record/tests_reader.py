"""The tests of a record other than full discharges, one function a kind."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

from planner.constants import COULOMB_PER_AH
from planner.other_scale import other_scale
from planner.record.conditions import (
    COLDEST_K,
    HIGHEST_UNIT_V,
    LOWEST_UNIT_V,
    MAX_CURRENT_A,
    MAX_TIME_S,
    TERMINAL_HOTTEST_K,
    read_conditions,
)
from planner.record.schema import ChargeTest, ColdChargeTest, CurrentTest, Instrument, StepTest, TerminalTest
from planner.toml_table import Table

ENDINGS = ("clock", "trip", "operator", "meter")
RECOVERIES = ("itself", "reconnect", "charger", "unknown")
CHARGE_ENDINGS = ("full", "clock", "operator", "trip", "meter")
HIGHEST_RESISTANCE_OHM = 0.5  # a 12 V unit above this lights a lamp at best: more likely mV typed as V
Instruments = dict[str, Instrument]


def read_current_test(table: Table, instruments: Instruments) -> CurrentTest:
    """One [[current_test]]: a hold has a duration, a ramp a rate, never the other's."""
    kind = table.choice("kind", ("hold", "ramp"), required=True)
    duration_s = table.quantity("duration", "duration", above=0.0, high=MAX_TIME_S)
    rate_a_per_s = table.quantity("rate", "current_rate", above=0.0, high=1e6)
    wanted, other = ("duration", "rate") if kind == "hold" else ("rate", "duration")
    if table.has("kind"):
        if not table.has(wanted):
            example = 'duration = "60 s"' if kind == "hold" else 'rate = "20 A/s"'
            table.problem(wanted, "absent", f"a {kind} with its {wanted}", f"Write {example}.")
        if table.has(other):
            table.problem(other, f"given in a {kind}", f"a {wanted} only", f"Remove {other}, or change kind.")
    start_k = table.quantity("terminal_start", "temperature", low=COLDEST_K, high=TERMINAL_HOTTEST_K)
    end_k = table.quantity("terminal_end", "temperature", low=COLDEST_K, high=TERMINAL_HOTTEST_K)
    if start_k is not None and end_k is not None and end_k < start_k:
        table.warn("the terminals ended cooler than they started: check the two readings")
    return CurrentTest(
        at=read_conditions(table, instruments, "current"),
        kind=kind,
        current_a=table.quantity("current", "current", above=0.0, high=MAX_CURRENT_A, required=True),
        duration_s=duration_s,
        rate_a_per_s=rate_a_per_s,
        ended_by=table.choice("ended_by", ENDINGS, required=True),
        terminal_start_k=start_k,
        terminal_end_k=end_k,
        recovery=table.choice("recovery", RECOVERIES, default="unknown"),
    )


def read_step_test(table: Table, instruments: Instruments) -> StepTest:
    """One [[step_test]]; the voltage must fall as the current rises."""
    step = StepTest(
        at=read_conditions(table, instruments, "voltage"),
        from_current_a=table.quantity("from_current", "current", low=0.0, high=MAX_CURRENT_A, required=True),
        to_current_a=table.quantity("to_current", "current", low=0.0, high=MAX_CURRENT_A, required=True),
        from_v=table.quantity(
            "from_voltage", "voltage", low=LOWEST_UNIT_V, high=HIGHEST_UNIT_V, required=True
        ),
        to_v=table.quantity("to_voltage", "voltage", low=LOWEST_UNIT_V, high=HIGHEST_UNIT_V, required=True),
        after_s=table.quantity("after", "duration", above=0.0, high=86_400.0, required=True),
    )
    if step.from_current_a == step.to_current_a:
        found, fix = (
            f"{step.to_current_a:g} A, as before the step",
            "Give the current before and after the step.",
        )
        table.problem("to_current", found, "another current than from_current", fix)
    elif step.resistance_ohm <= 0.0:  # NaN, a value already refused, is not
        fix = "Check which reading belongs to which current: the voltage falls as the current rises."
        table.problem(
            "to_voltage", f"{step.to_v:g} V at {step.to_current_a:g} A", "a positive resistance", fix
        )
    elif step.resistance_ohm > HIGHEST_RESISTANCE_OHM:
        found = f"{step.resistance_ohm:.3g} ohm from the two readings"
        table.problem(
            "to_voltage", found, f"up to {HIGHEST_RESISTANCE_OHM:g} ohm", "Check the readings' units."
        )
    return step


def read_cold_charge_test(table: Table, instruments: Instruments) -> ColdChargeTest:
    """One [[cold_charge_test]]; the temperature of the cells must be stated."""
    if not table.has("cell_temperature"):
        fix = "Give the temperature of the cells when charging was tried, not of the air."
        table.problem("cell_temperature", "absent", "a temperature such as -2 degC", fix)
    return ColdChargeTest(
        at=read_conditions(table, instruments, "temperature", temperature_key="cell_temperature"),
        direction=table.choice("direction", ("cooling", "warming"), required=True),
        charging=table.choice("charging", ("blocked", "accepted"), required=True),
        soak_s=table.quantity("soak", "duration", low=0.0, high=MAX_TIME_S),
    )


def read_terminal_test(table: Table, instruments: Instruments) -> TerminalTest:
    """One [[terminal_test]]; a rise means nothing without the ambient it started from."""
    ambient_k = table.quantity(
        "ambient", "temperature", low=COLDEST_K, high=TERMINAL_HOTTEST_K, required=True
    )
    # The terminals' own test does not depend on the cells, so they are taken at ambient, not warned about.
    table.warn_if(other_scale("ambient", ambient_k))
    at = read_conditions(table, instruments, "temperature", cell_k=ambient_k)
    limits = ((math.ulp(0.0), MAX_TIME_S), (COLDEST_K, TERMINAL_HOTTEST_K))
    rows = table.pairs("readings", ("duration", "temperature"), limits=limits)
    readings = tuple((time_s, terminal_k) for time_s, terminal_k in rows)
    if not table.has("readings"):
        fix = 'Write readings = [["5 min", "39.7 degC"], …].'
        table.problem("readings", "absent", "at least one reading of time and temperature", fix)
    if any(later[0] <= earlier[0] for earlier, later in itertools.pairwise(readings)):
        table.problem(
            "readings", "out of order", "times rising from reading to reading", "Put them in order."
        )
    if readings and readings[-1][1] < ambient_k:
        table.warn("the last terminal reading is below ambient: check the readings")
    return TerminalTest(
        at=at if table.has("temperature") else replace(at, cell_k_stated=False),
        current_a=table.quantity("current", "current", above=0.0, high=MAX_CURRENT_A, required=True),
        ambient_k=ambient_k,
        readings=readings,
    )


def read_charge_test(table: Table, instruments: Instruments) -> ChargeTest:
    """One [[charge_test]]."""
    test = ChargeTest(
        at=read_conditions(table, instruments, "current"),
        charger_v=table.quantity("charger_voltage", "voltage", low=LOWEST_UNIT_V, high=HIGHEST_UNIT_V),
        charge_c=table.quantity("charge", "charge", above=0.0, high=5_000.0 * COULOMB_PER_AH),
        current_a=table.quantity("current", "current", above=0.0, high=MAX_CURRENT_A),
        ended_by=table.choice("ended_by", CHARGE_ENDINGS),
    )
    if not any(table.has(key) for key in ("charger_voltage", "charge", "current")):
        allowed = "charger_voltage, charge or current"
        table.problem("", "without figures", allowed, "Give at least one of them.")
    return test
