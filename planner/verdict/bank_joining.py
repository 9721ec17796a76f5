"""What flows between units when they are joined, and what a string leaves behind. Discharge current is positive."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import warmth
from planner.constants import SECONDS_PER_DAY
from planner.verdict.batch import Batch

Floats = NDArray[np.float64]

WORTH_TELLING_A = 0.5  # below it meters and curves tell nothing (common practice, no source)
MONTH_S = 30.0 * SECONDS_PER_DAY


@dataclass(frozen=True, slots=True)
class Joining:
    """The current at the moment branches are joined, before any load.

    giver, taker : branches counted from 1. first_a : into the taker, before any pair answers; lasting_a : once all
    have, the rest voltages standing still [A]. allowed_a : the least charge current the makers of the taker's units
    state, None where one of them states none.
    """

    giver: int
    taker: int
    first_a: float
    lasting_a: float
    allowed_a: float | None


@dataclass(frozen=True, slots=True)
class Stranded:
    """One string. weakest_c, strongest_c : charge of its units [C]; stranded_c stays in the strongest.

    drift_c : what their own sleep currents set them apart by in 30 days [C], None where one is not recorded.
    """

    branch: int
    weakest_c: float
    strongest_c: float
    drift_c: float | None

    @property
    def stranded_c(self) -> float:
        """Charge the strongest still holds when the weakest is empty [C]."""
        return self.strongest_c - self.weakest_c


def joining_of(batch: Batch) -> Joining | None:
    """Circulating current of branches of unlike charge or kind; None for one branch or next to none.

    Source: Millman's theorem at the bus without load, E_i - R_i I_i alike in all branches.
    """
    if len(batch.setup.lead_ohm) < 2:
        return None
    circuit = batch.scenarios.circuit.select(np.array([0]))
    soc = np.broadcast_to(
        np.asarray(batch.setup.start_soc, dtype=float), (len(batch.setup.lead_ohm), batch.setup.series, 1)
    )
    rest_v = circuit.curve.look_up(soc, circuit.offset)[0].sum(axis=1)[:, 0]
    warm = warmth(circuit, np.full((1, 1, 1), batch.outing.cell_k))
    first = _branch_ohm(warm.r0_ohm, batch)
    lasting = first + _branch_ohm(warm.pair_ohm.sum(axis=0), batch) - batch.setup.lead_ohm
    flows = circulating_a(rest_v, first)
    taker, giver = int(flows.argmin()), int(flows.argmax())
    if -flows[taker] < WORTH_TELLING_A:
        return None
    limits = [one.claims.charge_current_a for one in batch.branch_units[taker]]
    known = [limit for limit in limits if limit is not None]
    allowed = min(known) if len(known) == len(limits) else None
    return Joining(
        giver + 1, taker + 1, -float(flows[taker]), -float(circulating_a(rest_v, lasting)[taker]), allowed
    )


def _branch_ohm(unit_ohm: Floats, batch: Batch) -> Floats:
    """Units of each branch in series, with its leads, (branches,) [ohm]."""
    each: Floats = np.broadcast_to(unit_ohm, (len(batch.setup.lead_ohm), batch.setup.series, 1))
    branches: Floats = each.sum(axis=1)[:, 0] + batch.setup.lead_ohm
    return branches


def circulating_a(rest_v: Floats, ohm: Floats) -> Floats:
    """Current of each branch without load, (branches,) [A]. rest_v, ohm : of each [V, ohm]. Source: Millman."""
    bus_v = (rest_v / ohm).sum() / (1.0 / ohm).sum()
    flows: Floats = (rest_v - bus_v) / ohm
    return flows


def stranded_of(batch: Batch) -> tuple[Stranded, ...]:
    """Every string of unlike units; empty where units stand side by side only, or are all of one record."""
    if batch.setup.series < 2:
        return ()
    charge = np.broadcast_to(
        batch.scenarios.circuit.select(np.array([0])).charge_c,
        (len(batch.setup.lead_ohm), batch.setup.series, 1),
    )
    found = []
    for branch, units in enumerate(batch.branch_units):
        if len(units) < 2:
            continue
        sleeps = [one.sleep_current_a for one in units]
        known = [sleep for sleep in sleeps if sleep is not None]
        apart = (max(known) - min(known)) * MONTH_S if len(known) == len(units) else None
        held = charge[branch, :, 0]
        found.append(Stranded(branch + 1, float(held.min()), float(held.max()), apart))
    return tuple(found)
