"""The engine's laws on drawn packs and outings.

    python -m tests.numbers.laws [DRAWS [SEED]]     10,000 draws unless stated

Prints the worst of each law, how many broke it and the draw that shows it; ends with 1 when one does not hold.
"""

from __future__ import annotations

import dataclasses
import math
import sys
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.simulate.setup import STEP_CHARGE, Run, longest_step_s
from tests.numbers.draws import Case, case
from tests.oracles.circuit_truth import CircuitParameters
from tests.simulate.invented_packs import circuit_of, run

Floats = NDArray[np.float64]
PACKS = 20  # of one outing
# Law -> the most that is allowed. Charge: sums of some thousand steps in double precision. Energy: of what the curve
# gave up, at the working step. Step: runtime moved by halving it, a tenth of a per cent, below every printed digit.
ALLOWED = {"not finite": 0.0, "charge ledger": 1e-9, "energy ledger": 1e-4, "more load lasts longer": 1e-3,
           "more charge lasts shorter": 1e-3, "more resistance lasts longer": 1e-3, "runtime moved by half a step": 1e-3}  # fmt: skip
# Law -> how many draws in a thousand may break it: the engine may miss by a use or two where one nearly ends the
# battery and the voltage hangs on the step by more than `EDGE_V`. No other law may be broken at all.
RARELY = {"runtime moved by half a step": 1.0}
LEDGER_CHARGE = 0.2  # of Q: where less was given up, energy is measured against this much
EDGE_V, EDGE_CHARGE, EDGE_OHM = 5e-3, 2e-4, 1e-3  # see `on_an_edge`; half of what the model itself may miss
HARDLY_SERVED = 0.66  # of the open voltage: there a power is 0.9 of the most, 1 - (2 * 0.66 - 1)^2
MOST_PASSES = 2000  # of an outing, followed to see whether its power is served
# A run shorter than both is measured against the longer, as it ends within a few steps: 2 s are a thousandth of this
LEAST_S, LEAST_CHARGE = 2000.0, 0.02  # LEAST_CHARGE of Q


def simulated(drawn: Case, **changes: object) -> Run:
    """The engine's run of a case, with other packs or another setup."""
    packs = changes.pop("packs", drawn.packs)
    return run(circuit_of(packs), drawn.loads, cell_k=drawn.cell_k, ambient_k=drawn.air_k, start_soc=drawn.start_soc,
               cutoff_v=drawn.cutoff_v, wiring_ohm=drawn.wiring_ohm,
               **{"longest_step_s": longest_step_s(drawn.cell_k, drawn.air_k), **changes})  # type: ignore[arg-type]  # fmt: skip


def _with_half_steps(drawn: Case) -> Run:
    """The run with every step in two: also those that a short piece takes, which no limit on steps would halve."""
    halves = tuple(
        half for load in drawn.loads for half in [dataclasses.replace(load, length_s=load.length_s / 2.0)] * 2
    )
    longest_s = longest_step_s(drawn.cell_k, drawn.air_k) / 2.0
    return simulated(
        dataclasses.replace(drawn, loads=halves), step_charge=STEP_CHARGE / 2, longest_step_s=longest_s
    )


def broken_by(drawn: Case, warming: bool) -> Iterator[tuple[str, Floats]]:
    """Each law and by how much each pack breaks it."""
    found = simulated(drawn)
    yield "not finite", _not_finite(found)
    yield from _ledgers(drawn, found)
    if not warming:  # what warms itself may last longer under more load
        for law, excess, other in _monotone(drawn, found):
            yield law, _unless_excused(law, drawn, excess, found, other)
    law, halved = "runtime moved by half a step", _with_half_steps(drawn)
    moved = np.abs(_excess(halved.end_s, found.end_s, _least_s(drawn, found), signed=True))
    yield law, _unless_excused(law, drawn, moved, found, halved)


def _not_finite(found: Run) -> Floats:
    ended = found.end_kind != "none"
    told = (found.mark_charge_c, found.mark_energy_j, found.mark_soc, found.mark_temp_k, found.min_v)
    ends = (
        found.end_s,
        found.end_charge_c,
        found.end_energy_j,
        found.end_heat_j,
        found.stored_change_j,
        found.end_soc,
    )
    whole = np.isfinite(told).all(axis=0) & (np.isfinite(ends).all(axis=0) | ~ended)
    return np.where(whole, 0.0, 1.0)


def _ledgers(drawn: Case, found: Run) -> Iterator[tuple[str, Floats]]:
    """What came out is what is missing, of charge and of energy."""
    q_c = _charges(drawn)
    yield "charge ledger", np.abs(found.mark_charge_c + found.mark_soc * q_c - drawn.start_soc * q_c) / q_c
    gap = np.abs(found.stored_change_j - found.end_energy_j - found.end_heat_j)
    least_j = LEDGER_CHARGE * q_c * 12.0
    share = gap / np.maximum(np.abs(found.stored_change_j), least_j)
    broken = np.where(found.end_kind != "none", share, 0.0)
    if (broken > ALLOWED["energy ledger"]).any():
        broken = np.where(hardly_served(drawn), 0.0, broken)
    yield "energy ledger", broken


def _monotone(drawn: Case, found: Run) -> Iterator[tuple[str, Floats, Run]]:
    """Each law of more and longer: by what share it is broken, and the run beside the usual one."""
    least_s = _least_s(drawn, found)
    more = simulated(drawn, load_factor=np.full((1, len(drawn.packs)), 1.02))
    yield "more load lasts longer", _excess(more.end_s, found.end_s, least_s), more
    larger = simulated(drawn, packs=_scaled(drawn, q_c=1.02))
    yield "more charge lasts shorter", _excess(found.end_s, larger.end_s, least_s), larger
    if not any(piece.conductance_s for piece in drawn.loads):  # a resistor behind more ohms draws less
        stiff = simulated(drawn, packs=_scaled(drawn, r_cell_ohm=1.05))
        yield "more resistance lasts longer", _excess(stiff.end_s, found.end_s, least_s), stiff


def _unless_excused(law: str, drawn: Case, shares: Floats, one: Run, other: Run) -> Floats:
    """The shares, 0 where a broken law says nothing of the engine."""
    if not (shares > ALLOWED[law]).any():
        return shares
    return np.where(on_an_edge(drawn, one.end_s, other.end_s) | hardly_served(drawn), 0.0, shares)


def on_an_edge(drawn: Case, one_s: Floats, other_s: Floats) -> NDArray[np.bool_]:
    """Where the end jumps as far when the cut-off moves by 5 mV, the charge by 0.02 % or the resistance by 0.1 %.

    There a load just touches the end, and nobody can say which use is the last.
    """
    near = [
        simulated(dataclasses.replace(drawn, cutoff_v=drawn.cutoff_v + by)).end_s for by in (-EDGE_V, EDGE_V)
    ]
    for sign in (-1.0, 1.0):
        more_c, more_ohm = 1.0 + sign * EDGE_CHARGE, 1.0 + sign * EDGE_OHM
        near.append(simulated(drawn, packs=_scaled(drawn, q_c=more_c)).end_s)
        near.append(simulated(drawn, packs=_scaled(drawn, r_cell_ohm=more_ohm, r1_ohm=more_ohm)).end_s)
    low, high = np.min(near, axis=0), np.max(near, axis=0)
    slack = 2e-3 * np.minimum(one_s, other_s)
    return np.all([(low - slack <= end_s) & (end_s <= high + slack) for end_s in (one_s, other_s)], axis=0)


def hardly_served(drawn: Case) -> NDArray[np.bool_]:
    """Where a load of power takes nine tenths of the most that the battery can serve, or asks for more.

    There the voltage hangs on the foot of a square root, which no step size settles; every usual cut-off is above it.
    """
    found = simulated(drawn)
    passes = np.where(np.isfinite(found.end_s), found.end_s, 0.0) / sum(
        piece.length_s for piece in drawn.loads
    )
    whole = dataclasses.replace(
        drawn, loads=drawn.loads * math.ceil(min(float(passes.max()), MOST_PASSES) + 1.0)
    )
    trace = simulated(whole, repeat=False).trace
    assert trace is not None
    pieces = [whole.loads[place] for place in trace.piece]
    wire, asked_w = (
        np.array([getattr(piece, name) for piece in pieces])[:, np.newaxis]
        for name in ("wiring_ohm", "power_w")
    )
    open_v = np.column_stack(
        [np.interp(trace.end_soc[:, k], unit.ocv_z, unit.ocv_v) for k, unit in enumerate(drawn.packs)]
    )
    low = trace.end_v - wire * trace.end_a < HARDLY_SERVED * open_v
    return np.asarray((low & (asked_w > 0.0)).any(axis=0))


def _scaled(drawn: Case, **factors: float) -> list[CircuitParameters]:
    """The packs with some of their numbers multiplied."""
    return [
        dataclasses.replace(unit, **{name: getattr(unit, name) * by for name, by in factors.items()})
        for unit in drawn.packs
    ]


def _charges(drawn: Case) -> Floats:
    return np.array([unit.q_c for unit in drawn.packs])


def _least_s(drawn: Case, found: Run) -> Floats:
    """A time in which LEAST_CHARGE goes at the mean current, LEAST_S at least."""
    q_c = _charges(drawn)
    mean_a = np.maximum(found.end_charge_c / np.maximum(found.end_s, 1.0), 1e-9)
    return np.maximum(np.where(np.isfinite(mean_a), LEAST_CHARGE * q_c / mean_a, 1.0), LEAST_S)


def _excess(longer: Floats, shorter: Floats, least_s: Floats, signed: bool = False) -> Floats:
    """By what share the one lasts longer than the other; none where both outlast the longest run."""
    both = np.isfinite(longer) & np.isfinite(shorter)
    difference = np.where(both, longer, 0.0) - np.where(both, shorter, 0.0)
    share = difference / np.maximum(np.where(both, shorter, 1.0), least_s)
    share = np.where(np.isfinite(longer) == np.isfinite(shorter), share, 1.0)
    return share if signed else np.maximum(share, 0.0)


@dataclass(frozen=True, slots=True)
class Kept:
    """How a law was kept. worst : the most it was broken by. where : the draw. broken, draws : how many broke it of how many."""

    law: str
    worst: float
    where: str
    broken: int
    draws: int

    @property
    def holds(self) -> bool:
        """Whether it was broken by no more, and no more often, than is allowed."""
        return self.broken <= RARELY.get(self.law, 0.0) * self.draws / 1000.0

    def __str__(self) -> str:
        return (
            f"{self.law:30s} worst {self.worst:9.2e}  allowed {ALLOWED[self.law]:.0e}  "
            f"broken by {self.broken} of {self.draws}  {self.where}"
        )


def kept(draws: int, seed: int) -> dict[str, Kept]:
    """Each law on that many draws; every draw is an outing on one pack."""
    packs = min(PACKS, draws)
    outings = -(-draws // packs)
    found = {law: Kept(law, 0.0, "", 0, outings * packs) for law in ALLOWED}
    for number in range(outings):
        warming = number % 2 == 0
        drawn = case(np.random.default_rng([seed, number]), packs, warming)
        for law, shares in broken_by(drawn, warming):
            before, at = found[law], int(np.argmax(shares))
            more = dataclasses.replace(before, broken=before.broken + int((shares > ALLOWED[law]).sum()))
            if shares[at] > before.worst:
                sort = "warming" if warming else "isothermal"
                more = dataclasses.replace(
                    more, worst=float(shares[at]), where=f"outing {number}, pack {at}, {sort}"
                )
            found[law] = more
    return found


def main(words: list[str]) -> int:
    draws, seed = int(words[0]) if words else 10_000, int(words[1]) if len(words) > 1 else 1
    found = kept(draws, seed)
    print(*found.values(), sep="\n")
    return int(not all(each.holds for each in found.values()))


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
