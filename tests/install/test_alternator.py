"""An alternator joined straight to the battery: its current by Ohm's law, and what it asks of cable and fuse."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.install.alternator import DirectCharge
from planner.install.conductor import awg_area_m2, awg_name
from planner.install.judge import judge_wiring
from tests.install.test_judge import need, wiring

# By hand: 14.2 V against 13.2 V at rest
DIRECT = DirectCharge(set_v=14.2, rest_v=13.2, source_ohm=5.2e-3)


def test_only_the_ohms_of_the_loop_limit_it():
    # By hand: 1.0 V / (5.2 + 10.0) mohm = 65.8 A
    assert DIRECT.unlimited_a(10.0e-3) == pytest.approx(65.8, abs=0.05)
    assert DIRECT.runs_flat_out(10.0e-3)  # no rating is known to hold it


def test_a_rating_is_where_it_runs_flat_out():
    small, large = replace(DIRECT, rated_a=55.0), replace(DIRECT, rated_a=90.0)
    assert (small.current_a(10.0e-3), small.runs_flat_out(10.0e-3)) == (55.0, True)
    assert large.current_a(10.0e-3) == pytest.approx(65.8, abs=0.05)
    assert not large.runs_flat_out(10.0e-3)
    assert large.output_fuse_a == pytest.approx(108.0)  # 33 CFR 183.460: 120 % of the rated current


def test_below_the_battery_at_rest_nothing_flows():
    low = replace(DIRECT, set_v=13.1)
    assert low.current_a(1e-3) == 0.0
    assert not low.runs_flat_out(1e-3)


def test_cable_and_fuse_are_judged_by_the_charge_that_this_cable_lets_through():
    # AWG 8 and 1 mohm of joints: 10.304 + 1.0 + 5.2 mohm, 60.6 A, fuse 75.7 A or more; 80 A by the table at 105 degC
    thin = judge_wiring(wiring(8, fuse_a=60.0), need(20.0, alternator=DIRECT))
    assert thin.charge_A == pytest.approx(1.0 / 16.504e-3, rel=1e-3)
    assert thin.fuse_from_A == pytest.approx(75.7, abs=0.1)
    assert "fuse below charge" in thin.reasons and thin.verdict == "does not fit"
    # AWG 2 lets 1.0 V / (2.563 + 1.0 + 5.2) mohm = 114.1 A through: a thicker cable carries more of it
    thick = judge_wiring(wiring(2, fuse_a=150.0), need(20.0, alternator=DIRECT))
    assert thick.charge_A == pytest.approx(114.1, abs=0.1)
    assert thick.reasons == ("alternator not limited",)
    assert thick.verdict == "fits with limits"
    held = judge_wiring(wiring(2, fuse_a=150.0), need(20.0, alternator=replace(DIRECT, rated_a=200.0)))
    assert held.verdict == "fits"


@given(st.sampled_from([10, 8, 6, 4, 2, 1, 0]), st.floats(20.0, 200.0))
def test_the_named_conductor_bears_what_it_lets_through(number, rated):
    direct = replace(DIRECT, rated_a=rated)
    limit = judge_wiring(wiring(number, fuse_a=None), need(20.0, alternator=direct)).limit
    assert limit is not None
    if limit.conductor is not None:
        chosen = next(n for n in range(-3, 19) if awg_name(n) == limit.conductor)
        cured = judge_wiring(
            wiring(size=limit.conductor, area_m2=awg_area_m2(chosen), fuse_a=limit.fuse_A),
            need(20.0, alternator=direct),
        )
        assert cured.verdict in ("fits", "fits with limits")
