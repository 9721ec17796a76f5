"""Several invented batteries on one outing: order, prices, what is beaten, and who outlasts whom."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from planner.explain.compare_answer import compare_text
from planner.outing.schema import Bank
from planner.record.scaled import scaled_unit
from planner.verdict.assess import assess
from planner.verdict.check import GOOD, WORST_FIRST
from planner.verdict.compare import Choice, best_discharge, compare, dominates
from tests.verdict.invented_bench import (
    AGAINST_THE_STREAM,
    HALF_SIZE,
    STURDY,
    WEAK_LEADS,
    read_need,
    read_unit,
)

DRAWS = 60

EVENING = """
format = 1
name = "Evening on the pond (invented)"
duration = "3 h"
ambient = "22 degC"
questions = ["energy", "peak_current"]
[[load]]
name = "motor"
kind = "current"
current = "14 A"
evidence = "stated"
spread = "12 %"
use = [{ start = "0 h", length = "3 h" }]
[[load]]
name = "lamp"
kind = "power"
power = "20 W"
evidence = "measured"
use = [{ start = "1 h", length = "2 h" }]
"""


@pytest.fixture
def units(tmp_path):
    sturdy = replace(read_unit(tmp_path, STURDY), price=289.0, currency="USD")
    weak = replace(read_unit(tmp_path, WEAK_LEADS), price=199.0, currency="USD")
    half = replace(read_unit(tmp_path, HALF_SIZE), price=120.0, currency="USD")
    return sturdy, weak, half


@pytest.fixture
def evening(tmp_path):
    return read_need(tmp_path, EVENING)


def test_each_row_is_the_single_answer(units, evening):
    for choice in compare(units, evening, draws=DRAWS, seed=3).choices:
        alone = assess(choice.answer.record, evening, draws=DRAWS, seed=3)
        assert choice.answer.runtime == alone.runtime
        assert [(check.id, check.verdict) for check in choice.answer.checks] == [
            (check.id, check.verdict) for check in alone.checks
        ]


def test_rows_come_best_verdict_first_then_by_price_of_energy_a_missing_price_last(units, evening):
    unpriced = replace(units[0], name="Unpriced (invented)", price=None)
    found = compare([*units, unpriced], evening, draws=DRAWS)
    keys = [
        (-WORST_FIRST.index(choice.answer.verdict), choice.price_per_wh is None, choice.price_per_wh or 0.0)
        for choice in found.choices
    ]
    assert keys == sorted(keys)
    assert {choice.name for choice in found.choices} == {unit.name for unit in (*units, unpriced)}
    names = [choice.name for choice in found.choices if choice.answer.verdict == "fits"]
    assert names[-1] == unpriced.name
    assert units[0].name in names


def test_price_of_energy_is_price_over_the_measured_warm_discharge(units, evening):
    """289 over 1341 Wh is 0.2155, 199 over 1206 Wh is 0.1650 (hand calculation); cold energy is not taken."""
    rows = {choice.name: choice for choice in compare(units, evening, draws=DRAWS).choices}
    sturdy, weak, half = (rows[unit.name] for unit in units)
    assert sturdy.price_per_wh == pytest.approx(289.0 / 1341.0, rel=1e-12)
    assert weak.price_per_wh == pytest.approx(199.0 / 1206.0, rel=1e-12)
    assert (sturdy.charge_c / 3600.0, sturdy.energy_j / 3600.0) == pytest.approx((103.4, 1341.0), rel=1e-12)
    assert half.energy_j is None  # its energy was never read
    assert half.price_per_wh is None


def test_no_best_where_none_is_good(units, tmp_path):
    far = read_need(tmp_path, EVENING.replace('"3 h"', '"30 h"').replace('"2 h"', '"20 h"'))
    found = compare(units, far, draws=DRAWS)
    assert found.best is None
    assert all(choice.answer.verdict not in GOOD for choice in found.choices)


def test_best_is_the_first_row_where_it_is_good(units, evening):
    found = compare(units, evening, draws=DRAWS)
    assert found.best is found.choices[0]
    assert found.best.answer.verdict in GOOD


def test_prices_in_two_currencies_order_nothing(units, evening):
    """Forty yen are no more than one dollar: then the one that lasts longer comes first."""
    longer = replace(scaled_unit(units[0], 1.5), name="Longer (invented)", price=400.0, currency="JPY")
    shorter = replace(units[0], price=1.0, currency="USD")
    found = compare([shorter, longer], evening, draws=DRAWS)
    assert [choice.name for choice in found.choices] == [longer.name, shorter.name]
    told = " ".join(compare_text(found).split())
    assert "then the longer." in told and "so nothing is ordered by price" in told
    same = compare([shorter, replace(longer, currency="USD")], evening, draws=DRAWS)
    assert [choice.name for choice in same.choices] == [shorter.name, longer.name]
    assert "then the lower price of a measured watt-hour." in " ".join(compare_text(same).split())


def test_a_dearer_heavier_copy_is_beaten_by_the_original_and_by_nothing_it_beats(units, evening):
    dear = replace(units[0], name="Dearer copy (invented)", price=400.0, mass_kg=12.0)
    rows = {choice.name: choice for choice in compare([units[0], dear], evening, draws=DRAWS).choices}
    assert rows[dear.name].dominated_by == (units[0].name,)
    assert rows[units[0].name].dominated_by == ()


def made_up(answer, **changes) -> Choice:
    record = replace(answer.record, **{k: v for k, v in changes.items() if k != "p10_s"})
    runtime = replace(answer.runtime, p10_s=changes.get("p10_s", answer.runtime.p10_s))
    batch = replace(answer.batch, record=record)
    return Choice(replace(answer, record=record, batch=batch, runtime=runtime), None, None, None)


def test_what_is_known_of_one_only_or_priced_in_two_currencies_is_not_compared(units, evening):
    answer = assess(units[0], evening, draws=DRAWS)
    plain = made_up(answer)
    assert dominates(plain, made_up(answer, price=300.0))
    assert not dominates(plain, plain)
    assert not dominates(plain, made_up(answer, price=None))
    assert not dominates(made_up(answer, price=None), plain)
    assert not dominates(plain, made_up(answer, price=300.0, currency="EUR"))
    assert not dominates(plain, made_up(answer, price=300.0, p10_s=math.inf))


def test_chances_of_outlasting_are_complementary_and_even_against_oneself(units, evening):
    found = compare(units, evening, draws=DRAWS)
    assert np.allclose(found.outlasts + found.outlasts.T, 1.0)
    place = [choice.name for choice in found.choices]
    sturdy, half = place.index(units[0].name), place.index(units[2].name)
    assert found.outlasts[sturdy, half] == 1.0  # twice the charge is beyond every draw


def test_two_units_of_one_kind_outlast_each_other_half_the_time(units, evening):
    """Another tag, so another unit: the loads are shared, the units are not.

    With 2,000 draws the standard error of a share of one half is 1.1 %; four of them.
    """
    twin = replace(units[0], tag="invented-1b")
    found = compare([units[0], twin], evening, draws=2000)
    assert found.outlasts[0, 1] == pytest.approx(0.5, abs=0.045)
    assert 0.0 < found.outlasts[0, 1] != 0.5


def test_the_cold_discharge_is_not_the_battery_s_best(units):
    assert best_discharge(units[0]).charge_c == pytest.approx(103.4 * 3600.0)
    assert best_discharge(replace(units[0], capacity_tests=())) is None


def test_price_per_delivered_energy_is_of_what_this_outing_gets(units, evening):
    """289 over what the run delivers; a draw of 14 A sags more than the bench's, so it gets no more than was measured."""
    sturdy = next(row for row in compare(units, evening, draws=DRAWS).choices if row.name == units[0].name)
    batch = sturdy.answer.batch
    assert sturdy.delivered_j == batch.run.end_energy_j[0]
    assert sturdy.price_per_delivered_wh == pytest.approx(289.0 / (sturdy.delivered_j / 3600.0), rel=1e-12)
    # 103.4 Ah at the bench's mean 12.97 V; 22 degC and 14 A change it by a few per cent
    assert sturdy.delivered_j / 3600.0 == pytest.approx(1341.0, rel=0.05)
    assert sturdy.lost_hours is None


def test_the_chance_of_outlasting_is_told_with_the_spread_it_rests_on(units, evening):
    text = " ".join(compare_text(compare(units, evening, draws=DRAWS)).split())
    assert " outlasts " in text
    assert "2.5 % in charge" in text


def test_a_bank_of_named_units_is_judged_as_a_fit_judges_it(units, evening):
    sturdy, weak, half = units
    bank = (sturdy, half)
    pair = replace(evening, bank=Bank(parallel=2))
    found = compare([sturdy, weak], pair, draws=DRAWS, units=bank)
    alike = {choice.name: choice for choice in compare([sturdy, weak], pair, draws=DRAWS).choices}
    for choice in found.choices:
        single = assess(choice.answer.record, pair, draws=DRAWS, units=bank)
        assert choice.answer.runtime == single.runtime
        assert choice.answer.verdict == single.verdict
        assert choice.answer.runtime != alike[choice.name].answer.runtime
    assert found.outlasts[0, 1] == 0.5  # one and the same bank, drawn alike: every draw is a tie


def test_a_bank_of_named_units_runs_the_same_whichever_of_them_is_asked_about(units, tmp_path):
    sturdy, _, half = units
    hard = replace(read_need(tmp_path, AGAINST_THE_STREAM), bank=Bank(parallel=2))
    found = compare([sturdy, half], hard, draws=DRAWS, units=(sturdy, half))
    assert found.choices[0].answer.runtime == found.choices[1].answer.runtime


def test_what_a_bank_weighs_and_costs_is_all_its_units(units, evening):
    sturdy, weak, half = (replace(unit, mass_kg=mass) for unit, mass in zip(units, (11.0, 10.0, 6.0), strict=True))
    alone = compare([weak], evening, draws=DRAWS).choices[0]
    pair = replace(evening, bank=Bank(parallel=2))
    alike = compare([weak], pair, draws=DRAWS)
    mixed = compare([weak], pair, draws=DRAWS, units=(sturdy, half)).choices[0]
    assert (alone.mass_kg, alone.price) == (10.0, 199.0)
    assert (alike.choices[0].mass_kg, alike.choices[0].price) == (20.0, 398.0)
    assert (mixed.mass_kg, mixed.price) == (17.0, 409.0)
    assert "of the bank's 2 units together" in " ".join(compare_text(alike).split())
    # two units give about twice what one gives, at twice the price
    assert alike.choices[0].price_per_delivered_wh == pytest.approx(alone.price_per_delivered_wh, rel=0.02)
    other = replace(half, currency="EUR")
    assert compare([weak], pair, draws=DRAWS, units=(sturdy, other)).choices[0].price is None
