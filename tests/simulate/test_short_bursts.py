"""Short hard loads: a step holds the whole transient, and must still take the charge that the load asks for."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from tests.oracles.pieces import LoadPiece
from tests.simulate.invented_packs import LIVELY, run

# a quick pair, so that the voltage has settled long before the burst is over (invented)
QUICK_PAIR = dataclasses.replace(LIVELY, tau1_s=2.5)
CLOSE = 1e-4  # of the charge; met in the middle of a single step it is off by 1.7e-3


@pytest.mark.parametrize("load", [{"power_w": 900.0}, {"conductance_s": 6.0}])
def test_a_burst_of_twelve_seconds_takes_the_charge_that_fine_steps_take(load: dict[str, float]) -> None:
    def charge_c(parts: int) -> float:
        burst = [LoadPiece(12.0 / parts, **load)] * parts  # type: ignore[arg-type]
        return float(run([QUICK_PAIR], burst, repeat=False).mark_charge_c[0])

    assert charge_c(1) == pytest.approx(charge_c(64), rel=CLOSE)


def test_a_quick_pair_follows_the_cells_as_they_warm() -> None:
    """Cold and heated by its own current; held at the resistance of the middle, the last voltage is off by 0.067 V."""
    cold = dataclasses.replace(
        QUICK_PAIR, tau1_s=0.8, activation_j_per_mol=30e3, heat_capacity_j_per_k=QUICK_PAIR.heat_capacity_j_per_k / 4.0
    )

    def end_v(parts: int) -> float:
        burst = [LoadPiece(10.0 / parts, current_a=120.0)] * parts
        trace = run([cold], burst, repeat=False, cell_k=253.15, ambient_k=253.15, cutoff_v=0.5).trace
        assert trace is not None
        return float(trace.end_v[-1, 0])

    assert np.isfinite(end_v(64))
    assert end_v(1) == pytest.approx(end_v(64), abs=0.02)
