"""Scenarios side by side do not touch one another."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.battery.circuit import Circuit
from tests.oracles.pieces import MIXED_TROLLING, LoadPiece
from tests.simulate.invented_packs import LIVELY, circuit_of, run

FINE = {"step_charge": 1e9, "longest_step_s": 60.0}  # steps of a minute whatever the neighbours draw
SAME = 1e-9  # sums in another order
FIELDS = ("end_s", "end_charge_c", "end_energy_j", "mark_charge_c", "mark_energy_j", "mark_temp_k", "min_v")


def packs(count: int, seed: int):
    rng = np.random.default_rng(seed)
    return [
        dataclasses.replace(LIVELY, q_c=LIVELY.q_c * c, r_cell_ohm=LIVELY.r_cell_ohm * r, tau_d_s=t, r1_ohm=LIVELY.r1_ohm * p)
        for c, r, t, p in zip(rng.uniform(0.7, 1.3, count), rng.uniform(0.5, 3.0, count), rng.uniform(200, 1700, count),
                              rng.uniform(0.5, 2.0, count), strict=True)
    ]  # fmt: skip


@settings(max_examples=8)
@given(seed=st.integers(0, 10**6), place=st.integers(0, 6), warms=st.booleans())
def test_a_scenario_ends_the_same_alone_and_among_others(seed, place, warms):
    crowd = packs(7, seed)
    if not warms:
        crowd = [dataclasses.replace(pack, heat_capacity_j_per_k=math.inf) for pack in crowd]
    together = run(crowd, MIXED_TROLLING, **FINE)
    alone = run([crowd[place]], MIXED_TROLLING, **FINE)
    for name in FIELDS:
        assert getattr(together, name)[place] == pytest.approx(getattr(alone, name)[0], rel=SAME), name


def test_the_same_scenario_a_thousand_times_over_is_the_same_to_rounding():
    one = run([LIVELY], MIXED_TROLLING)
    many = run(many_times(circuit_of([LIVELY]), 1000), MIXED_TROLLING, columns=1000)
    for name in FIELDS:
        values = getattr(many, name)
        assert np.ptp(values) == 0.0
        assert values[0] == pytest.approx(getattr(one, name)[0], rel=SAME)


def many_times(circuit: Circuit, count: int) -> Circuit:
    return circuit.select(np.zeros(count, dtype=np.intp)) if circuit.charge_c.shape[-1] > 1 else dataclasses.replace(
        circuit, charge_c=np.repeat(circuit.charge_c, count, axis=-1), offset=np.repeat(circuit.offset, count, axis=-1)
    )


def test_thousands_in_blocks_are_the_same_as_all_at_once():
    crowd = packs(2000, 5)
    whole = run(crowd, MIXED_TROLLING, repeat=False, **FINE)
    for first in range(0, 2000, 500):
        block = run(crowd[first : first + 500], MIXED_TROLLING, repeat=False, **FINE)
        for name in ("mark_charge_c", "mark_energy_j", "min_v"):
            assert getattr(block, name) == pytest.approx(getattr(whole, name)[first : first + 500], rel=SAME), name


def test_at_the_working_step_company_moves_a_runtime_by_less_than_a_tenth_of_a_per_cent():
    """The step is set by the hardest scenario of a batch, so company changes it; that must not show."""
    crowd = packs(40, 11)
    together = run(crowd, MIXED_TROLLING)
    alone = np.array([float(run([pack], MIXED_TROLLING).end_s[0]) for pack in crowd])
    worst = float(np.abs(together.end_s / alone - 1.0).max())
    print(f"worst {worst:.1e}")
    assert worst < 1e-3


def test_order_of_scenarios_changes_nothing():
    crowd = packs(25, 3)
    forward, backward = run(crowd, MIXED_TROLLING), run(crowd[::-1], MIXED_TROLLING)
    for name in FIELDS:
        assert getattr(forward, name) == pytest.approx(getattr(backward, name)[::-1], rel=SAME), name


def test_a_scenario_that_ends_early_leaves_the_others_alone():
    tiny = dataclasses.replace(LIVELY, q_c=LIVELY.q_c / 50.0)
    together = run([tiny, LIVELY], [LoadPiece(36000.0, current_a=20.0)], **FINE)
    alone = run([LIVELY], [LoadPiece(36000.0, current_a=20.0)], **FINE)
    assert float(together.end_s[1]) == pytest.approx(float(alone.end_s[0]), rel=SAME)
