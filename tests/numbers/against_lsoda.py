"""The engine against LSODA on drawn outings, one pack each, run to the battery's end.

    python -m tests.numbers.against_lsoda [OUTINGS [SEED]]     500 unless stated

Prints the worst runtime and energy, how many outings lie on an edge, and the numbers of those that are off; ends with
1 when there is one. An outing lies on an edge where LSODA's own answer moves as far when the cut-off moves by 5 mV or
the charge by 0.02 %: a load that just touches the end, where nobody can say which use is the last.
LSODA: A. C. Hindmarsh, ODEPACK (1983); L. R. Petzold, SIAM J. Sci. Stat. Comput. 4 (1983) 136.
"""

from __future__ import annotations

import dataclasses
import sys
from dataclasses import dataclass

import numpy as np

from tests.numbers.draws import Case, case
from tests.numbers.laws import EDGE_CHARGE, EDGE_V, LEAST_CHARGE, LEAST_S, hardly_served, simulated
from tests.oracles.circuit_truth import CircuitRun, forever, lsoda_run

ALLOWED = 1e-3  # of runtime and of energy: below every printed digit
MOST_PIECES = 150  # of a run: LSODA starts anew at each
SHORTEST_S = 30.0


@dataclass(frozen=True, slots=True)
class Compared:
    """off : the larger of both differences, in shares; a run of less than 2 % of the charge, or 2000 s, is measured against that.

    kinds : how each ended. edge : whether the difference is LSODA's own on an edge.
    """

    number: int
    runtime: float
    energy: float
    kinds: tuple[str, str]
    edge: bool

    @property
    def off(self) -> float:
        return max(abs(self.runtime), abs(self.energy))


def outing(number: int, seed: int) -> tuple[Case, CircuitRun]:
    """An outing that ends in so many pieces that LSODA can follow, and its answer; of every second pack the cells warm.

    Left out: a power that is hardly served, or not at all, although the battery is above its cut-off, where LSODA stops
    and the engine goes on with the most that can be served; and what is over before it begins.
    """
    attempt = 0
    while True:
        drawn = case(np.random.default_rng([seed, number, attempt]), 1, number % 2 == 0, SHORTEST_S)
        hours = simulated(drawn, keep_trace=False).end_s[0] / 3600.0
        passes = hours * 3600.0 / sum(piece.length_s for piece in drawn.loads)
        short = np.isfinite(hours) and passes * len(drawn.loads) < MOST_PIECES
        exact = truth(drawn) if short else None
        if (
            exact is not None
            and exact.ended_by != "power"
            and exact.runtime_s > 0.0
            and not hardly_served(drawn)[0]
        ):
            return drawn, exact
        attempt += 1


def truth(drawn: Case, cutoff_by: float = 0.0, charge_by: float = 0.0) -> CircuitRun:
    pack = drawn.packs[0]
    pack = dataclasses.replace(pack, cutoff_v=drawn.cutoff_v + cutoff_by, q_c=pack.q_c * (1.0 + charge_by))
    return lsoda_run(
        pack, forever(drawn.loads), soc0=drawn.start_soc, initial_k=drawn.cell_k, ambient_k=drawn.air_k
    )


def compared(number: int, seed: int) -> Compared:
    drawn, exact = outing(number, seed)
    found = simulated(drawn)
    q_c = drawn.packs[0].q_c
    end_s, end_j = float(found.end_s[0]), float(found.end_energy_j[0])
    least_s = max(exact.runtime_s, LEAST_S, exact.runtime_s * LEAST_CHARGE * q_c / max(exact.charge_c, 1e-9))
    least_j = max(LEAST_CHARGE * q_c * 12.0, exact.energy_j, exact.energy_j / exact.runtime_s * LEAST_S)
    runtime, energy = (end_s - exact.runtime_s) / least_s, (end_j - exact.energy_j) / least_j
    edge = False
    if max(abs(runtime), abs(energy)) > ALLOWED:
        near = [truth(drawn, by, 0.0).runtime_s for by in (-EDGE_V, EDGE_V)] + [
            truth(drawn, 0.0, by).runtime_s for by in (-EDGE_CHARGE, EDGE_CHARGE)
        ]
        slack = 2.0 * ALLOWED * exact.runtime_s
        edge = min(near) - slack <= end_s <= max(near) + slack
    return Compared(number, runtime, energy, (str(found.end_kind[0]), exact.ended_by), edge)


def main(words: list[str]) -> int:
    outings, seed = int(words[0]) if words else 500, int(words[1]) if len(words) > 1 else 1
    all_of_them = [compared(number, seed) for number in range(outings)]
    inner = [one for one in all_of_them if not one.edge]
    worst = max(inner, key=lambda one: one.off)
    off = [one for one in inner if one.off > ALLOWED]
    print(f"{outings} outings, seed {seed}: {len(all_of_them) - len(inner)} on an edge; of the others the worst is number "
          f"{worst.number}: runtime {worst.runtime:+.1e}, energy {worst.energy:+.1e}, {worst.kinds[0]} and {worst.kinds[1]}; "
          f"median {np.median([one.off for one in inner]):.1e}")  # fmt: skip
    for one in off:
        print(f"off: number {one.number}, runtime {one.runtime:+.1e}, energy {one.energy:+.1e}, {one.kinds}")
    return int(bool(off))


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
