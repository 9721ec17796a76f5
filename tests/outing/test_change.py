import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.outing.build import build_timeline
from planner.outing.change import scale_outing, stretch_outing
from planner.outing.exceedance import longest_run_s, mean_a, trace_at
from planner.outing.load_reader import KINDS
from planner.outing.schema import GetHome, Outing, Use
from tests.outing.needs import EVERY_KIND, load, outing


def test_every_kind_of_load_is_scaled_below():
    missing = set(KINDS) - {load.kind for load in EVERY_KIND.loads}
    assert missing == set(), "add it to EVERY_KIND"


@given(st.floats(0.1, 5.0))
def test_scaling_multiplies_the_current_of_every_kind_of_load(factor):
    before, after = (
        trace_at(build_timeline(need), 12.8) for need in (EVERY_KIND, scale_outing(EVERY_KIND, factor))
    )
    assert after.edges_s.tolist() == before.edges_s.tolist()
    np.testing.assert_allclose(after.start_a, factor * before.start_a, rtol=1e-12)  # rounding only
    np.testing.assert_allclose(after.end_a, factor * before.end_a, rtol=1e-12)


def test_scaling_multiplies_the_way_home_and_leaves_voltages():
    need = Outing(
        "invented", 60.0, 285.0, 285.0,
        (load("inverter", Use(0.0, 60.0), power_w=100.0, efficiency=0.9, cutout_v=11.0),),
        get_home=GetHome(4200.0, 0.8, 18.0, 1.25),
    )  # fmt: skip
    doubled = scale_outing(need, 2.0)
    assert doubled.get_home.charge_c == pytest.approx(2.0 * need.get_home.charge_c, rel=1e-12)
    assert doubled.loads[0].cutout_v == 11.0
    assert need.get_home.current_a == 18.0  # the original is untouched


STRETCHED = outing(
    100.0,
    load("current", Use(0.0, 20.0), Use(40.0, 60.0), current_a=5.0),
    load("power", Use(70.0, 10.0), power_w=9.0),
)


def test_a_use_that_reaches_the_end_stretches_with_the_outing():
    longer = stretch_outing(STRETCHED, 250.0)
    assert [(use.start_s, use.length_s) for use in longer.loads[0].uses] == [(0.0, 20.0), (40.0, 210.0)]
    assert [(use.start_s, use.length_s) for use in longer.loads[1].uses] == [(70.0, 10.0)]
    assert longest_run_s(trace_at(build_timeline(longer), 12.0), 5.0)[0] == 210.0


def test_uses_beyond_a_shorter_end_are_cut_or_dropped():
    shorter = stretch_outing(STRETCHED, 75.0)
    assert [(use.start_s, use.length_s) for use in shorter.loads[0].uses] == [(0.0, 20.0), (40.0, 35.0)]
    assert [(use.start_s, use.length_s) for use in shorter.loads[1].uses] == [(70.0, 5.0)]
    shortest = stretch_outing(STRETCHED, 30.0)
    assert [(use.start_s, use.length_s) for use in shortest.loads[0].uses] == [(0.0, 20.0)]
    assert shortest.loads[1].uses == ()
    # Hand calculation: 5 A for 20 s of 30 s.
    assert mean_a(trace_at(build_timeline(shortest), 12.0)) == pytest.approx(10 / 3, rel=1e-12)


@given(st.floats(1.0, 1000.0))
def test_a_stretched_outing_is_covered_by_its_edges(duration_s):
    edges_s = build_timeline(stretch_outing(STRETCHED, duration_s)).edges_s
    assert edges_s[0] == 0.0
    assert edges_s[-1] == duration_s
