"""From an outing's loads to pieces of time in which no load switches.

Piece k lasts from edges_s[k] to edges_s[k + 1]; inside it every load is off, constant, or (a recorded
log joined by lines) moves straight from its start to its end current. Demands are those of the load's
own terminals, behind the wiring; discharge is positive.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Swing:
    """What a coarsened piece's mean current hides, each (L, m).

    hold_a : current exceeded for a cut-off's delay. top_a : highest current. variance_a2 : mean square about
    the mean.
    """

    hold_a: Floats
    top_a: Floats
    variance_a2: Floats


@dataclass(frozen=True, slots=True)
class Timeline:
    """The demands of L loads in m pieces.

    edges_s : (m + 1,) rising from 0 to the outing's length [s].
    current_start_a, current_end_a : (L, m) current drawn whatever the voltage [A].
    power_w : (L, m) power drawn whatever the voltage [W].
    conductance_s : (L, m) current per volt [S].
    uses_inverter : (L, m) the load draws AC power through its inverter in this piece.
    cutout_v, cutout_delay_s, restart_v : (L,) of the load's inverter; NaN where it has none.
    spread : (L,) one standard deviation of each load, fraction.
    names, evidence : of the loads, same order.
    swing : what the pieces hide when the timeline was coarsened, else None.
    """

    edges_s: Floats
    current_start_a: Floats
    current_end_a: Floats
    power_w: Floats
    conductance_s: Floats
    uses_inverter: NDArray[np.bool_]
    cutout_v: Floats
    cutout_delay_s: Floats
    restart_v: Floats
    spread: Floats
    names: tuple[str, ...]
    evidence: tuple[str, ...]
    swing: Swing | None = None
