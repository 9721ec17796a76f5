"""Limits whose value can be worked out by hand from the record's tests, and limits fed back."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.battery.fit import fit_record
from planner.constants import ZERO_CELSIUS_K
from planner.outing.change import scale_outing, stretch_outing
from planner.verdict.assess import assess
from planner.verdict.boundary import BOUNDARY, GOOD_EVERYWHERE, GOOD_NOWHERE
from planner.verdict.check import GOOD
from planner.verdict.limits import RATIO, find_limits
from planner.winter.reader import read_climate
from tests.verdict.invented_bench import STURDY, WEAK_LEADS, inverter_outing, read_need, read_unit

PROFILES = Path(__file__).resolve().parent.parent.parent / "profiles"
FEW = 20  # draws: enough for a tenth and nine tenths to differ
# the largest and smallest answers of one step, and the rounding to five digits
STEP = RATIO - 1.0 + 1e-4


def need(
    current: str, length: str, duration: str, more: str = "", questions: str = '["peak_current"]'
) -> str:
    return f"""
format = 1
name = "One steady pull (invented)"
duration = "{duration}"
ambient = "25 degC"
questions = {questions}
{more}
[[load]]
name = "pull"
kind = "current"
current = "{current}"
evidence = "measured"
use = [{{ start = "0 s", length = "{length}" }}]
"""


@pytest.fixture
def sturdy(tmp_path):
    return read_unit(tmp_path, STURDY)


def limit_of(record, outing, name, draws=FEW):
    return find_limits(record, outing, draws=draws, ids=[name]).limits[0]


def test_a_pull_may_grow_to_the_hold_less_its_meter_error(tmp_path, sturdy):
    """Held 150 A for 60 s, clamp 2 % + 0.5 A: 146.5 A shown; 100 A for 30 s may grow 1.465 times (hand calculation)."""
    limit = limit_of(sturdy, read_need(tmp_path, need("100 A", "30 s", "10 min")), "load_factor")
    assert limit.value <= 1.465 + 1e-9
    assert limit.value * (1.0 + STEP) > 1.465
    assert (limit.inside.verdict, limit.outside.verdict) == ("fits", "not proven")
    assert limit.outside.check.id == "peak_current"


def test_a_pull_that_is_too_hard_must_shrink(tmp_path, sturdy):
    """160 A for 30 s lies between the hold of 150 A and the opening at 180 A: 146.5 / 160 (hand calculation)."""
    limit = limit_of(sturdy, read_need(tmp_path, need("160 A", "30 s", "10 min")), "load_factor")
    assert limit.value <= 146.5 / 160.0 + 1e-9
    assert limit.value * (1.0 + STEP) > 146.5 / 160.0


def test_the_longest_outing_is_the_shortest_of_the_runs_that_decide(tmp_path, sturdy):
    """A steady load lasts the same however long it is wanted: the centre's time, or that of a moved assumption."""
    outing = read_need(tmp_path, need("20 A", "1 h", "1 h", questions='["energy"]'))
    limit = limit_of(sturdy, outing, "duration")
    run = assess(sturdy, stretch_outing(outing, 8 * 3600.0), draws=FEW).batch
    shortest_h = float(run.run.end_s[: run.scenarios.first_draw].min()) / 3600.0
    # steps of another size in a run of another length move its end by less than the step of the search
    assert limit.value == pytest.approx(shortest_h, rel=2.0 * STEP)
    assert limit.value < 103.4 / 20.0  # no more than the charge that was measured
    assert limit.outside.check.id == "energy"


def test_the_thinnest_cable_is_the_one_whose_fuse_carries_the_load(tmp_path, sturdy):
    """100 A wants a fuse of 125 A: AWG 4 of 105 degC carries more, AWG 6 less (33 CFR 183.425 Table 5)."""
    wired = '[wiring]\ngauge = "AWG 2"\nlength = "0.5 m"\ncontact_resistance = "0.5 mohm"\ninsulation = "105 degC"\n'
    outing = read_need(tmp_path, need("100 A", "30 min", "30 min", questions='["wiring"]') + wired)
    limit = limit_of(sturdy, outing, "gauge")
    assert (limit.value, limit.outside.check.id) == ("AWG 4", "wiring")
    metric = replace(outing, wiring=replace(outing.wiring, size="50 mm^2", area_m2=50e-6))
    assert limit_of(sturdy, metric, "gauge").value == "AWG 4"


def test_a_pull_is_shown_down_to_freezing_while_the_voltage_keeps_clear(tmp_path, sturdy):
    """Held at 25 degC, so shown to 10 degC, and to 0 degC with half a volt to spare (the rule of the passes)."""
    outing = replace(read_need(tmp_path, need("140 A", "30 s", "10 min")), ambient_k=ZERO_CELSIUS_K + 25.0)
    limit = limit_of(sturdy, outing, "cell_temperature")
    assert limit.value == pytest.approx(0.0, abs=1e-9)
    assert limit.outside.check.id == "peak_current"


def test_without_a_cable_there_is_no_gauge_and_it_says_what_to_enter(tmp_path, sturdy):
    limit = limit_of(sturdy, read_need(tmp_path, need("20 A", "1 h", "1 h")), "gauge")
    assert (limit.value, limit.found, limit.missing) == (None, None, "cable")


def test_a_load_that_does_not_reach_the_end_has_no_longest_outing(tmp_path, sturdy):
    outing = read_need(tmp_path, need("20 A", "10 min", "1 h", questions='["energy"]'))
    limit = limit_of(sturdy, outing, "duration")
    assert (limit.value, limit.found.kind) == (None, GOOD_EVERYWHERE)
    assert limit.searched == (1.0, pytest.approx(10.0, rel=STEP))


def test_a_question_without_input_leaves_no_limit_anywhere(tmp_path, sturdy):
    outing = read_need(tmp_path, need("20 A", "10 min", "1 h", questions='["winter_charging"]'))
    limit = limit_of(sturdy, outing, "load_factor")
    assert (limit.value, limit.found.kind) == (None, GOOD_NOWHERE)


@pytest.mark.slow
def test_an_inverter_is_scaled_alone(tmp_path, sturdy):
    """Where it is the only load and draws nothing idle, its power and all loads together have one limit."""
    outing = replace(read_need(tmp_path, inverter_outing("AWG 1/0", "10.0 V")), questions=("peak_current",))
    found = find_limits(sturdy, outing, draws=FEW, ids=["inverter_power", "load_factor"]).limits
    assert found[0].value == pytest.approx(900.0 * found[1].value, rel=STEP)
    assert found[0].outside.check.id == "peak_current"
    alone = replace(outing, loads=(replace(outing.loads[0], kind="power"),))
    assert limit_of(sturdy, alone, "inverter_power").missing == "load on an inverter"


def test_turning_back_keeps_the_way_home(tmp_path, sturdy):
    """4.2 km at 3 km/h, 18 A, factor 1.25: 31.5 Ah stay (hand calculation)."""
    home = '[get_home]\ndistance = "4.2 km"\nspeed = "3 km/h"\ncurrent = "18 A"\nfactor = 1.25\n'
    outing = read_need(tmp_path, need("20 A", "5 h", "5 h", home, '["energy", "reserve"]'))
    found = find_limits(sturdy, outing, draws=FEW, ids=[])
    usable_ah = found.present.covered.usable_p10_c / 3600.0
    assert found.spare.turn_back_c / 3600.0 == pytest.approx(usable_ah - 31.5, rel=1e-9)
    assert found.spare.turn_back_s < usable_ah / 20.0 * 3600.0


def test_the_longest_pull_is_the_longest_test_that_covers_it(tmp_path, sturdy):
    found = find_limits(sturdy, read_need(tmp_path, need("140 A", "30 s", "10 min")), draws=FEW, ids=[])
    assert found.spare.pull_s == pytest.approx(60.0, rel=1e-5)  # the hold of 150 A
    long = find_limits(sturdy, read_need(tmp_path, need("160 A", "30 s", "10 min")), draws=FEW, ids=[])
    assert long.spare.pull_s == pytest.approx(
        10.5, rel=1e-5
    )  # 180 A opened at 11 s, the timer may err by 0.5 s


@pytest.mark.slow
@settings(max_examples=6, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    unit=st.sampled_from([STURDY, WEAK_LEADS]),
    current=st.floats(5.0, 150.0),
    minutes=st.floats(1.0, 120.0),
    celsius=st.floats(-10.0, 35.0),
    name=st.sampled_from(["load_factor", "duration", "cell_temperature"]),
)
def test_a_limit_fed_back_is_good_and_one_step_further_is_not(
    tmp_path, unit, current, minutes, celsius, name
):
    record = read_unit(tmp_path, unit)
    outing = read_need(tmp_path, need(f"{current:.3g} A", f"{minutes:.3g} min", f"{minutes:.3g} min",
                                      questions='["energy", "peak_current"]'))  # fmt: skip
    outing = replace(outing, ambient_k=ZERO_CELSIUS_K + celsius, cell_k=ZERO_CELSIUS_K + celsius)
    limit = limit_of(record, outing, name)
    if limit.found.kind != BOUNDARY:
        assert limit.value is None
        return
    known = fit_record(record)

    def verdict(step: float) -> str:
        if name == "load_factor":
            changed = scale_outing(outing, limit.value * (1.0 + 0.005 * step))
        elif name == "duration":
            changed = stretch_outing(outing, 3600.0 * limit.value * (1.0 + 0.005 * step))
        else:
            changed = replace(outing, cell_k=ZERO_CELSIUS_K + limit.value - 0.1 * step)
        return assess(record, changed, draws=FEW, fitted=known).verdict

    assert verdict(0.0) in GOOD
    assert verdict(1.0) not in GOOD


def test_the_smallest_battery_is_the_one_whose_hold_still_carries_the_pull(tmp_path, sturdy):
    """100 A for 30 s; the hold is 150 A * f less 2 % and 0.5 A, so f = 100.5 / 147 of 103.4 Ah (hand calculation)."""
    limit = limit_of(sturdy, read_need(tmp_path, need("100 A", "30 s", "10 min")), "smallest_battery")
    smallest_ah = 103.4 * 100.5 / 147.0
    assert smallest_ah - 1e-9 <= limit.value < smallest_ah * (1.0 + STEP)
    assert (limit.unit, limit.outside.check.id) == ("Ah", "peak_current")


def test_the_highest_speed_is_the_one_that_draws_what_was_held(tmp_path, sturdy):
    """200 A at full speed, 3 % fixed and the rest a cube; 146.5 A shown: cube root of 0.7325 less 0.03, over 0.97."""
    text = need("1 A", "30 s", "10 min").replace(
        'kind = "current"\ncurrent = "1 A"', 'kind = "motor"\nfull_current = "200 A"'
    )
    outing = read_need(tmp_path, text.replace('length = "30 s"', 'length = "30 s", speed = 0.5'))
    limit = limit_of(sturdy, outing, "steady_speed")
    fastest = ((146.5 / 200.0 - 0.03) / 0.97) ** (1.0 / 3.0)
    assert fastest - 1.0 / 400.0 < limit.value <= fastest
    assert limit.outside.check.id == "peak_current"


def test_what_nine_in_ten_manage_is_less_than_what_the_middle_does(tmp_path, sturdy):
    """A load known to 12 %: the pessimistic tenth lies about 15 % below the middle (1.28 standard deviations)."""
    outing = read_need(tmp_path, need("20 A", "1 h", "1 h", questions='["energy"]').replace(
        'evidence = "measured"', 'evidence = "measured"\nspread = "12 %"'))  # fmt: skip
    limit = limit_of(sturdy, outing, "duration", draws=300)
    assert limit.sure_outside.completes < 0.9 <= 1.0
    # capacity is uncertain as well, by 3.6 %: 12.5 % together; 300 draws know a tenth to about 1.5 %
    assert limit.sure_value / limit.value == pytest.approx(np.exp(-1.2816 * 0.125), rel=0.04)
    assert limit.sure_outside.good


def test_the_earliest_month_is_the_first_warm_enough(tmp_path, sturdy):
    """A pull shown down to freezing. April of the invented lake has a mean of 4 and a swing of 11 degC, so a quarter of
    its hours freeze (arccos(4 / 5.5) / pi); May, 11 and 12 degC, stays at 5 and above (hand calculation).
    """
    climate = read_climate(PROFILES / "climates" / "cold-lake.toml")
    outing = read_need(tmp_path, need("140 A", "30 s", "10 min"))
    found = find_limits(sturdy, outing, climate, draws=FEW, ids=["earliest_month"]).limits[0]
    assert (found.value, found.searched) == ("May", ("January", "December"))
    assert not found.outside.good
    assert limit_of(sturdy, outing, "earliest_month").missing.startswith("climate")
