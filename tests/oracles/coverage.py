"""How honest the intervals are: of many invented units, how many runtimes fall inside the nominal 80 %.

Every unit of invented_units is fitted from its bench record (discharges at a fifth of its rate and at its rate,
with curve and energy, one step) and asked for outings that no test has seen. Two questions are asked of each: the
tested unit's own runtime, and that of another unit of the same kind (the stated spread between units on both).

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
from planner.battery.parameters import circuit_of
from planner.record.schema import CapacityTest, Record
from tests.oracles.invented_units import COLD, HOLDOUTS, Holdout, Unit, circuit_units, physics_units, run_of
from tests.oracles.pieces import LoadPiece

Floats = NDArray[np.float64]

DRAWS = 300
NOMINAL = 0.8
TOGETHER = 8  # units run in one batch: fewer calls of small arrays
SAME_FOR_ALL = ("cold_from_k", "cold_width_k")  # temperature bands: of the bench, not of the unit


@dataclass(frozen=True, slots=True)
class Answer:
    """What the planner, and two simpler rules, said of one unit; arrays (holdouts,) or (holdouts, 2)."""

    unit: Unit
    nominal_s: Floats
    own_band_s: Floats
    other_band_s: Floats
    fixed_resistance_s: Floats
    rate_law_s: Floats


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
