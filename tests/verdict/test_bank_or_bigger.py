"""One unit, a pair, or a larger one on the same outing. Data invented."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.explain.bank_or_bigger_answer import pair_cautions, ways_json, ways_text
from planner.outing.schema import Bank
from planner.record.scaled import scaled_unit
from planner.verdict.assess import assess
from planner.verdict.bank_or_bigger import bank_or_bigger
from planner.verdict.check import GOOD, WORST_FIRST
from tests.verdict.invented_records import UNIT, need

DRAWS = 40
LARGER = replace(scaled_unit(UNIT, 2.0), name="Invented unit of twice the size")
LONG_DAY = need(30.0, 5.0)


@pytest.fixture(scope="module")
def ways():
    return bank_or_bigger([UNIT, LARGER], LONG_DAY, draws=DRAWS)


def way(ways, name, units):
    return next(one for one in ways if one.answer.record.name == name and one.units == units)


def test_150_ah_are_too_much_for_one_and_not_for_two_or_twice_the_size(ways):
    assert way(ways, UNIT.name, 1).answer.verdict not in GOOD
    assert way(ways, UNIT.name, 2).answer.verdict in GOOD
    assert way(ways, LARGER.name, 1).answer.verdict in GOOD


def test_each_row_is_the_single_answer(ways):
    pair = assess(UNIT, replace(LONG_DAY, bank=Bank(2)), draws=DRAWS)
    assert way(ways, UNIT.name, 2).answer.runtime == pair.runtime
    assert way(ways, LARGER.name, 1).answer.runtime == assess(LARGER, LONG_DAY, draws=DRAWS).runtime


def test_the_best_verdict_stands_first_and_mass_and_price_alone_are_doubled(ways):
    ranks = [WORST_FIRST.index(one.answer.verdict) for one in ways]
    assert ranks == sorted(ranks, reverse=True)
    assert way(ways, UNIT.name, 2).mass_kg == 2.0 * UNIT.mass_kg
    assert way(ways, UNIT.name, 2).price is None


def test_the_labels_of_a_pair_are_never_added(ways):
    """A pull of 190 A for 30 s: 95 A a unit, which was held for an hour; alone, the survivor opens at 180 A in 11 s.

    So the pair carries it and its survivor does not, whatever two labels of 100 A would add up to.
    """
    pull = replace(need(5.0, 1.0, 190.0, 30.0), questions=("peak_current", "bank"))
    labelled = replace(UNIT, claims=replace(UNIT.claims, continuous_current_a=1000.0))
    found = bank_or_bigger([labelled], pull, draws=DRAWS)
    row = next(row for row in ways_json(found)["rows"] if row["units"] == 2)
    assert row["one_lost"] == "does not fit"
    assert row["verdict"] == "fits with limits"
    assert [r["verdict"] for r in ways_json(bank_or_bigger([UNIT], pull, draws=DRAWS))["rows"]] == [
        r["verdict"] for r in ways_json(found)["rows"]
    ]


def test_a_pair_brings_cautions_that_one_unit_has_not(ways):
    told = pair_cautions(ways)
    assert any("equal length" in text for text in told)
    assert any("not the sum of two labels" in text for text in told)
    assert pair_cautions([one for one in ways if one.units == 1]) == []
    assert "Before you connect two" in ways_text(ways)


def test_an_outing_with_a_bank_of_its_own_is_left_alone():
    assert bank_or_bigger([UNIT], replace(LONG_DAY, bank=Bank(2)), draws=DRAWS) == ()
    assert "a bank of its own" in ways_text(())
