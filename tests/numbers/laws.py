"""The engine's laws on drawn packs and outings.

    python -m tests.numbers.laws [DRAWS [SEED]]     10,000 draws unless stated

Prints the worst of each law, and the draw that shows it; ends with 1 when one is broken.
"""

from __future__ import annotations

import dataclasses
import sys
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from planner.simulate.setup import STEP_CHARGE, Run
from tests.numbers.draws import Case, case
from tests.simulate.invented_packs import circuit_of, run

Floats = NDArray[np.float64]
PACKS = 20  # of one outing
# Law -> the most that is allowed. Charge: sums of some thousand steps in double precision. Energy: of what the curve
# gave up, at the working step. Step: runtime moved by halving it, a tenth of a per cent, below every printed digit.
ALLOWED = {"not finite": 0.0, "charge ledger": 1e-9, "energy ledger": 1e-4, "more load lasts longer": 1e-3,
           "more charge lasts shorter": 1e-3, "more resistance lasts longer": 1e-3, "runtime moved by half a step": 1e-3}  # fmt: skip
LEDGER_CHARGE = 0.2  # of Q: where less was given up, energy is measured against this much
EDGE_V, EDGE_CHARGE = 2e-3, 2e-4  # see `on_an_edge`
LEAST_CHARGE = 0.02  # of Q: a run shorter than this is measured against it, as it ends within a few steps


def simulated(drawn: Case, **changes: object) -> Run:
    """The engine's run of a case, with other packs or another setup."""
    packs = changes.pop("packs", drawn.packs)
    return run(circuit_of(packs), drawn.loads, cell_k=drawn.cell_k, ambient_k=drawn.air_k, start_soc=drawn.start_soc,
               cutoff_v=drawn.cutoff_v, wiring_ohm=drawn.wiring_ohm, **changes)  # type: ignore[arg-type]  # fmt: skip


def broken_by(drawn: Case, warming: bool) -> Iterator[tuple[str, Floats]]:
    """Each law and by how much each pack breaks it."""
    found = simulated(drawn)
    q_c = np.array([unit.q_c for unit in drawn.packs])
    ended = found.end_kind != "none"
    told = np.stack(
        [found.mark_charge_c, found.mark_energy_j, found.mark_soc, found.mark_temp_k, found.min_v]
    )
    ends = np.stack(
        [
            found.end_s,
            found.end_charge_c,
            found.end_energy_j,
            found.end_heat_j,
            found.stored_change_j,
            found.end_soc,
        ]
    )
    yield (
        "not finite",
        np.where(np.isfinite(told).all(axis=0) & (np.isfinite(ends).all(axis=0) | ~ended), 0.0, 1.0),
    )
    left = np.abs(found.mark_charge_c + found.mark_soc * q_c - drawn.start_soc * q_c)
    yield "charge ledger", left / q_c
    gap = np.abs(found.stored_change_j - found.end_energy_j - found.end_heat_j)
    least_j = LEDGER_CHARGE * q_c * 12.0
    yield "energy ledger", np.where(ended, gap / np.maximum(np.abs(found.stored_change_j), least_j), 0.0)
    least_s = _least_s(drawn, found, q_c)
    if not warming:  # what warms itself may last longer under more load
        more = simulated(drawn, load_factor=np.full((1, len(q_c)), 1.02))
        yield "more load lasts longer", _excess(more.end_s, found.end_s, least_s)
        larger = simulated(
            drawn, packs=[dataclasses.replace(unit, q_c=unit.q_c * 1.02) for unit in drawn.packs]
        )
        yield "more charge lasts shorter", _excess(found.end_s, larger.end_s, least_s)
        stiff = [dataclasses.replace(unit, r_cell_ohm=unit.r_cell_ohm * 1.05) for unit in drawn.packs]
        if not any(piece.conductance_s for piece in drawn.loads):  # a resistor behind more ohms draws less
            yield (
                "more resistance lasts longer",
                _excess(simulated(drawn, packs=stiff).end_s, found.end_s, least_s),
            )
    halved = simulated(drawn, step_charge=STEP_CHARGE / 2)
    moved = np.abs(_excess(halved.end_s, found.end_s, least_s, signed=True))
    law = "runtime moved by half a step"
    yield (
        law,
        np.where(on_an_edge(drawn, halved.end_s, found.end_s), 0.0, moved)
        if (moved > ALLOWED[law]).any()
        else moved,
    )


def on_an_edge(drawn: Case, one_s: Floats, other_s: Floats) -> NDArray[np.bool_]:
    """Where the end jumps as far when the cut-off moves by 2 mV or the charge by 0.02 %.

    There a load just touches the end, and nobody can say which use is the last.
    """
    near = [
        simulated(dataclasses.replace(drawn, cutoff_v=drawn.cutoff_v + by)).end_s for by in (-EDGE_V, EDGE_V)
    ]
    shares = (1.0 - EDGE_CHARGE, 1.0 + EDGE_CHARGE)
    near += [
        simulated(drawn, packs=[dataclasses.replace(unit, q_c=unit.q_c * by) for unit in drawn.packs]).end_s
        for by in shares
    ]
    low, high = np.min(near, axis=0), np.max(near, axis=0)
    slack = 2e-3 * np.minimum(one_s, other_s)
    return np.all([(low - slack <= end_s) & (end_s <= high + slack) for end_s in (one_s, other_s)], axis=0)


def _least_s(drawn: Case, found: Run, q_c: Floats) -> Floats:
    """A time in which LEAST_CHARGE goes at the mean current."""
    mean_a = np.maximum(found.end_charge_c / np.maximum(found.end_s, 1.0), 1e-9)
    return np.where(np.isfinite(mean_a), LEAST_CHARGE * q_c / mean_a, 1.0)


def _excess(longer: Floats, shorter: Floats, least_s: Floats, signed: bool = False) -> Floats:
    """By what share the one lasts longer than the other; none where both outlast the longest run."""
    both = np.isfinite(longer) & np.isfinite(shorter)
    difference = np.where(both, longer, 0.0) - np.where(both, shorter, 0.0)
    share = difference / np.maximum(np.where(both, shorter, 1.0), least_s)
    share = np.where(np.isfinite(longer) == np.isfinite(shorter), share, 1.0)
    return share if signed else np.maximum(share, 0.0)


def worst_of(draws: int, seed: int) -> dict[str, tuple[float, str]]:
    """Law -> the most it was broken by, and the draw: every draw is an outing on one pack."""
    worst: dict[str, tuple[float, str]] = dict.fromkeys(ALLOWED, (0.0, ""))
    for number in range(-(-draws // PACKS)):
        warming = number % 2 == 0
        drawn = case(np.random.default_rng([seed, number]), min(PACKS, draws), warming)
        for law, shares in broken_by(drawn, warming):
            at = int(np.argmax(shares))
            if shares[at] > worst[law][0]:
                worst[law] = (
                    float(shares[at]),
                    f"outing {number}, pack {at}, {'warming' if warming else 'isothermal'}",
                )
    return worst


def main(words: list[str]) -> int:
    draws, seed = int(words[0]) if words else 10_000, int(words[1]) if len(words) > 1 else 1
    worst = worst_of(draws, seed)
    for law, (share, where) in worst.items():
        print(f"{law:30s} worst {share:9.2e}  allowed {ALLOWED[law]:.0e}  {where}")
    return int(any(share > ALLOWED[law] for law, (share, _) in worst.items()))


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
