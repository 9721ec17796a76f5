"""The record of a unit of another size, alike in everything that goes with size."""

from __future__ import annotations

from dataclasses import replace

from planner.record.log_nodes import LogNodes
from planner.record.schema import (
    CapacityTest,
    ChargeTest,
    Claims,
    CurrentTest,
    Record,
    StepTest,
    TerminalTest,
)


def scaled_unit(record: Record, factor: float) -> Record:
    """The record as a unit of `factor` times the size would have given it.

    factor : above 0. Charges, energies, powers and currents of the tests and of the label, and the mass, are
    multiplied; times, voltages and temperatures stay, so resistances are divided. Further units of its kind
    (`repeats`) are scaled alike. Terminals, meters, sleep current and charge gate are those of the unit itself, so a
    hold's terminal readings stay at the current they were read at; the price is left out.
    """

    def times(value: float | None) -> float | None:
        return None if value is None else value * factor

    def discharge(test: CapacityTest) -> CapacityTest:
        return replace(
            test, current_a=times(test.current_a), power_w=times(test.power_w), charge_c=test.charge_c * factor,
            energy_j=times(test.energy_j), curve=tuple((charge * factor, volts) for charge, volts in test.curve),
            moving=None if test.moving is None else _nodes(test.moving, factor),
        )  # fmt: skip

    def current(test: CurrentTest) -> CurrentTest:
        return replace(
            test, current_a=test.current_a * factor, rate_a_per_s=times(test.rate_a_per_s), terminal_start_k=None,
            terminal_end_k=None,
        )  # fmt: skip

    def step(test: StepTest) -> StepTest:
        return replace(
            test, from_current_a=test.from_current_a * factor, to_current_a=test.to_current_a * factor
        )

    def charge(test: ChargeTest) -> ChargeTest:
        return replace(test, charge_c=times(test.charge_c), current_a=times(test.current_a))

    return replace(
        record,
        mass_kg=times(record.mass_kg),
        price=None,
        claims=_claims(record.claims, factor),
        capacity_tests=tuple(discharge(test) for test in record.capacity_tests),
        current_tests=tuple(current(test) for test in record.current_tests),
        step_tests=tuple(step(test) for test in record.step_tests),
        terminal_tests=(*record.terminal_tests, *_terminals_of_holds(record)),
        charge_tests=tuple(charge(test) for test in record.charge_tests),
        repeats=tuple(scaled_unit(unit, factor) for unit in record.repeats),
    )


def _nodes(log: LogNodes, factor: float) -> LogNodes:
    return replace(
        log, current_a=log.current_a * factor, charge_c=log.charge_c * factor, mean_a=log.mean_a * factor
    )


def _terminals_of_holds(record: Record) -> tuple[TerminalTest, ...]:
    """What the holds say of the terminals, as tests of their own at the current of the unit tested."""
    found = []
    for test in record.current_tests:
        start_k, end_k = test.terminal_start_k, test.terminal_end_k
        if test.kind == "hold" and test.duration_s and start_k is not None and end_k is not None:
            found.append(TerminalTest(test.at, test.current_a, start_k, ((test.duration_s, end_k),)))
    return tuple(found)


def _claims(claims: Claims, factor: float) -> Claims:
    def times(value: float | None) -> float | None:
        return None if value is None else value * factor

    return replace(
        claims,
        capacity_c=times(claims.capacity_c),
        energy_j=times(claims.energy_j),
        continuous_current_a=times(claims.continuous_current_a),
        surges=tuple((amps * factor, seconds) for amps, seconds in claims.surges),
        charge_current_a=times(claims.charge_current_a),
        charge_bands=tuple((low, high, amps * factor) for low, high, amps in claims.charge_bands),
    )
