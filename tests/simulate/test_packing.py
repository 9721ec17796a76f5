"""One compiled form of the march, whatever it is given."""

from __future__ import annotations

import numpy as np

from planner.simulate.march import march_some
from tests.oracles.pieces import steady
from tests.simulate.invented_packs import PACK, circuit_of, joined, run


def test_one_scenario_and_many_a_bank_and_read_only_arrays_run_by_one_compiled_form():
    frozen = np.ones((1, 2))
    frozen.flags.writeable = False
    leads = np.array([1e-3, 2e-3])
    leads.flags.writeable = False
    run([PACK], steady(current_a=60.0))
    run([PACK, PACK], steady(power_w=300.0), load_factor=frozen, trips=((200.0, 5.0),))
    run(joined(circuit_of([PACK, PACK]), 2), steady(current_a=60.0), lead_ohm=leads, columns=1)
    assert len(march_some.signatures) == 1
