"""One run with every input at its centre, for tables of many rows: what is decided by draws is decided by it.

The handbook's assumptions are moved all the same, as a check asks whether they decide.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from planner.battery.draws import Scenarios, scenarios
from planner.battery.fit import Fitted
from planner.outing.build import build_timeline
from planner.outing.schema import Outing
from planner.record.schema import Record
from planner.simulate.engine import simulate
from planner.verdict.batch import Batch, make_setup


def centre_scenarios(fitted: Fitted, loads: int, bank: tuple[int, int]) -> Scenarios:
    """Centre, moved priors, and the centre once more in place of the draws."""
    one = scenarios(fitted, 1, 0, loads, bank)
    columns = np.append(np.arange(one.first_draw), 0)
    return replace(
        one,
        circuit=one.circuit.select(columns),
        theta=one.theta[columns],
        load_normal=np.zeros((loads, len(columns))),
    )


def centre_batch(record: Record, outing: Outing, fitted: Fitted) -> Batch:
    """The batch of an outing without draws. fitted : the record's model."""
    timeline = build_timeline(outing)
    bank = (outing.bank.parallel, outing.bank.series) if outing.bank else (1, 1)
    chosen = centre_scenarios(fitted, len(outing.loads), bank)
    setup = make_setup(record, outing, np.ones_like(chosen.load_normal))
    return Batch(record, outing, fitted, chosen, timeline, setup, simulate(chosen.circuit, timeline, setup))
