"""How honest the intervals are: of many invented units, how many runtimes fall inside the nominal 80 %.

Every unit is put on an invented bench (discharges at a fifth of its rate and at its rate, with curve and
energy, one step), fitted, and asked for outings that no test has seen. Two truths stand behind the bench:

circuit  the planner's own circuit, its parameters drawn from the stated priors;
physics  the Doyle-Fuller-Newman model (see physics_truth) with electrode thickness, particle radius and
         contact resistance perturbed, of which the estimator is told nothing.

The bench errs as stated: 0.3 % gain of current and of voltage (rectangular, one a unit), 1 mV of noise a
reading, 0.5 % repeatability of each discharge. Two questions are asked of each unit: the tested unit's own
runtime, and that of another unit of the same kind (the stated spread between units on both).

    python -m tests.oracles.coverage --units 400 --physics 60
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import Circuit
from planner.battery.curve import CurveTable
from planner.battery.draws import scenarios
from planner.battery.fit import Fitted, fit_record
from planner.battery.parameters import Layout, Reference, circuit_of, layout
from planner.battery.prior import UNIT_SPREAD_CHARGE, UNIT_SPREAD_RESISTANCE
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
DRAWS = 300
TOGETHER = 8  # units run in one batch: fewer calls of small arrays
SAME_FOR_ALL = ("cold_from_k", "cold_width_k")  # temperature bands: of the bench, not of the unit
NOMINAL = 0.8
KIND_SPREAD = 0.04  # of the charge of kinds about their label (invented)
# Perturbations of the physics truth, standard deviations of logarithms (invented): a coating's thickness and
# a particle's radius as makers differ, leads and contacts as benches find them.
THICKNESS, RADIUS, LEAD = 0.05, 0.15, 0.40
PULSE_CYCLE_S = 600.0


@dataclass(frozen=True, slots=True)
class Holdout:
    """One outing no test has seen. rate_law_a : mean current a rate law would be asked about."""

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


@dataclass(frozen=True, slots=True)
class Answer:
    """What the planner, and two simpler rules, said of one unit; arrays (holdouts,) or (holdouts, 2)."""

    unit: Unit
    nominal_s: Floats
    own_band_s: Floats
    other_band_s: Floats
    fixed_resistance_s: Floats
    rate_law_s: Floats


# --- the bench -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Trace:
    """A true discharge to below the cut-off at constant current: charge out [C], terminal volts."""

    current_a: float
    charge_c: Floats
    volts: Floats


class InventedBench:
    """Meters whose gain errors are fixed for a unit, and whose last digits are not."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng
        self.amps, self.volts = 1.0 + rng.uniform(-GAIN, GAIN, 2)

    def read_v(self, true_v: Floats) -> Floats:
        """What the voltmeter shows."""
        return true_v * self.volts + self.rng.normal(0.0, NOISE_V, np.shape(true_v))

    def discharge(self, trace: Trace, place: str) -> CapacityTest:
        """The bench's figures of one discharge; it stops where its own voltmeter shows the cut-off."""
        end = CUTOFF_V / self.volts
        last = int(np.flatnonzero(trace.volts <= end)[0])
        part = (trace.volts[last - 1] - end) / (trace.volts[last - 1] - trace.volts[last])
        out_c = trace.charge_c[last - 1] + part * (trace.charge_c[last] - trace.charge_c[last - 1])
        repeat = 1.0 + self.rng.normal(0.0, REPEATABILITY)
        charge = np.append(trace.charge_c[:last], out_c) * repeat
        volts = np.append(trace.volts[:last], end)
        energy = float(np.trapezoid(volts, charge)) * self.amps * self.volts
        shown = charge * self.amps
        keep = _along_the_curve(shown, volts)
        points = zip(shown[keep].tolist(), self.read_v(volts[keep]).tolist(), strict=True)
        at = TestConditions(place, BENCH, BENCH_K, True)
        return CapacityTest(at, trace.current_a * self.amps, None, float(charge[-1]) / trace.current_a,
                            float(shown[-1]), energy, CUTOFF_V, "cutoff", tuple(points))  # fmt: skip

    def step(self, before_v: float, after_v: float) -> StepTest:
        """The step at half charge."""
        shown = self.read_v(np.array([before_v, after_v]))
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
    own = np.array([run_of(tested, h.loads, h.cell_k).end_s for h in holdouts]).T
    another = np.array([run_of(other, h.loads, h.cell_k).end_s for h in holdouts]).T
    return [
        Unit(_record(InventedBench(rng), slow[k], fast[k], steps[k], MASS_KG), own[k], another[k]) for k in range(count)
    ]


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
    record = _record(InventedBench(rng), slow, fast, (volts[0.0], volts[STEP_AFTER_S]), ISOTHERMAL_MASS_KG)
    return Unit(record, *(np.array([_physics_end_s(each, h) for h in holdouts]) for each in (pack, other)))


def _physics_end_s(pack: RealPack, holdout: Holdout) -> float:
    if len(holdout.loads) == 1:
        load = holdout.loads[0]
        found = physics_truth.run([replace(load, length_s=physics_truth.LONGEST_S)], pack=pack)
    else:
        found = physics_truth.repeated(holdout.loads, pack=pack)
    return float(found.time_s[-1])


# --- the planner's answers -------------------------------------------------------------------------------


def answers_of(units: Sequence[Unit], holdouts: Sequence[Holdout], seed: int) -> list[Answer]:
    """Fit each record; runtimes of each holdout at the centre, their bands, and those of two simpler rules."""
    found: list[Answer] = []
    for first in range(0, len(units), TOGETHER):
        found.extend(_answers_together(units[first : first + TOGETHER], holdouts, seed + first))
    return found


def _answers_together(units: Sequence[Unit], holdouts: Sequence[Holdout], seed: int) -> list[Answer]:
    circuits: list[Circuit] = []
    for k, unit in enumerate(units):
        fitted = fit_record(unit.record)
        chosen = scenarios(fitted, DRAWS, seed + k, 0)
        drawn = chosen.first_draw + np.arange(DRAWS)
        tested = fitted.circuit(chosen.theta)  # without the spread between units
        circuits += [tested.select(np.append(0, drawn)), chosen.circuit.select(drawn),
                     _fixed_resistance(fitted, unit.record)]  # fmt: skip
    all_s = np.array([run_of(joined(circuits), h.loads, h.cell_k).end_s for h in holdouts])
    found = []
    for unit, ends in zip(units, np.split(all_s, len(units), axis=1), strict=True):
        nominal, own, other, fixed = np.split(ends, [1, 1 + DRAWS, 1 + 2 * DRAWS], axis=1)
        law = np.array([rate_law_s(unit.record.capacity_tests[0], h.loads) for h in holdouts])
        found.append(Answer(unit, nominal[:, 0], _band(own), _band(other), fixed[:, 0], law))
    return found


def joined(circuits: Sequence[Circuit]) -> Circuit:
    """Units with circuits of their own as scenarios of one, so that they are run together."""
    tables = [circuit.curve.volts for circuit in circuits]
    starts = np.cumsum([0] + [table.size for table in tables[:-1]])
    values: dict[str, Floats] = {}
    for field in fields(Circuit):
        first = getattr(circuits[0], field.name)
        if isinstance(first, np.ndarray) and field.name not in SAME_FOR_ALL:
            parts = [getattr(circuit, field.name) for circuit in circuits]
            wide = [np.broadcast_to(v, (*v.shape[:-1], c.charge_c.shape[-1])) for v, c in zip(parts, circuits, strict=True)]
            if field.name == "offset":
                wide = [part + start for part, start in zip(wide, starts, strict=True)]
            values[field.name] = np.concatenate(wide, axis=-1)
    return replace(circuits[0], curve=CurveTable(np.vstack(tables)), **values)  # type: ignore[arg-type]


def _band(runtimes_s: Floats) -> Floats:
    """The nominal band of draws (holdouts, draws): (holdouts, 2)."""
    return np.quantile(runtimes_s, [0.5 - NOMINAL / 2, 0.5 + NOMINAL / 2], axis=1).T


def _fixed_resistance(fitted: Fitted, record: Record) -> Circuit:
    """The plain circuit: the step's resistance, no gap, no pairs; curve and charge from the slow discharge."""
    theta = fitted.plan.centre()
    tiny = np.log(1e-9)
    for name in ("cell_ohm", "pair_ohm_0", "diffusion_tau_s"):
        theta[fitted.plan.names.index(name)] = tiny
    theta[fitted.plan.names.index("metal_ohm")] = np.log(record.step_tests[0].resistance_ohm)
    return circuit_of(fitted.plan, theta[np.newaxis], fitted.reference)


RATE_EXPONENT = 1.05  # as handbooks give it for lithium, from the slow discharge (common practice, no source)


def rate_law_s(test: CapacityTest, loads: Sequence[LoadPiece]) -> float:
    """Runtime by a rate law of fixed exponent: charge used counts as I^k, power at the test's mean voltage."""
    assert test.energy_j is not None
    volts = test.energy_j / test.charge_c
    amps = np.array([load.current_a + load.power_w / volts for load in loads])
    lengths = np.array([load.length_s for load in loads])
    reference_a = test.mean_current_a
    used_a = float((reference_a * (amps / reference_a) ** RATE_EXPONENT) @ lengths / lengths.sum())
    return test.charge_c / used_a


# --- counting --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Counted:
    """Coverage of one question. By holdout (h,): covered, width (mean, relative to the truth).

    constant : half-width, relative, of the single width about the centre that covers as nominal; and what
    it covers by holdout. spread : standard error of the overall coverage, units taken as independent.
    """

    covered: Floats
    width: Floats
    overall: float
    spread: float
    constant: float
    constant_covered: Floats


def count(truth_s: Floats, band_s: Floats, nominal_s: Floats) -> Counted:
    """truth_s, nominal_s : (units, holdouts). band_s : (units, holdouts, 2)."""
    inside = (truth_s >= band_s[..., 0]) & (truth_s <= band_s[..., 1])
    width = (band_s[..., 1] - band_s[..., 0]) / truth_s
    off = np.abs(truth_s / nominal_s - 1.0)
    constant = float(np.quantile(off, NOMINAL))
    per_unit = inside.mean(axis=1)
    return Counted(inside.mean(axis=0), width.mean(axis=0), float(inside.mean()),
                   float(per_unit.std(ddof=1) / len(per_unit) ** 0.5), constant, (off <= constant).mean(axis=0))  # fmt: skip


def gather(answers: Sequence[Answer], holdouts: int) -> dict[str, Counted]:
    """Both questions over the first so many holdouts."""
    rows = slice(0, holdouts)
    nominal = np.array([a.nominal_s[rows] for a in answers])
    own = np.array([a.unit.own_s[rows] for a in answers]), np.array([a.own_band_s[rows] for a in answers])
    other = np.array([a.unit.other_s[rows] for a in answers]), np.array([a.other_band_s[rows] for a in answers])
    return {"tested unit": count(*own, nominal), "another unit": count(*other, nominal)}


def errors(answers: Sequence[Answer], kind: str) -> Floats:
    """Relative error of the tested unit's runtime by one of the models, (units, holdouts)."""
    return np.array([getattr(a, kind) / a.unit.own_s - 1.0 for a in answers])


def say(title: str, answers: Sequence[Answer], holdouts: Sequence[Holdout], write: Callable[[str], object]) -> None:
    """Print coverage, widths and the table of models."""
    write(f"\n{title}: {len(answers)} units, {DRAWS} draws each, nominal {NOMINAL:.0%}")
    for name, found in gather(answers, len(HOLDOUTS)).items():
        write(f"  {name}: coverage {found.overall:.1%} ± {found.spread:.1%} (1 s.e.), mean width "
              f"{found.width.mean():.2%}; constant width {2 * found.constant:.2%} covers {NOMINAL:.0%}")  # fmt: skip
    every = gather(answers, len(holdouts))
    write(f"  {'holdout':24s} {'own cover':>9s} {'width':>7s} {'const.':>7s}  {'other cover':>11s} {'width':>7s} {'const.':>7s}"
          f"  {'rms: model':>10s} {'fixed R':>8s} {'rate law':>8s}")  # fmt: skip
    rms = {k: np.sqrt((errors(answers, k) ** 2).mean(axis=0)) for k in ("nominal_s", "fixed_resistance_s", "rate_law_s")}
    for k, holdout in enumerate(holdouts):
        own, other = every["tested unit"], every["another unit"]
        write(f"  {holdout.name:24s} {own.covered[k]:9.1%} {own.width[k]:7.2%} {own.constant_covered[k]:7.1%}  "
              f"{other.covered[k]:11.1%} {other.width[k]:7.2%} {other.constant_covered[k]:7.1%}  "
              + " ".join(f"{values[k]:9.2%}" for values in rms.values()))  # fmt: skip


def main(arguments: Sequence[str]) -> None:
    """The command."""
    parser = argparse.ArgumentParser(prog="python -m tests.oracles.coverage")
    parser.add_argument("--units", type=int, default=400, help="of the planner's own circuit")
    parser.add_argument("--physics", type=int, default=0, help="of the electrochemical model, some seconds each")
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args(arguments)
    for title, make, number, holdouts in (
        ("Truth: the circuit, drawn from the priors", circuit_units, chosen.units, (*HOLDOUTS, COLD)),
        ("Truth: the electrochemical model, perturbed", physics_units, chosen.physics, HOLDOUTS),
    ):
        if number:
            began = time.perf_counter()
            answers = answers_of(make(number, chosen.seed, holdouts), holdouts, chosen.seed)
            say(title, answers, holdouts, print)
            print(f"  {time.perf_counter() - began:.0f} s")


if __name__ == "__main__":
    main(sys.argv[1:])
