"""Invented units on an invented bench, whose true runtimes are known.

Two truths stand behind the bench:

circuit  the planner's own circuit, its parameters drawn from the stated priors, and every discharge and step
         off it by as much as the fit says a circuit may miss;
physics  the Doyle-Fuller-Newman model (see physics_truth) with electrode thickness, particle radius and
         contact resistance perturbed, of which the estimator is told nothing.

The bench errs as stated: 0.3 % gain of current and of voltage (rectangular, one a unit), 1 mV of noise a
reading, 0.5 % repeatability of each discharge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import Circuit
from planner.battery.parameters import Layout, Reference, circuit_of, layout
from planner.battery.prior import (
    CHARGE_MODEL,
    STEP_MODEL,
    UNIT_SPREAD_CHARGE,
    UNIT_SPREAD_RESISTANCE,
    VOLTAGE_MODEL_V,
)
from planner.outing.timeline import Timeline
from planner.record.instrument import REPEATABILITY
from planner.record.schema import CapacityTest, Instrument, Record, StepTest, TestConditions
from planner.simulate.engine import simulate
from planner.simulate.setup import Run, Setup
from tests.oracles import physics_truth
from tests.oracles.physics_truth import RealPack
from tests.oracles.pieces import MIXED_TROLLING, LoadPiece, pulsed, steady

Floats = NDArray[np.float64]

LABEL_C = 100.0 * 3600.0
CUTOFF_V = 10.0
BENCH_K = 298.15
GAIN, NOISE_V = 0.003, 0.001
BENCH = Instrument("bench", current_gain=GAIN, voltage_gain=GAIN, voltage_floor_v=NOISE_V * 3**0.5, time_s=1.0)
SLOW_A, FAST_A = 20.0, 100.0
STEP_AFTER_S = 10.0
CURVE_POINTS = 60
MASS_KG = 11.2
ISOTHERMAL_MASS_KG = 1e5  # the physics truth does not warm
KIND_SPREAD = 0.04  # of the charge of kinds about their label (invented)
# Perturbations of the physics truth, standard deviations of logarithms (invented): a coating's thickness and
# a particle's radius as makers differ, leads and contacts as benches find them.
THICKNESS, RADIUS, LEAD = 0.05, 0.15, 0.40


@dataclass(frozen=True, slots=True)
class Holdout:
    """One outing no test has seen."""

    name: str
    loads: tuple[LoadPiece, ...]
    cell_k: float = BENCH_K


HOLDOUTS = (
    Holdout("steady 10 A", steady(10.0)),
    Holdout("steady 50 A", steady(50.0)),
    Holdout("steady 75 A", steady(75.0)),
    Holdout("power 300 W", steady(power_w=300.0)),
    Holdout("power 900 W", steady(power_w=900.0)),
    Holdout("pulsed 60 A / 10 A", pulsed(60.0, 10.0)),
    Holdout("pulsed 100 A / 0 A", pulsed(100.0, 0.0)),
    Holdout("mixed trolling", MIXED_TROLLING),
)
COLD = Holdout("steady 30 A at 0 degC", steady(30.0), 273.15)


@dataclass(frozen=True, slots=True)
class Unit:
    """One invented unit as the bench saw it, and what is true: runtimes [s] by holdout.

    own_s : of the tested unit. other_s : of another unit of its kind; NaN where not worked out.
    """

    record: Record
    own_s: Floats
    other_s: Floats


# --- the bench -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Trace:
    """A true discharge to below the cut-off at constant current: charge out [C], terminal volts."""

    current_a: float
    charge_c: Floats
    volts: Floats


class InventedBench:
    """Meters whose gain errors are fixed for a unit, and whose last digits are not.

    misses : the unit differs from any circuit by as much as the fit allows a circuit to miss.
    """

    def __init__(self, rng: np.random.Generator, misses: bool) -> None:
        self.rng, self.misses = rng, 1.0 if misses else 0.0
        self.amps, self.volts = 1.0 + rng.uniform(-GAIN, GAIN, 2)

    def read_v(self, true_v: Floats) -> Floats:
        """What the voltmeter shows."""
        return true_v * self.volts + self.rng.normal(0.0, NOISE_V, np.shape(true_v))

    def discharge(self, trace: Trace, place: str) -> CapacityTest:
        """The bench's figures of one discharge; it stops where its own voltmeter shows the cut-off."""
        end = CUTOFF_V / self.volts
        true_v = trace.volts + self.misses * self.rng.normal(0.0, VOLTAGE_MODEL_V)
        last = int(np.flatnonzero(true_v <= end)[0])
        part = (true_v[last - 1] - end) / (true_v[last - 1] - true_v[last])
        out_c = trace.charge_c[last - 1] + part * (trace.charge_c[last] - trace.charge_c[last - 1])
        repeat = 1.0 + self.rng.normal(0.0, np.hypot(REPEATABILITY, self.misses * CHARGE_MODEL))
        charge = np.append(trace.charge_c[:last], out_c) * repeat
        volts = np.append(true_v[:last], end)
        energy = float(np.trapezoid(volts, charge)) * self.amps * self.volts
        shown = charge * self.amps
        keep = _along_the_curve(shown, volts)
        points = zip(shown[keep].tolist(), self.read_v(volts[keep]).tolist(), strict=True)
        at = TestConditions(place, BENCH, BENCH_K, True)
        return CapacityTest(at, trace.current_a * self.amps, None, float(charge[-1]) / trace.current_a,
                            float(shown[-1]), energy, CUTOFF_V, "cutoff", tuple(points))  # fmt: skip

    def step(self, before_v: float, after_v: float) -> StepTest:
        """The step at half charge."""
        fall = (before_v - after_v) * np.exp(self.misses * self.rng.normal(0.0, STEP_MODEL))
        shown = self.read_v(np.array([before_v, before_v - fall]))
        at = TestConditions("step_test.1", BENCH, BENCH_K, True, state_of_charge=0.5)
        return StepTest(at, SLOW_A * self.amps, FAST_A * self.amps, float(shown[0]), float(shown[1]), STEP_AFTER_S)


def _along_the_curve(charge: Floats, volts: Floats) -> NDArray[np.intp]:
    """Rows evenly along the curve's length, so that the knee keeps its share of the points."""
    wide, tall = np.diff(charge) / np.ptp(charge), np.abs(np.diff(volts)) / np.ptp(volts)
    length = np.concatenate([[0.0], np.cumsum(np.hypot(wide, tall))])
    at = np.searchsorted(length, np.linspace(0.0, length[-1], CURVE_POINTS))
    return np.unique(np.minimum(at, len(charge) - 1))


def _record(bench: InventedBench, slow: Trace, fast: Trace, step_v: tuple[float, float], mass_kg: float) -> Record:
    return Record(
        name="Invented unit", mass_kg=mass_kg,
        capacity_tests=(bench.discharge(slow, "capacity_test.1"), bench.discharge(fast, "capacity_test.2")),
        step_tests=(bench.step(*step_v),),
    )  # fmt: skip


# --- truth: the planner's own circuit --------------------------------------------------------------------


def timeline_of(loads: Sequence[LoadPiece]) -> Timeline:
    """The loads as the engine takes them."""
    edges = np.concatenate([[0.0], np.cumsum([load.length_s for load in loads])])
    amps = np.array([[load.current_a for load in loads]])
    none = np.array([np.nan])
    return Timeline(edges, amps, amps, np.array([[load.power_w for load in loads]]), np.zeros_like(amps),
                    np.zeros(amps.shape, dtype=bool), none, none, none, np.zeros(1), ("truth",), ("measured",))  # fmt: skip


def run_of(circuit: Circuit, loads: Sequence[LoadPiece], cell_k: float = BENCH_K, **more: float | bool) -> Run:
    """The loads, repeated until every set of the circuit is empty."""
    factor = np.ones((1, circuit.charge_c.shape[-1]))
    options = {"cutoff_v": CUTOFF_V, "cutoff_delay_s": 0.0, "keep_trace": False, **more}
    return simulate(circuit, timeline_of(loads), Setup(factor, cell_k, cell_k, **options))  # type: ignore[arg-type]


def circuit_units(count: int, seed: int, holdouts: Sequence[Holdout] = (*HOLDOUTS, COLD)) -> list[Unit]:
    """Units drawn from the priors, all run at once."""
    rng = np.random.default_rng(seed)
    plan = layout(LABEL_C, MASS_KG, True, 1, BENCH_K, ())
    tested = _drawn_circuit(plan, rng, count)
    like = np.exp(rng.normal(0.0, 2**0.5 * UNIT_SPREAD_CHARGE, count))
    ohms = np.exp(rng.normal(0.0, 2**0.5 * UNIT_SPREAD_RESISTANCE, count))
    other = replace(tested, charge_c=tested.charge_c * like, metal_ohm=tested.metal_ohm * ohms,
                    cell_ohm=tested.cell_ohm * ohms, pair_ohm=tested.pair_ohm * ohms)  # fmt: skip
    slow, fast = (_traces(tested, amps) for amps in (SLOW_A, FAST_A))
    steps = _step_volts(tested)
    own, another = (
        np.array([run_of(_missed(each, rng), h.loads, h.cell_k).end_s for h in holdouts]).T for each in (tested, other)
    )
    return [
        Unit(_record(InventedBench(rng, misses=True), slow[k], fast[k], steps[k], MASS_KG), own[k], another[k]) for k in range(count)
    ]


def _missed(circuit: Circuit, rng: np.random.Generator) -> Circuit:
    """The circuit in one more discharge: off in charge by as much as the fit lets a circuit miss."""
    return replace(circuit, charge_c=circuit.charge_c * np.exp(rng.normal(0.0, CHARGE_MODEL, circuit.charge_c.shape)))


def _drawn_circuit(plan: Layout, rng: np.random.Generator, count: int) -> Circuit:
    """The prior's circuits with a drawn charge, on the prior's curve with its drawn shift."""
    theta = plan.centre() + plan.spread() * rng.normal(size=(count, len(plan.names)))
    none = np.array([])
    about = Reference(LABEL_C, 5 * 3600.0, SLOW_A, CUTOFF_V, BENCH_K, 1.0, none, none, 0.0)
    charge = LABEL_C * np.exp(KIND_SPREAD * rng.normal(size=(1, 1, count)))
    return replace(circuit_of(plan, theta, about), charge_c=charge)


def _traces(circuit: Circuit, amps: float) -> list[Trace]:
    """Discharges of every unit to half a volt below the cut-off, finely stepped."""
    hours = 1.4 * LABEL_C / amps
    trace = run_of(circuit, (LoadPiece(hours, current_a=amps),), cutoff_v=CUTOFF_V - 0.5, repeat=False,
                   keep_trace=True, step_charge=5e-4).trace  # fmt: skip
    assert trace is not None
    time_s = np.append(trace.start_s, trace.end_s[-1])
    volts = np.vstack([trace.start_v, trace.end_v[-1:]])
    found = []
    for k in range(volts.shape[1]):
        known = np.isfinite(volts[:, k])
        charge = time_s[known] * amps
        # an empty unit's voltage falls away at once
        found.append(Trace(amps, np.append(charge, charge[-1]), np.append(volts[known, k], CUTOFF_V - 0.5)))
    return found


def _step_volts(circuit: Circuit) -> list[tuple[float, float]]:
    """Terminals just before and STEP_AFTER_S after the step, at half the label's charge."""
    loads = (LoadPiece(LABEL_C / 2 / SLOW_A, current_a=SLOW_A), LoadPiece(STEP_AFTER_S, current_a=FAST_A))
    trace = run_of(circuit, loads, repeat=False, keep_trace=True, cutoff_v=0.0).trace
    assert trace is not None
    before, after = trace.end_v[trace.piece == 0][-1], trace.end_v[trace.piece == 1][-1]
    return list(zip(before.tolist(), after.tolist(), strict=True))


# --- truth: the electrochemical model --------------------------------------------------------------------


def physics_units(count: int, seed: int, holdouts: Sequence[Holdout] = HOLDOUTS) -> list[Unit]:
    """Units of the physics model; the holdouts at bench temperature only, as it is isothermal."""
    return [_physics_unit(np.random.default_rng((seed, k)), holdouts) for k in range(count)]


def _physics_unit(rng: np.random.Generator, holdouts: Sequence[Holdout]) -> Unit:
    kind = np.exp(rng.normal(size=5) * np.array([THICKNESS, THICKNESS, RADIUS, RADIUS, LEAD]))
    pack = RealPack(*kind[:4], lead_ohm=1e-3 * kind[4])
    thicker = float(np.exp(rng.normal(0.0, 2**0.5 * UNIT_SPREAD_CHARGE)))
    other = replace(pack, negative_thickness=pack.negative_thickness * thicker,
                    positive_thickness=pack.positive_thickness * thicker)  # fmt: skip
    slow, fast = (
        Trace(amps, found.charge_c, found.voltage_v)
        for amps in (SLOW_A, FAST_A)
        for found in [physics_truth.discharge(amps, pack=pack, cutoff_v=CUTOFF_V - 0.5)]
    )
    _, volts = physics_truth.step_test(SLOW_A, FAST_A, hold_s=STEP_AFTER_S, pack=pack)
    record = _record(InventedBench(rng, misses=False), slow, fast, (volts[0.0], volts[STEP_AFTER_S]), ISOTHERMAL_MASS_KG)
    return Unit(record, *(np.array([_physics_end_s(each, h) for h in holdouts]) for each in (pack, other)))


def _physics_end_s(pack: RealPack, holdout: Holdout) -> float:
    if len(holdout.loads) == 1:
        load = holdout.loads[0]
        found = physics_truth.run([replace(load, length_s=physics_truth.LONGEST_S)], pack=pack)
    else:
        found = physics_truth.repeated(holdout.loads, pack=pack)
    return float(found.time_s[-1])
