"""One run with every input at its centre, for tables of many rows: what is decided by draws is decided by it.

The handbook's assumptions are moved all the same, as a check asks whether they decide.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from planner.battery.draws import Scenarios
from planner.battery.fit import Fitted
from planner.outing.schema import Outing
from planner.record.schema import Record
from planner.verdict.batch import Batch, draw, run_scenarios


def centre_scenarios(outing: Outing, fitted: Fitted, units: tuple[Record, ...] = ()) -> Scenarios:
    """Centre, moved priors, and the centre once more in place of the draws."""
    one = draw(outing, fitted, 1, 0, units)
    columns = np.append(np.arange(one.first_draw), 0)
    return replace(
        one,
        circuit=one.circuit.select(columns),
        theta=one.theta[columns],
        load_normal=np.zeros((len(outing.loads), len(columns))),
    )


def centre_batch(record: Record, outing: Outing, fitted: Fitted, units: tuple[Record, ...] = ()) -> Batch:
    """The batch of an outing without draws. fitted : the record's model; units : as in `run_batch`."""
    return run_scenarios(record, outing, fitted, centre_scenarios(outing, fitted, units), units)
