"""A record's own tests run through the model built from it, and through the model built without them.

The engine that answers for an outing runs the bench's discharges and steps here, so that what it says of a
trip is tied to what was measured. A replay outside the instrument's error is reported, never mended.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import Circuit
from planner.battery.fit import Fitted, fit_record, step_resistance
from planner.battery.full_discharge import full_discharges
from planner.outing.timeline import Timeline
from planner.record.instrument import (
    charge_uncertainty,
    combine,
    current_limit,
    energy_uncertainty,
    expanded_uncertainty,
    standard_uncertainty,
    temperature_limit,
)
from planner.record.log_nodes import LogNodes
from planner.record.schema import CapacityTest, Record, StepTest
from planner.simulate.engine import simulate
from planner.simulate.setup import Run, Setup

Floats = NDArray[np.float64]

ENOUGH_TESTS = 3  # from so many on, each is also predicted from the others
OVERRUN = 1.5  # a replay may last this much longer than the bench did, so that a longer model shows
SETTLING_S = 1800.0  # at the first current before a step, for a steady reading (common practice, no source)
READING_V = 0.0005  # half a digit of a voltmeter that shows millivolts (common practice, no source)
MIDDLE_SOC = 0.5  # of a step test that states no charge, as the fit takes it


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one run of a discharge gave: charge [C], energy [J], duration [s]."""

    charge_c: float
    energy_j: float
    duration_s: float


@dataclass(frozen=True, slots=True)
class DischargeReplay:
    """One discharge as measured and as modelled.

    charge_u, energy_u : expanded uncertainties (k = 2) of the measurement, relative. without : the prediction of the
    other tests alone, None with too few of them.
    within, without_within : inside the instrument's error in charge, duration and, where read, energy.
    """

    place: str
    measured: Outcome
    model: Outcome
    without: Outcome | None
    charge_u: float
    energy_u: float
    within: bool
    without_within: bool | None


@dataclass(frozen=True, slots=True)
class StepReplay:
    """One current step: resistance as measured and as modelled [ohm]; u_ohm expanded (k = 2)."""

    place: str
    measured_ohm: float
    model_ohm: float
    without_ohm: float | None
    u_ohm: float
    within: bool
    without_within: bool | None


@dataclass(frozen=True, slots=True)
class Replay:
    """Every discharge and every step of a record, replayed."""

    discharges: tuple[DischargeReplay, ...]
    steps: tuple[StepReplay, ...]

    @property
    def all_within(self) -> bool:
        """Whether every test came back inside its instrument's error."""
        return all(one.within for one in self.discharges) and all(one.within for one in self.steps)


def replay_record(record: Record, fitted: Fitted | None = None) -> Replay:
    """Run every discharge and every step of the record through the engine.

    fitted : the record's model where it is at hand.
    """
    centre = _centre(fitted or fit_record(record))
    enough = len(record.capacity_tests) + len(record.step_tests) >= ENOUGH_TESTS
    discharges = tuple(
        _discharge(test, centre, _without(record, test) if enough else None) for test in record.capacity_tests
    )
    steps = tuple(
        _step(test, centre, _without(record, test) if enough else None) for test in record.step_tests
    )
    return Replay(discharges, steps)


def discharge_through(circuit: Circuit, test: CapacityTest) -> Outcome:
    """The discharge through the engine: the bench's mean current, its power or its log's, until the bench's own end.

    circuit : one parameter set. A discharge that emptied the unit runs to its cut-off; one that was stopped
    runs for its time, or to the cut-off if the model is empty earlier.
    """
    run = run_discharge(circuit, test)
    if np.isfinite(run.end_s[0]):
        return Outcome(float(run.end_charge_c[0]), float(run.end_energy_j[0]), float(run.end_s[0]))
    length = _length_s(test)
    return Outcome(float(run.mark_charge_c[0]), float(run.mark_energy_j[0]), length)


def run_discharge(circuit: Circuit, test: CapacityTest) -> Run:
    """The engine's run of a discharge for every parameter set of the circuit (1, 1, n)."""
    current, power = (0.0, test.power_w) if test.power_w is not None else (test.mean_current_a, 0.0)
    start = 1.0 if test.at.state_of_charge is None else test.at.state_of_charge
    setup = _bench(test.at.cell_k, start, test.cutoff_v, circuit.charge_c.shape[-1])
    if test.moving is not None:
        return simulate(circuit, _as_logged(test.moving, _length_s(test)), setup)
    return simulate(circuit, _constant((_length_s(test),), (current,), power), setup)


def step_through(circuit: Circuit, test: StepTest) -> float:
    """The step through the engine [ohm]: steady at the first current, then the second for the test's time.

    Settling is cut short where the unit would have to start above full.
    """
    soc = MIDDLE_SOC if test.at.state_of_charge is None else test.at.state_of_charge
    charge = float(circuit.charge_c[0, 0, 0])
    settle = SETTLING_S
    if test.from_current_a > 0.0:
        settle = min(settle, max((1.0 - soc) * charge / test.from_current_a, 1.0))
    start = min(soc + test.from_current_a * settle / charge, 1.0)
    setup = replace(_bench(test.at.cell_k, start, 0.0, 1), keep_trace=True)
    line = _constant((settle, settle + test.after_s), (test.from_current_a, test.to_current_a), 0.0)
    trace = simulate(circuit, line, setup).trace
    assert trace is not None
    before = float(trace.end_v[trace.piece == 0, 0][-1])
    after = float(trace.end_v[trace.piece == 1, 0][-1])
    return (before - after) / (test.to_current_a - test.from_current_a)


def step_uncertainty(circuit: Circuit, test: StepTest) -> float:
    """Relative standard uncertainty of a step's resistance.

    Both volts come from one meter, whose gain error cancels but for its share of the difference; its floor
    and its last digit do not. The cells' temperature is known to the probe's error only, and the resistance
    moves with it by the model's own law. Source: JCGM 100:2008 5.1.2 and 5.2.2 (correlated inputs).
    """
    meter = test.at.instrument
    change_v, change_a = abs(test.from_v - test.to_v), abs(test.to_current_a - test.from_current_a)
    floor_v = meter.voltage_floor_v if meter is not None else 0.0
    digit_v = standard_uncertainty(floor_v + READING_V)
    gain = 0.0 if meter is None or meter.voltage_gain is None else standard_uncertainty(meter.voltage_gain)
    amps = standard_uncertainty(current_limit(meter, change_a).half_width) / change_a
    kelvin = standard_uncertainty(temperature_limit(meter).half_width)
    warmer = replace(test, at=replace(test.at, cell_k=test.at.cell_k + kelvin))
    here = float(step_resistance(circuit, test)[0])
    by_heat = abs(float(step_resistance(circuit, warmer)[0]) / here - 1.0)
    return combine([gain, np.sqrt(2.0) * digit_v / change_v, amps, by_heat])


def _discharge(test: CapacityTest, centre: Circuit, others: Circuit | None) -> DischargeReplay:
    lasted_s = test.duration_s if test.moving is None else float(test.moving.time_s[-1])  # with its pauses
    measured = Outcome(test.charge_c, test.energy_j or float("nan"), lasted_s)
    charge_u = expanded_uncertainty(charge_uncertainty(test))
    energy_u = expanded_uncertainty(energy_uncertainty(test))
    model = discharge_through(centre, test)
    without = None if others is None else discharge_through(others, test)

    def inside(found: Outcome) -> bool:
        pairs = [(found.charge_c, test.charge_c, charge_u), (found.duration_s, lasted_s, charge_u)]
        if test.energy_j is not None:
            pairs.append((found.energy_j, test.energy_j, energy_u))
        return all(abs(value - read) <= u * read for value, read, u in pairs)

    return DischargeReplay(
        test.at.place, measured, model, without, charge_u, energy_u, inside(model),
        None if without is None else inside(without),
    )  # fmt: skip


def _step(test: StepTest, centre: Circuit, others: Circuit | None) -> StepReplay:
    measured = test.resistance_ohm
    u_ohm = expanded_uncertainty(step_uncertainty(centre, test)) * measured
    model = step_through(centre, test)
    without = None if others is None else step_through(others, test)
    return StepReplay(
        test.at.place, measured, model, without, u_ohm, abs(model - measured) <= u_ohm,
        None if without is None else abs(without - measured) <= u_ohm,
    )  # fmt: skip


def _without(record: Record, test: CapacityTest | StepTest) -> Circuit | None:
    """The model of the other tests; None when no full discharge is left to say how much the unit holds."""
    rest = replace(
        record,
        capacity_tests=tuple(other for other in record.capacity_tests if other is not test),
        step_tests=tuple(other for other in record.step_tests if other is not test),
    )
    return _centre(fit_record(rest)) if full_discharges(rest) else None


def _centre(fitted: Fitted) -> Circuit:
    return fitted.circuit(fitted.centre[np.newaxis])


def _length_s(test: CapacityTest) -> float:
    stopped = test.ended_by in ("clock", "operator", "meter", "trip")
    lasted_s = test.duration_s if test.moving is None else float(test.moving.time_s[-1])
    return lasted_s if stopped else OVERRUN * lasted_s


def _bench(cell_k: float, start_soc: float, cutoff_v: float, sets: int) -> Setup:
    """The bench: one unit in air of the cells' temperature, a load that stops at once, no cable."""
    return Setup(
        load_factor=np.ones((1, sets)), cell_k=cell_k, ambient_k=cell_k, cutoff_v=cutoff_v, start_soc=start_soc,
        cutoff_delay_s=0.0, repeat=False, keep_trace=False,
    )  # fmt: skip


def _as_logged(nodes: LogNodes, length_s: float) -> Timeline:
    """The log's own currents, each stretch at its mean; beyond its end the last load goes on."""
    ends, amps = nodes.time_s[1:], nodes.mean_a
    rising = np.append(np.diff(ends) > 0.0, True) & (ends > 0.0)  # of two rows of one time the later counts
    ends, amps = ends[rising], amps[rising]
    if length_s > ends[-1]:
        ends, amps = np.append(ends, length_s), np.append(amps, nodes.current_a[-1])
    return _constant(tuple(ends.tolist()), tuple(amps.tolist()), 0.0)


def _constant(ends_s: tuple[float, ...], currents_a: tuple[float, ...], power_w: float) -> Timeline:
    """A timeline of one load that draws each current, or one power, until the times given."""
    amps = np.array([currents_a])
    none, nan = np.zeros_like(amps), np.array([np.nan])
    return Timeline(
        np.append(0.0, ends_s), amps, amps, none + power_w, none, none > 0.0, nan, nan, nan, np.zeros(1),
        ("bench load",), ("measured",),
    )  # fmt: skip
