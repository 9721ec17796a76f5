"""How the outing's pieces are cut into steps: the same for all scenarios, so that none depends on its company."""

from __future__ import annotations

import math

import numpy as np

from planner.outing.timeline import Swing, Timeline
from planner.simulate.setup import Setup
from planner.simulate.tables import Floats, Pieces

USUAL_V = 12.0  # only to size steps, never in a result
IDLE_STEP_S = 3600.0  # without current every state is exact at any step; cells still drift to the air
LEAST_STEP_S = 1e-3
# parallel branches settle among themselves within minutes where the curve is steep: much longer steps would swing
# about that (300 s do; 120 s end within 1.1e-4 of steps of 3 s)
BANK_STEP_S = 60.0
# a load that leans on the voltage draws more at the end of its piece than the mean that a step carries: in one step the
# last voltage comes out too high, and a drawn pack missed its cut-off in a burst of 8 s
STEPS_OF_POWER = 2


def rough_current_a(timeline: Timeline) -> Floats:
    """Rough largest current of all loads together in each piece, (pieces,) [A]."""
    amps = np.maximum(timeline.current_start_a, timeline.current_end_a)
    rough: Floats = (amps + timeline.power_w / USUAL_V + timeline.conductance_s * USUAL_V).sum(axis=0)
    return rough


def step_count(length_s: float, current_a: float, charge_c: float, setup: Setup) -> int:
    """Into how many steps a piece is cut, by a rough current [A] and the charge of all branches [C]."""
    most_s = BANK_STEP_S if len(setup.lead_ohm) > 1 else math.inf
    if current_a <= 0.0:
        return max(1, math.ceil(length_s / min(IDLE_STEP_S, most_s)))
    span = min(setup.step_charge * charge_c / current_a, setup.longest_step_s, most_s)
    return max(1, math.ceil(length_s / max(span, LEAST_STEP_S) - 1e-9))


def cut(timeline: Timeline, setup: Setup, charge_c: float) -> Pieces:
    """The outing as the compiled march takes it; charge_c : of one unit, to size steps by."""
    length = np.diff(timeline.edges_s)
    rough = rough_current_a(timeline) if setup.size_current_a is None else setup.size_current_a
    all_c = charge_c * len(setup.lead_ohm)
    leans = np.any((timeline.power_w != 0.0) | (timeline.conductance_s != 0.0), axis=0)
    count = [
        max(step_count(float(s), float(a), all_c, setup), STEPS_OF_POWER if leaning else 1)
        for s, a, leaning in zip(length, rough, leans, strict=True)
    ]
    spans, span_of = np.unique(length / count, return_inverse=True)
    still = np.all(timeline.current_start_a == timeline.current_end_a, axis=0)
    linear = ~np.any(timeline.power_w != 0.0, axis=0)
    own = np.flatnonzero(np.isfinite(timeline.cutout_v))
    hidden = timeline.swing or Swing(
        timeline.current_start_a, timeline.current_start_a, 0.0 * timeline.power_w
    )
    loads = (
        timeline.current_start_a, timeline.current_end_a, timeline.power_w, timeline.conductance_s,
        timeline.uses_inverter, hidden.hold_a, hidden.top_a, hidden.variance_a2,
    )  # fmt: skip
    inverters = (own, timeline.cutout_v[own], timeline.cutout_delay_s[own], timeline.restart_v[own])
    return Pieces(
        table=np.array([count, span_of, still, linear], dtype=float),
        spans_s=spans,
        loads=np.array(loads, dtype=float),
        inverters=np.array(inverters, dtype=float),
    )
