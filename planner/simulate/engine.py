"""The engine: many scenarios of one outing on one battery or bank, at once."""

from __future__ import annotations

import math

from planner.battery.circuit import Circuit
from planner.outing.timeline import Timeline
from planner.simulate.leap import Leaper, pass_start
from planner.simulate.march import March
from planner.simulate.setup import LONGEST_RUN_S, Run, Setup


def simulate(circuit: Circuit, timeline: Timeline, setup: Setup) -> Run:
    """Run every scenario to the end of its battery, or of the outing when setup.repeat is False.

    circuit : parameters of n scenarios (branches, series, n). timeline : the loads. setup : the rest.
    Returns a Run; a battery that outlasts LONGEST_RUN_S has end_s inf.
    """
    march = March(circuit, timeline, setup)
    n = setup.load_factor.shape[1]
    pieces = len(timeline.edges_s) - 1
    leaper = Leaper(march, n) if setup.repeat else None
    draws_charge = bool(timeline.current_start_a.any() or timeline.current_end_a.any() or timeline.power_w.any()
                        or timeline.conductance_s.any())  # fmt: skip
    longest = LONGEST_RUN_S if draws_charge else 0.0
    first = True
    while True:
        began = pass_start(march, n)
        for piece in range(pieces):
            if len(march.index) == 0 or march.over.all():
                break
            march.walk_piece(piece)
        if first:
            march.book.mark(march)
            march.trace.open = False
            first = False
        if leaper is None or len(march.index) == 0 or march.over.all():
            break
        march.note_left_off()
        leaper.after_pass(began)
        if math.isinf(longest) or float(march.clock_s[~march.over].min()) >= longest:
            break
    return march.book.run(march.steps, march.trace.build())
