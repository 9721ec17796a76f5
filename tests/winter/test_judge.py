from dataclasses import replace

import pytest

from planner.winter.judge import (
    BLOCKED,
    DARK,
    DARK_MAYBE,
    EXPOSED_MAYBE,
    EXPOSED_TESTED,
    FREE,
    NO_CHARGE_COLD,
    NO_CHARGE_DARK,
    NO_CHARGE_REFUSED,
    NO_CHARGE_WARM,
    STATE_CHARGER,
    GateEvidence,
    judge_winter,
)
from planner.winter.outlook import winter_outlook
from tests.winter.invented_year import AH, CLIMATE, TESTED, UNIT, UNTESTED, WEATHER, ends

KNOWN = GateEvidence(cooling_known=True, warming_known=True)
NOTHING = GateEvidence(cooling_known=False, warming_known=False)


def judged(gates=TESTED, evidence=KNOWN, climate=CLIMATE, unit=UNIT):
    return judge_winter(winter_outlook(climate, WEATHER, unit, gates).given, evidence)


def test_a_cold_year_with_a_tested_gate_does_not_fit_when_it_runs_dark_at_both_ends():
    found = judged()
    assert (found.verdict, found.reason, found.settled_by) == ("does not fit", DARK, None)
    assert found.months_free == (6, 7, 8)
    assert found.months_limited == (1, 2, 3, 4, 5, 9, 10, 11, 12)


def test_without_a_test_cold_charging_hours_leave_it_not_proven():
    found = judged(UNTESTED, NOTHING)
    assert (found.verdict, found.reason, found.settled_by) == ("not proven", EXPOSED_MAYBE, "cold_charge")


def test_a_gate_shown_to_charge_below_the_limit_does_not_fit():
    charging_cold = ends((-12.0, -9.0), (-8.0, -5.0))
    found = judged(charging_cold, replace(KNOWN, accepted_below_limit=True))
    assert (found.verdict, found.reason) == ("does not fit", EXPOSED_TESTED)


def test_a_gate_that_may_charge_below_the_limit_is_not_proven_although_it_never_runs_dark():
    wide = ends((-12.0, -9.0), (2.0, 6.0))
    found = judged(wide, climate=replace(CLIMATE, use_per_day_c=0.0))
    assert (found.verdict, found.reason) == ("not proven", EXPOSED_MAYBE)


def test_dark_days_at_the_pessimistic_end_only_ask_for_the_missing_leg():
    # Use small enough that the shorter blocked season is bridged and the longer one is not.
    thrifty = replace(CLIMATE, use_per_day_c=1.1 * AH)
    found = judged(evidence=GateEvidence(True, False), climate=thrifty)
    assert (found.verdict, found.reason) == ("not proven", DARK_MAYBE)
    assert found.settled_by == "cold_charge_warming"


def test_blocked_hours_without_dark_days_fit_with_limits():
    found = judged(climate=replace(CLIMATE, use_per_day_c=0.1 * AH))
    assert (found.verdict, found.reason) == ("fits with limits", BLOCKED)
    assert 1 in found.months_limited


def test_nothing_blocked_and_nothing_dark_fits():
    open_gate = ends((-30.0, -30.0), (-29.0, -29.0))
    climate = replace(CLIMATE, use_per_day_c=0.0)
    never_cold = replace(UNIT, charge_min_k=200.0)
    found = judged(open_gate, climate=climate, unit=never_cold)
    assert (found.verdict, found.reason) == ("fits", FREE)


def without_charger(evidence, use_c=0.0):
    return judged(evidence=evidence, climate=replace(CLIMATE, use_per_day_c=use_c, charges=()))


@pytest.mark.parametrize("evidence", [NOTHING, KNOWN, replace(KNOWN, accepted_below_limit=True)])
def test_a_cold_year_without_a_charger_is_no_pass_and_asks_for_the_charger(evidence):
    found = without_charger(evidence)
    assert (found.verdict, found.reason, found.settled_by) == ("not proven", NO_CHARGE_COLD, STATE_CHARGER)


def test_a_unit_seen_to_refuse_charge_wherever_it_is_too_cold_fits_with_limits_without_a_charger():
    found = without_charger(replace(KNOWN, refused_below_limit=True))
    assert (found.verdict, found.reason, found.settled_by) == ("fits with limits", NO_CHARGE_REFUSED, None)
    both = without_charger(replace(KNOWN, refused_below_limit=True, accepted_below_limit=True))
    assert both.verdict == "not proven"


def test_cells_that_stay_warm_need_no_charger_to_be_judged():
    coldest = winter_outlook(CLIMATE, WEATHER, UNIT, TESTED).given.coldest_cell_k[0]
    found = without_charger(replace(NOTHING, open_above_k=coldest))
    assert (found.verdict, found.reason) == ("fits", NO_CHARGE_WARM)
    assert without_charger(replace(NOTHING, open_above_k=coldest + 0.1)).verdict == "not proven"


def test_a_use_that_empties_it_without_a_charger_asks_for_the_charger():
    warm_and_refusing = GateEvidence(True, True, refused_below_limit=True, open_above_k=0.0)
    found = without_charger(warm_and_refusing, use_c=5.0 * AH)
    assert (found.verdict, found.reason, found.settled_by) == ("not proven", NO_CHARGE_DARK, STATE_CHARGER)
