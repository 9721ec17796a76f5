"""Slips people make about cable, fuse and bank: each is refused, or told in words. Invented units and outings."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.errors import InputRefused
from planner.explain.cautions import cautions
from planner.explain.sentences import sentence
from planner.explain.warnings import warnings
from planner.verdict.assess import Assessment, assess
from tests.verdict.invented_bench import HALF_SIZE, STURDY, read_need, read_unit

OUTING = """
format = 1
name = "Slips (invented)"
duration = "10 min"
ambient = "20 degC"
[[load]]
name = "heater"
kind = "current"
current = "90 A"
[wiring]
gauge = "AWG 4"
length = "2 m"
fuse = "125 A"
insulation = "105 degC"
"""


@pytest.fixture
def answer(tmp_path):
    def of(text: str, unit: str = STURDY) -> Assessment:
        return assess(read_unit(tmp_path, unit), read_need(tmp_path, text), draws=8)

    return of


def told(found: Assessment, *words: str) -> bool:
    return any(all(word in text for word in words) for text in warnings(found))


@pytest.mark.parametrize(
    ("was", "becomes", "fix"),
    [
        ('gauge = "AWG 4"', 'gauge = "4"', "mm^2"),  # AWG 4 or 4 mm2
        ('gauge = "AWG 4"', 'gauge = "AWG 95"', "area in mm^2"),  # 95 mm2 written as a gauge
        ('gauge = "AWG 4"', 'gauge = "AWG 35"', 'area = "35 mm^2"'),  # a hair of 0.016 mm2
        ('gauge = "AWG 4"', 'area = "0.1 mm^2"', "mm^2"),
        ('gauge = "AWG 4"', 'gauge = "SAE 4"', "SAE wire has less copper"),
        ('length = "2 m"', 'length = "0 m"', ""),
    ],
)
def test_what_could_mean_two_wires_is_refused_with_the_fix(tmp_path, was, becomes, fix):
    with pytest.raises(InputRefused) as caught:
        read_need(tmp_path, OUTING.replace(was, becomes))
    (problem,) = caught.value.problems
    assert problem.key.startswith("wiring.") and fix in problem.fix


def test_one_way_and_there_and_back_stand_side_by_side_with_edition_and_who_decides(answer):
    found = answer(OUTING)
    # by hand: 90 A x 4 m x 0.8152 mohm/m = 0.29 V, half of it if 2 m were there and back
    assert told(found, "taken as one way", "0.29 V", "0.15 V")
    assert told(found, "33 CFR 183.425 Table 5", "edition of 2015")
    assert told(found, "Local code and a qualified person decide.")


def test_a_fuse_below_the_load_does_not_fit(answer):
    found = answer(OUTING.replace("125 A", "80 A"))
    assert found.wiring is not None and found.wiring.verdict == "does not fit"
    assert "fuse below load" in found.wiring.reasons


def test_400_a_through_awg_18_asks_about_size_unit_and_current(answer):
    found = answer(OUTING.replace("AWG 4", "AWG 18").replace('"90 A"', '"400 A"'))
    assert found.wiring is not None and found.wiring.verdict == "does not fit"
    assert told(found, "400 A through AWG 18", "Check size, unit and current")


def test_a_drop_beyond_the_whole_voltage_is_not_told_in_volts(answer):
    found = answer(OUTING.replace("AWG 4", "AWG 18").replace('"90 A"', '"400 A"'))
    check = next(one for one in found.checks if one.id == "wiring")
    # by hand: 400 A x 4 m x 20.9 mohm/m = 33 V
    assert "would take all the voltage there is" in sentence(check.reason)
    assert told(found, "more than all of 12.8 V")


def test_a_cable_too_thin_for_the_table_and_the_load_may_not_well_do(answer):
    found = answer(OUTING.replace("AWG 4", "AWG 22"))
    check = next(one for one in found.checks if one.id == "wiring")
    text = sentence(check.reason)
    assert "thinner than any the table allows" in text and "may well do" not in text


def test_a_battery_that_is_none_of_its_bank_and_units_of_unlike_size_are_named(tmp_path):
    bank = OUTING + '[bank]\nparallel = 2\nlead_resistances = ["1 mohm", "1 mohm"]\n'
    unit, need = read_unit(tmp_path, STURDY), read_need(tmp_path, bank)
    small = read_unit(tmp_path, HALF_SIZE)
    mixed = assess(unit, need, draws=8, units=(unit, small))
    assert told(mixed, "52 amp-hours and 103 amp-hours", "unlike size or age")
    assert not told(mixed, "is none of them")
    assert told(assess(unit, need, draws=8, units=(small, small)), "the battery asked about, is none of them")


def test_units_of_unlike_voltage_are_not_to_be_joined(tmp_path):
    bank = OUTING + '[bank]\nparallel = 2\nlead_resistances = ["1 mohm", "1 mohm"]\n'
    unit, need = read_unit(tmp_path, STURDY), read_need(tmp_path, bank)
    # 103.4 Ah at 12.0 V in the middle, as a flooded lead battery gives it, beside 12.97 V
    first, *rest = unit.capacity_tests
    other = replace(unit, capacity_tests=(replace(first, energy_j=12.0 * first.charge_c), *rest))
    assert told(assess(unit, need, draws=8, units=(unit, other)), "another chemistry")
    assert not told(assess(unit, need, draws=8, units=(unit, unit)), "another chemistry")


def test_series_without_the_makers_word_is_not_proven_and_against_it_does_not_fit(answer):
    series = OUTING + "[bank]\nseries = 2\n"
    bank = next(check for check in answer(series).checks if check.id == "bank")
    assert (bank.verdict, bank.reason.code) == ("not proven", "series_unknown")
    refused = STURDY.replace('mass = "11.2 kg"', 'mass = "11.2 kg"\nseries_allowed = false')
    bank = next(check for check in answer(series, refused).checks if check.id == "bank")
    assert (bank.verdict, bank.reason.code) == ("does not fit", "series_refused")


def test_a_safety_load_behind_a_protection_that_trips_is_the_first_caution(answer):
    pump = '[[load]]\nname = "bilge pump"\nkind = "current"\ncurrent = "4 A"\nsafety = true\n'
    found = answer(OUTING.replace('"90 A"', '"190 A"') + pump)
    first = cautions(found)[0]
    assert first.startswith("The protection may switch off what must never go dark: bilge pump.")
