"""Which link gives first, and the cheapest change that mends cable and inverter. Invented units and outings."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from planner.install.conductor import awg_area_m2
from planner.outing.schema import Outing
from planner.verdict.assess import Assessment, assess
from planner.verdict.cheapest_change import cheapest_change
from planner.verdict.links import LinkLimit, lead_of
from tests.verdict.invented_bench import STURDY, inverter_outing, read_need, read_unit

STEADY = """
format = 1
name = "Steady pull (invented)"
duration = "30 min"
ambient = "20 degC"
[[load]]
name = "heater"
kind = "current"
current = "90 A"
evidence = "measured"
spread = "1 %"
[wiring]
gauge = "AWG 4"
length = "2 m"
contact_resistance = "0.4 mohm"
insulation = "105 degC"
fuse = "125 A"
"""


def links(found: Assessment) -> dict[str, LinkLimit]:
    return {one.link: one for one in found.links}


@pytest.fixture(scope="module")
def steady(tmp_path_factory) -> Assessment:
    folder = tmp_path_factory.mktemp("steady")
    return assess(read_unit(folder, STURDY), read_need(folder, STEADY), draws=20)


def with_cable(found: Assessment, **changes) -> Assessment:
    outing: Outing = found.outing
    assert outing.wiring is not None
    return assess(
        found.record, replace(outing, wiring=replace(outing.wiring, **changes)), None, 20, fitted=found.fitted
    )


def test_factors_are_each_links_limit_over_what_is_asked(steady):
    one = links(steady)
    # AWG 4 at 105 degC carries 160 A (33 CFR 183.425 Table 5)
    assert one["cable"].factor == pytest.approx(160.0 / 90.0, rel=1e-12)
    assert one["fuse"].factor == pytest.approx(125.0 / 90.0, rel=1e-12)
    # allowed 10 %; 90 A x (4 m x 0.8152 mohm/m + 0.4 mohm) = 0.3295 V of 12.8 V = 2.574 % (IEC 60028 resistivity)
    assert one["drop"].factor == pytest.approx(10.0 / 2.574, rel=1e-3)
    # 90 A for half an hour: the discharge at 100 A less 0.5 % holds 99.5 A
    assert one["battery"].kind == "shown"
    assert one["battery"].limit == pytest.approx(99.5, rel=1e-9)
    assert [x.factor for x in steady.links] == sorted(x.factor for x in steady.links)
    assert steady.links[0].link == "battery"


def test_at_its_own_factor_the_heat_of_the_terminals_meets_the_limit(steady):
    factor = links(steady)["terminals"].factor
    load = steady.outing.loads[0]
    more = replace(steady.outing, loads=(replace(load, current_a=load.current_a * factor),))
    heat = next(
        c
        for c in assess(steady.record, more, None, 20, fitted=steady.fitted).checks
        if c.id == "terminal_heat"
    )
    # the run ends earlier, but the rise is steady by then: 0.2 K of rounding and of the last minutes
    assert heat.need.value_si == pytest.approx(steady.outing.terminal_limit_k, abs=0.2)


def test_a_trip_on_the_bench_puts_the_battery_below_one(steady):
    load = steady.outing.loads[0]
    hard = replace(steady.outing, loads=(replace(load, current_a=200.0),))
    one = links(assess(steady.record, hard, None, 20, fitted=steady.fitted))["battery"]
    assert (one.kind, one.limit) == ("gives", 180.0)  # it opened at 180 A after 11 s
    assert one.factor == pytest.approx(0.9, rel=1e-12)


def test_an_inverters_factor_falls_below_one_where_the_run_cuts_out(tmp_path):
    unit = read_unit(tmp_path, STURDY)
    thin = assess(unit, read_need(tmp_path, inverter_outing("AWG 6")), draws=20)
    thick = assess(unit, read_need(tmp_path, inverter_outing("AWG 1/0")), draws=20)
    assert links(thin)["inverter"].factor < 1.0 < links(thick)["inverter"].factor


def test_leads_come_from_the_teardown_alone(steady):
    assert "lead" not in links(steady)
    assert lead_of(steady.record) is None


def test_all_well_asks_for_no_change(steady):
    assert cheapest_change(steady) is None


def test_a_fuse_too_small_is_changed_before_any_cable(steady):
    change = cheapest_change(with_cable(steady, fuse_a=100.0))
    # 1.25 x 90 A = 112.5 A: the next usual size is 125 A
    assert change is not None and change.fuse_a == 125.0
    assert change.conductor is None and change.verdict == "fits" and change.whole == "fits"


def test_a_cable_too_thin_for_load_and_fuse_needs_both(steady):
    change = cheapest_change(with_cable(steady, size="AWG 10", area_m2=awg_area_m2(10), fuse_a=60.0))
    # 1.25 x 90 A = 112.5 A; AWG 6 carries 120 A at 105 degC, but no usual size lies between but 125 A: AWG 4
    assert change is not None and (change.conductor, change.fuse_a) == ("AWG 4", 125.0)


def test_loose_joints_are_tightened_first(steady):
    change = cheapest_change(with_cable(steady, contact_resistance_ohm=15e-3))
    assert change is not None and change.contacts_ohm == pytest.approx(0.4e-3)
    assert change.fuse_a is None and change.conductor is None and change.verdict == "fits"


def test_an_inverters_cut_out_is_a_setting_before_it_is_a_cable(tmp_path):
    sound = inverter_outing("AWG 6").replace("1.0 mohm", "0.4 mohm").replace("11.5 V", "11.9 V")
    found = assess(read_unit(tmp_path, STURDY), read_need(tmp_path, sound), draws=20)
    change = cheapest_change(found)
    assert change is not None and change.cutout_below_v is not None and change.cutout_below_v < 11.9
    assert change.conductor is None and change.verdict == "fits with limits"


def test_charge_through_the_same_fuse_counts(steady):
    found = with_cable(steady, charge_current_a=110.0)
    assert found.wiring is not None
    assert found.wiring.fuse_low_A == pytest.approx(112.5)  # of the load alone
    assert found.wiring.fuse_from_A == pytest.approx(137.5)  # 1.25 x 110 A
    assert "fuse may open under the charge" in found.wiring.reasons
    change = cheapest_change(found)
    assert change is not None and change.fuse_a == 150.0 and math.isclose(found.wiring.charge_A or 0.0, 110.0)
    beyond = with_cable(steady, charge_current_a=170.0)
    assert beyond.wiring is not None and beyond.wiring.verdict == "does not fit"
    assert {"charge above ampacity", "fuse below charge", "no fuse possible"} <= set(beyond.wiring.reasons)
