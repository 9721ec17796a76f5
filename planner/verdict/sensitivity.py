"""Which input moves the answer: each uncertain input from its P10 to its P90, all else at the centre.

All ends of all inputs stand side by side in one run of the engine. As a check, the first-order share of the
runtime's variance comes from the draws of the answer itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import Circuit
from planner.battery.draws import Scenarios, with_units
from planner.battery.fit import Fitted
from planner.outing.schema import Outing
from planner.record.schema import Record
from planner.simulate.setup import Setup
from planner.verdict.assess import DRAWS, SEED, Assessment, assess, judge
from planner.verdict.batch import Batch, make_setup, run_scenarios, walk
from planner.verdict.check import overall
from planner.verdict.sweep_group import own_columns
from planner.verdict.uncertain_inputs import GIVEN, LOAD, MODEL, Input, Moved, uncertain_inputs
from planner.verdict.variance_share import variance_share
from planner.winter.schema import Climate

Floats = NDArray[np.float64]

ASSUMED = ("stated", "handbook", "claimed", "unknown")
BANK_ENDS = 3  # a bank's branches must be run apart to be judged: only the inputs that move it most are
STEP_S = 1.0  # a smaller swing is the engine's own step, not the input's


@dataclass(frozen=True, slots=True)
class Swing:
    """One input and what its two ends do.

    runtime_s : at P10 and at P90 of the input, inf beyond the longest run. verdicts : at the same ends, with all else
    at the centre; None where they were not judged. share : of the runtime's variance over the draws; None where
    the input has no draws, or the runtime no variance.
    """

    input: Input
    runtime_s: tuple[float, float]
    verdicts: tuple[str, str] | None
    share: float | None

    @property
    def swing_s(self) -> float:
        """How far the runtime moves [s]; inf when one end only lasts beyond the longest run."""
        low, high = self.runtime_s
        return 0.0 if low == high else abs(high - low)


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """The answer with draws, the verdict at the centre, and the swings, largest first."""

    base: Assessment
    centre_verdict: str
    swings: tuple[Swing, ...]

    def moves(self, swing: Swing) -> bool:
        """Whether an end of the input has another verdict than the centre."""
        return swing.verdicts is not None and any(
            verdict != self.centre_verdict for verdict in swing.verdicts
        )

    @property
    def most(self) -> Swing | None:
        """The assumption that matters most: one that moves the verdict before one that does not, then by swing."""
        assumed = [one for one in self.swings if one.input.evidence in ASSUMED and one.swing_s > STEP_S]
        return max(assumed, key=lambda one: (self.moves(one), one.swing_s), default=None)


def find_sensitivity(record: Record, outing: Outing, climate: Climate | None = None, draws: int = DRAWS,
                     seed: int = SEED, fitted: Fitted | None = None,
                     units: tuple[Record, ...] = ()) -> Sensitivity:  # fmt: skip
    """Swings of every input of a case. units : records of a bank's units where they differ."""
    return sensitivity_of(assess(record, outing, climate, draws, seed, fitted, units))


def sensitivity_of(base: Assessment) -> Sensitivity:
    """Swings of every input of an answer that is at hand. What a climate says stays as it is."""
    batch = base.batch
    inputs = uncertain_inputs(base.outing, batch.timeline, batch.fitted, bool(batch.units))
    centre = Moved(base.outing, np.zeros(len(batch.fitted.plan.names)))
    cases = [centre, *(end for one in inputs for end in one.ends)]
    chosen, whole = _scenarios(batch, cases)
    times, batches = _side_by_side(batch, cases, chosen, whole)
    ends = [(float(times[1 + 2 * k]), float(times[2 + 2 * k])) for k in range(len(inputs))]
    swings = [Swing(one, end, None, _share(batch, one)) for one, end in zip(inputs, ends, strict=True)]
    order = sorted(range(len(inputs)), key=lambda k: -swings[k].swing_s)

    def verdict(case: int) -> str:
        return _verdict(base, batches[case] if batches else _alone(batch, cases[case], chosen[case]))

    judged = order if batches else order[:BANK_ENDS]
    for k in judged:
        swings[k] = replace(swings[k], verdicts=(verdict(1 + 2 * k), verdict(2 + 2 * k)))
    return Sensitivity(base, verdict(0), tuple(swings[k] for k in order))


def _scenarios(batch: Batch, cases: Sequence[Moved]) -> tuple[list[Scenarios], Circuit]:
    """Of each case: centre, moved priors, and the centre in place of the draws, all shifted alike; and all in a row."""
    kept = batch.scenarios
    columns = np.append(np.arange(kept.first_draw), 0)
    width = len(columns)
    theta = np.concatenate([kept.theta[columns] + case.theta for case in cases])
    ones = np.ones((*kept.circuit.charge_c.shape[:2], 1))
    kind = batch.fitted.kind
    moved = (0.0, 0.0) if batch.units else (kind.charge.shift, kind.resistance.shift)
    whole = with_units(
        kept.circuit.select(np.tile(columns, len(cases))) if batch.units else batch.fitted.circuit(theta),
        ones * (moved[0] + np.repeat([case.log_charge for case in cases], width)),
        ones * (moved[1] + np.repeat([case.log_ohm for case in cases], width)),
    )
    found = []
    for place, case in enumerate(cases):
        own = np.arange(place * width, (place + 1) * width)
        load = np.zeros((len(batch.outing.loads), width))
        if case.load is not None:
            load[case.load[0]] = case.load[1]
        found.append(replace(kept, circuit=whole.select(own), theta=theta[own], load_normal=load))
    return found, whole


def _case_setup(batch: Batch, case: Moved, chosen: Scenarios) -> Setup:
    factor = np.exp(batch.timeline.spread[:, np.newaxis] * chosen.load_normal)
    return make_setup(batch.record, case.outing, batch.setup.size_charge_c, factor, batch.units)


def _side_by_side(batch: Batch, cases: Sequence[Moved], chosen: Sequence[Scenarios],
                  circuit: Circuit) -> tuple[Floats, list[Batch]]:  # fmt: skip
    """Runtime of every case [s], and of a single unit the batches as if each case had run alone."""
    setups = [_case_setup(batch, case, one) for case, one in zip(cases, chosen, strict=True)]
    width = chosen[0].load_normal.shape[1]

    def spread(name: str) -> Floats:
        return np.repeat(np.array([float(getattr(setup, name)) for setup in setups]), width)

    whole = replace(
        batch.setup,
        load_factor=np.concatenate([setup.load_factor for setup in setups], axis=1),
        cell_k=spread("cell_k"), ambient_k=spread("ambient_k"), wiring_ohm=spread("wiring_ohm"),
        start_soc=batch.setup.start_soc if batch.outing.bank else spread("start_soc"),
    )  # fmt: skip
    walked, run = walk(batch.timeline, circuit, whole)
    joined = replace(batch, run=run)
    times = joined.runtime_s()[::width]
    if batch.outing.bank is not None:
        return times, []
    parts = [own_columns(run, slice(k * width, (k + 1) * width)) for k in range(len(cases))]
    return times, [
        Batch(batch.record, case.outing, batch.fitted, one, batch.timeline, walked, setup, part)
        for case, one, setup, part in zip(cases, chosen, setups, parts, strict=True)
    ]


def _alone(batch: Batch, case: Moved, chosen: Scenarios) -> Batch:
    return run_scenarios(batch.record, case.outing, batch.fitted, chosen, batch.units)


def _verdict(base: Assessment, batch: Batch) -> str:
    """The overall verdict of a moved case; the check of the winter stays that of the answer."""
    found = judge(batch, None, 0, base.seed)
    kept = [check for check in base.checks if check.id == "winter_charging"]
    checks = [check for check in found.checks if check.id != "winter_charging"]
    return overall((*checks, *kept), base.outing.questions)[0]


def _share(batch: Batch, one: Input) -> float | None:
    """Share of the runtime's variance over the draws."""
    values = drawn_values(batch, one)
    return None if values is None else variance_share(values, batch.runtime_s()[batch.draws])


def drawn_values(batch: Batch, one: Input) -> Floats | None:
    """What an input was in each draw, up to a rising function; None where it has none."""
    scenarios, draws = batch.scenarios, batch.draws
    if one.kind == LOAD:
        return scenarios.load_normal[one.place, draws]
    if one.kind == GIVEN or batch.units:
        return None
    if one.kind == MODEL:
        return scenarios.theta[draws, one.place]
    name = "charge_c" if one.id == "unit_charge" else "cell_ohm"
    plain = getattr(batch.fitted.circuit(scenarios.theta[draws]), name)
    factors: Floats = np.log(getattr(scenarios.circuit, name)[..., draws] / plain).mean(axis=(0, 1))
    return factors
