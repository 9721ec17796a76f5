"""What a bank that is not proven asks for settles it: the hold that is named, put into the record. Invented units."""

from __future__ import annotations

import pytest

from planner.explain.sentences import sentence
from planner.verdict.assess import assess
from planner.verdict.bench_plan import current_to_show, held, meter_for_current, time_to_show, with_tests
from planner.verdict.check import GOOD, NOT_PROVEN
from tests.verdict.invented_bench import STURDY, read_need, read_unit
from tests.verdict.test_expert_cold_and_bank import PAIR, checks


@pytest.mark.parametrize(
    ("lead", "load", "says_even"),
    [("2.6 mohm", "180 A", True), ("1.2 mohm", "240 A", False), ("2.6 mohm", "240 A", True)],
)
def test_the_hold_a_bank_asks_for_settles_it_on_even_and_on_uneven_leads(tmp_path, lead, load, says_even):
    unit = read_unit(tmp_path, STURDY)
    need = read_need(tmp_path, PAIR.replace("LEAD", lead).replace('"180 A"', f'"{load}"'))
    before = checks(assess(unit, need, draws=20))["bank"]
    assert before.verdict == NOT_PROVEN
    asked = before.settled_by
    assert asked is not None and asked.code == "bank_hold"
    current_a, duration_s = asked.parts["current_a"], asked.parts["duration_s"]
    meter = meter_for_current(unit, current_a, "hold")
    hold = held(current_to_show(current_a, meter, 1.0), time_to_show(duration_s, meter), need.cell_k, meter)
    assert checks(assess(with_tests(unit, (hold,)), need, draws=20))["bank"].verdict in GOOD
    told = sentence(asked)
    assert "a hold of one unit alone" in told
    assert ("Leads of equal length" in told) == says_even


@pytest.mark.parametrize(("pull_s", "others"), [(0, False), (15, True)])
def test_a_hold_that_leaves_other_pulls_open_says_so(tmp_path, pull_s, others):
    # 120 A for ten minutes alone; or begun by 170 A for fifteen seconds, which no test covers
    need = PAIR.replace("LEAD", "1.2 mohm").replace('"180 A"', '"240 A"')
    if pull_s:
        need = need.replace(
            "[bank]", f'[[load]]\nname = "start"\nkind = "current"\ncurrent = "100 A"\n'
            f'use = [{{ start = "0 s", length = "{pull_s} s" }}]\nevidence = "measured"\n[bank]'
        )  # fmt: skip
    asked = checks(assess(read_unit(tmp_path, STURDY), read_need(tmp_path, need), draws=20))["bank"].settled_by
    assert asked is not None
    assert ("ask for a hold of their own" in sentence(asked)) == others
