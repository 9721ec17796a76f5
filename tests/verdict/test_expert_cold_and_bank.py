"""Two more whole answers beside an expert's: cold-soaked on the ice, and a pair on unequal leads. All invented.

The expert's figures are hand calculations: charge by current times time, warming by one time constant, shares by Ohm's
law.
"""

from __future__ import annotations

import pytest

from planner.explain.winter_care_text import care_json
from planner.verdict.assess import Assessment, assess
from planner.winter.reader import read_climate
from tests.verdict.invented_bench import STURDY, read_need, read_unit
from tests.verdict.test_winter_care import COLD_TEST

ICE = """
format = 1
name = "A day on the ice (invented)"
duration = "8 h"
ambient = "-9 degC"
[[load]]
name = "sonar and lights"
kind = "current"
current = "4.5 A"
evidence = "logged"
"""
ON_THE_ICE = (
    'format = 1\nname = "Ice shelter (invented)"\nplace = "outdoors"\nthermal_conductance = "2.24 W/K"\n'
    'heat_capacity = "11200 J/K"\nuse_per_day = "36 Ah"\nmonthly = ['
    + ", ".join(['["-9 degC", "0 delta_degC"]'] * 12)
    + ']\n[[charge]]\nkind = "shore"\ncurrent = "20 A"\nfrom = "18 h"\nuntil = "20 h"\n'
)
PAIR = """
format = 1
name = "Pair (invented)"
duration = "10 min"
ambient = "25 degC"
start_charge = "90 %"
[[load]]
name = "windlass"
kind = "current"
current = "180 A"
evidence = "measured"
[bank]
parallel = 2
lead_resistances = ["1.2 mohm", "LEAD"]
"""


def checks(found: Assessment):
    return {one.id: one for one in found.checks}


def test_cold_soaked_it_discharges_but_will_not_charge(tmp_path):
    unit = read_unit(tmp_path, STURDY + COLD_TEST)
    alone = assess(unit, read_need(tmp_path, ICE), draws=100)
    assert alone.verdict in ("fits", "fits with limits")
    assert alone.covered.need_c / 3600.0 == pytest.approx(36.0, rel=1e-9)
    # interpolated between 86.1 Ah at -10 degC and 103.4 Ah: 86.6 Ah at 20 A; at 4.5 A the slower draw gives some more
    assert 85.0 < alone.covered.usable_c / 3600.0 < 93.0
    path = tmp_path / "ice.toml"
    path.write_text(ON_THE_ICE, encoding="utf-8")
    on_site = assess(unit, read_need(tmp_path, ICE), read_climate(path), draws=100)
    assert checks(on_site)["winter_charging"].verdict == on_site.verdict == "does not fit"
    assert on_site.winter is not None
    given = on_site.winter.outlook.given
    assert (
        given.hours_blocked[:, 0] == given.hours_offered[0]
    ).all()  # the air never reaches either resume threshold
    # moved into 15 degC: 0.85 h to 2 degC and 1.36 h to 6 degC
    care = care_json(on_site.winter.care)
    waits = care["brought_in"]["charging_resumes_after_h"]
    assert waits["low"] == pytest.approx(0.85, abs=0.005)
    assert waits["high"] == pytest.approx(1.36, abs=0.005)
    # then 36 Ah at 20 A and 99 %: 1.82 h; the evening's 2 h are enough, 39.6 Ah, where nothing blocks
    (charger,) = care["chargers"]
    assert charger["stored_Ah_a_day"] == pytest.approx(39.6, abs=0.05)
    assert 36.0 / (charger["stored_Ah_a_day"] / charger["hours_a_day"]) == pytest.approx(1.82, abs=0.005)


def test_cold_soaked_it_lasts_two_days_a_charge_and_its_own_heat_is_no_help(tmp_path):
    unit = read_unit(tmp_path, STURDY + COLD_TEST)
    # at the bench's own current the charge at -9 degC is the interpolated 86.6 Ah: 36 Ah are 42 % of it, 2.41 days
    at_20_a = ICE.replace('"4.5 A"', '"20 A"').replace('"8 h"', '"1 h 48 min"')
    usable_ah = assess(unit, read_need(tmp_path, at_20_a), draws=10).covered.usable_c / 3600.0
    assert usable_ah == pytest.approx(86.6, abs=0.5)  # its own heat at 20 A warms it, for 0.3 Ah more
    assert 36.0 / usable_ah == pytest.approx(0.42, abs=0.005)
    assert usable_ah / 36.0 == pytest.approx(2.41, abs=0.015)
    # 4.5 A through some 19 mohm are 0.39 W, which 2.24 W/K carry off: a fifth of a kelvin
    found = assess(unit, read_need(tmp_path, ICE), draws=10)
    assert 264.15 < found.runtime.final_k < 264.65


def test_a_pair_on_unequal_leads_misses_by_a_hair_and_equal_leads_cure_it(tmp_path):
    unit = read_unit(tmp_path, STURDY)
    unequal = assess(unit, read_need(tmp_path, PAIR.replace("LEAD", "2.6 mohm")), draws=20)
    assert unequal.bank is not None
    first = [branch.first_a for branch in unequal.bank.branches]
    assert first[0] == pytest.approx(102.9, abs=1.5)  # by R0 of the pair's own fit
    assert sum(first) == pytest.approx(180.0, rel=1e-9)
    peak = unequal.bank.peaks[0]
    beyond = [
        (p.current_a, p.duration_s)
        for p, z in zip(peak.points, peak.zones, strict=True)
        if z.name != "demonstrated"
    ]
    # a hair: 100 A was carried through a discharge, to 99.5 A with the meter's error and blurred to 100.5 A
    assert beyond and all(current < 101.5 for current, _ in beyond)
    assert checks(unequal)["bank"].verdict == "not proven"
    for loss in unequal.bank.losses:  # 180 A on one: it opened there after 11 s
        assert (loss.verdict, loss.zone) == ("does not fit", "trips")
        assert loss.shed_to_a == pytest.approx(99.5, rel=1e-9)
    equal = assess(unit, read_need(tmp_path, PAIR.replace("LEAD", "1.2 mohm")), draws=20)
    assert equal.bank is not None
    assert [branch.first_a for branch in equal.bank.branches] == pytest.approx([90.0, 90.0], rel=1e-9)
    assert checks(equal)["bank"].verdict == "fits with limits"


def test_a_sound_units_terminals_may_read_32_degrees_in_a_room(tmp_path):
    # Common practice, no source: 105 A for 15 min, hottest terminal 32 degC in a room of 22 degC. A rise of 10 K, steady
    # at 10/0.811 = 12.3 K by a time constant of 9 min: 105 A for good is far from 75 degC.
    text = STURDY.replace('current = "100 A"\nambient = "25 degC"\nreadings = [["15 min", "53 degC"]]',
                          'current = "105 A"\nambient = "22 degC"\nreadings = [["15 min", "32 degC"]]')  # fmt: skip
    assert text != STURDY
    need = ICE.replace('"4.5 A"', '"90 A"').replace('"8 h"', '"40 min"').replace('"-9 degC"', '"22 degC"')
    heat = checks(assess(read_unit(tmp_path, text), read_need(tmp_path, need), draws=20))["terminal_heat"]
    assert heat.verdict == "fits" and heat.need is not None
    # (90/105)^2 of 10 to 14 K above 22 degC
    assert 29.0 < heat.need.value_si - 273.15 < 33.0
