"""Records and needs built in code for the tests of this room. All invented."""

from __future__ import annotations

from planner.outing.schema import Load, Outing, Use
from planner.record.schema import (
    CapacityTest,
    Claims,
    CurrentTest,
    Instrument,
    Record,
    StepTest,
    TerminalTest,
    TestConditions,
)

AH, WARM_K = 3600.0, 298.15
LOAD = Instrument("load", current_gain=0.005, voltage_gain=0.001, time_s=2.0)
CLAMP = Instrument("clamp", current_gain=0.02, current_floor_a=0.5, time_s=0.5)


def at(kind: str, number: int, meter: Instrument = CLAMP, kelvin: float = WARM_K) -> TestConditions:
    return TestConditions(f"{kind}.{number}", meter, kelvin, True)


def discharge(current_a: float, charge_ah: float, number: int, kelvin: float = WARM_K, meter: Instrument = LOAD) -> CapacityTest:
    charge = charge_ah * AH
    return CapacityTest(at("capacity_test", number, meter, kelvin), current_a, None, charge / current_a, charge, None, 10.0, "cutoff")


def hold(current_a: float, seconds: float, number: int, ended_by: str = "clock") -> CurrentTest:
    return CurrentTest(at("current_test", number), "hold", current_a, seconds, None, ended_by)


# Invented unit, of one piece with itself: what each test shows, the others allow.
UNIT = Record(
    name="Invented unit of the laws", mass_kg=11.0, series_allowed=True, claims=Claims(capacity_c=100.0 * AH),
    capacity_tests=(discharge(20.0, 101.5, 1), discharge(100.0, 99.2, 2), discharge(20.0, 88.0, 3, 263.15)),
    current_tests=(hold(150.0, 60.0, 1), hold(200.0, 5.0, 2), hold(180.0, 11.0, 3, "trip"), hold(70.0, 1800.0, 4)),
    step_tests=(StepTest(at("step_test", 1, LOAD), 20.0, 100.0, 13.016, 12.735, 10.0),),
    terminal_tests=(TerminalTest(at("terminal_test", 1), 100.0, WARM_K, ((900.0, WARM_K + 28.0),)),),
)  # fmt: skip


def need(amps: float, hours: float, peak_a: float = 0.0, peak_s: float = 5.0, air_k: float = 293.15,
         spread: float = 0.05, evidence: str = "measured") -> Outing:  # fmt: skip
    """A steady current and, half an hour in, one pull."""
    loads = [Load("steady", "current", (Use(0.0, hours * 3600.0),), evidence, spread, current_a=amps)]
    if peak_a:
        loads.append(Load("pull", "current", (Use(1800.0, peak_s),), evidence, spread, current_a=peak_a))
    return Outing("invented need", hours * 3600.0, air_k, air_k, tuple(loads))
