"""Which bench test settles an answer. Every proposal is pasted into the file and read back. Invented units."""

from __future__ import annotations

import functools
from pathlib import Path

import pytest

from planner.outing.schema import QUESTIONS, Outing
from planner.verdict.assess import assess
from planner.verdict.bench_plan import toml_of
from planner.verdict.check import DOES_NOT_FIT, GOOD, NOT_PROVEN
from planner.verdict.next_test import NextTests, next_tests
from planner.verdict.proposal import Proposal, counted
from planner.winter.schema import Climate
from tests.verdict import cold_places
from tests.verdict.invented_bench import (
    AGAINST_THE_STREAM,
    HALF_SIZE,
    LOGGED,
    LOGGED_OUTING,
    SHORT_PULL_ONLY,
    STURDY,
    WEAK_LEADS,
    WINCH,
    WINCH_PULLS,
    read_need,
    read_unit,
    write_log,
)

DRAWS = 100
TERMINALS = '[[terminal_test]]\ncurrent = "100 A"\nambient = "25 degC"\nreadings = [["15 min", "53 degC"]]\n'
TESTED_IDS = ("surge", "hold", "capacity", "cold_capacity", "terminal", "cold_charge", "cold_charge_warming", "buyer_log",
              "joint_survey", "parallel_pair", "trip_recovery", "second_unit", "sleep_current", "inrush")  # fmt: skip


def steady(
    current: str, length: str, more: str = "", ambient: str = "25 degC", evidence: str = "measured"
) -> str:
    return f"""
format = 1
name = "Steady (invented)"
duration = "{length}"
ambient = "{ambient}"
{more}
[[load]]
name = "load"
kind = "current"
current = "{current}"
evidence = "{evidence}"
use = [{{ start = "0 s", length = "{length}" }}]
"""


def asked(folder: Path, unit: str, outing: Outing, climate: Climate | None = None) -> NextTests:
    return next_tests(read_unit(folder, unit), outing, climate, DRAWS)


def proposed(found: NextTests) -> dict[str, Proposal]:
    return {one.id: one for one in found.tests}


def pointless(found: NextTests) -> dict[str, str]:
    return {one.id: one.reason.code for one in found.pointless}


def assert_pasting_keeps_the_promise(folder: Path, unit: str, found: NextTests) -> None:
    """Each record, pasted at the file's end and read back, makes good what its proposal names; each id told once."""
    assert sorted([one.id for one in found.tests] + [one.id for one in found.pointless]) == sorted(TESTED_IDS)
    base = found.base
    before = counted(base)
    for one in found.tests:
        if not one.tests:
            continue
        record = read_unit(folder, unit + "\n" + toml_of(one.tests), "pasted.toml")
        after = assess(record, base.outing, base.climate, base.draws, base.seed)
        assert one.changes
        for name in one.changes:
            assert before[name] not in GOOD
            assert counted(after)[name] in GOOD
        assert after.verdict == one.passed


def winch(folder: Path, pulls=WINCH_PULLS) -> Outing:
    write_log(folder / "winch.csv", pulls)
    return read_need(folder, WINCH)


def test_a_winch_between_two_tested_points_asks_for_a_surge(tmp_path):
    found = asked(tmp_path, STURDY, winch(tmp_path))
    surge = proposed(found)["surge"]
    # hand calculation: (170 A + 0.5 A) / 0.98 = 174.0 A, on fives 175 A; 15 s + 1 s + 0.5 s, on tens 20 s
    assert (surge.current_a, surge.duration_s, surge.changes) == (175.0, 20.0, ("peak_current",))
    assert surge.failed == NOT_PROVEN
    assert surge.risk == "medium"  # the unit opened at 180 A after 11 s
    assert pointless(found)["hold"] == "no_open_hold"
    assert_pasting_keeps_the_promise(tmp_path, STURDY, found)


def test_a_pull_under_a_tested_one_asks_for_nothing(tmp_path):
    found = asked(tmp_path, STURDY, winch(tmp_path, SHORT_PULL_ONLY))
    assert found.tests == ()
    assert pointless(found)["surge"] == pointless(found)["hold"] == "need_demonstrated"


def test_a_need_condemned_by_a_trip_asks_for_no_pass(tmp_path):
    found = asked(tmp_path, WEAK_LEADS, read_need(tmp_path, AGAINST_THE_STREAM))
    assert found.base.verdict == DOES_NOT_FIT
    assert pointless(found)["hold"] == pointless(found)["surge"] == "need_condemned"
    assert found.tests == ()
    assert sorted(pointless(found)) == sorted(TESTED_IDS)


def test_a_long_pull_within_the_meters_error_asks_for_a_hold(tmp_path):
    found = asked(tmp_path, STURDY, read_need(tmp_path, AGAINST_THE_STREAM))
    hold = proposed(found)["hold"]
    # hand calculation: (100 + 0.5) / 0.98 = 102.6, on fives 105 A; 1200 s + 1.5 s, on minutes 1260 s
    assert (hold.current_a, hold.duration_s) == (105.0, 1260.0)
    assert hold.changes == ("peak_current",)
    assert pointless(found)["surge"] == "no_open_surge"
    assert_pasting_keeps_the_promise(tmp_path, STURDY, found)


def test_a_reading_changed_by_its_meters_error_changes_the_proposal(tmp_path):
    # 100 A less 0.5 % does not show 100 A, 100.6 A less 0.5 % does: 100.097 A
    outing = read_need(tmp_path, AGAINST_THE_STREAM)
    read_as_more = STURDY.replace('current = "100 A"\nduration = "3632 s"\ncharge = "100.9 Ah"',
                                  'current = "100.6 A"\nduration = "3632 s"\ncharge = "101.5 Ah"')  # fmt: skip
    assert "hold" in proposed(asked(tmp_path, STURDY, outing))
    assert pointless(asked(tmp_path, read_as_more, outing))["hold"] == "need_demonstrated"


def test_a_log_with_two_kinds_of_pull_asks_for_both_tests_together(tmp_path):
    write_log(tmp_path / "logged.csv", LOGGED)
    text = HALF_SIZE + TERMINALS.replace("100 A", "50 A")
    found = asked(tmp_path, text, read_need(tmp_path, LOGGED_OUTING))
    tests = proposed(found)
    # hand calculation: (118 + 0.5) / 0.98 = 120.9 A on fives, 4 + 1.5 s; (70 + 0.5) / 0.98 = 71.9 A, 51 + 1.5 s
    assert (tests["surge"].current_a, tests["surge"].duration_s) == (125.0, 6.0)
    assert (tests["hold"].current_a, tests["hold"].duration_s) == (75.0, 60.0)
    assert tests["hold"].together_with == ("surge",)
    assert tests["surge"].together_with == ("hold",)
    assert tests["surge"].points == ((118.0, 4.0),)
    assert_pasting_keeps_the_promise(tmp_path, text, found)
    only_hold = read_unit(tmp_path, text + "\n" + toml_of(tests["hold"].tests[:1]), "half.toml")
    assert counted(assess(only_hold, found.base.outing, draws=DRAWS))["peak_current"] == NOT_PROVEN


def test_heat_that_nobody_read_asks_for_a_terminal_test(tmp_path):
    # 60 A for an hour: within the 100 A discharge, and more than half of what was carried for 15 min
    unread = STURDY.replace(TERMINALS, "")
    assert unread != STURDY
    outing = read_need(tmp_path, steady("60 A", "1 h"))
    found = asked(tmp_path, unread, outing)
    terminal = proposed(found)["terminal"]
    assert (terminal.current_a, terminal.changes) == (60.0, ("terminal_heat",))
    assert terminal.passed in GOOD
    assert terminal.failed == DOES_NOT_FIT
    assert_pasting_keeps_the_promise(tmp_path, unread, found)
    assert pointless(asked(tmp_path, STURDY, outing))["terminal"] == "heat_is_shown"


def test_terminals_that_are_too_hot_by_any_reading_are_not_read_again(tmp_path):
    # 41 K in 15 min at 80 A: at 78 A without end far above 75 degC in air of 38 degC
    found = asked(tmp_path, WEAK_LEADS, read_need(tmp_path, steady("77 A", "25 min", ambient="38 degC")))
    assert counted(found.base)["terminal_heat"] == DOES_NOT_FIT
    assert pointless(found)["terminal"] == "too_hot_by_any_reading"


ONE_RATE = HALF_SIZE.replace(HALF_SIZE[HALF_SIZE.index('[[capacity_test]]\ncurrent = "50 A"'):HALF_SIZE.index("[[current_test]]")], "")  # fmt: skip


def test_a_draw_above_every_tested_rate_asks_for_a_capacity_at_it(tmp_path):
    found = asked(tmp_path, ONE_RATE, read_need(tmp_path, steady("30 A", "40 min")))
    capacity = proposed(found)["capacity"]
    # hand calculation: 30 A / 0.995 = 30.15 A, on whole amperes 31 A
    assert capacity.current_a == 31.0
    assert {"energy", "peak_current"} <= set(capacity.changes)
    assert_pasting_keeps_the_promise(tmp_path, ONE_RATE, found)


def test_a_draw_at_a_tested_rate_asks_for_no_capacity(tmp_path):
    found = asked(tmp_path, HALF_SIZE, read_need(tmp_path, steady("20 A", "1 h")))
    assert pointless(found)["capacity"] == "charge_is_shown"


def test_an_outing_far_beyond_the_charge_asks_for_no_capacity(tmp_path):
    found = asked(tmp_path, HALF_SIZE, read_need(tmp_path, steady("10 A", "9 h")))
    assert found.base.verdict == DOES_NOT_FIT
    assert pointless(found)["capacity"] == "no_outcome_helps"


def test_cells_colder_than_any_test_ask_for_a_cold_capacity(tmp_path):
    unread = STURDY.replace('charge = "86.1 Ah"\ncutoff_voltage = "10.0 V"\ntemperature = "-10 degC"',
                            'charge = "103.4 Ah"\ncutoff_voltage = "10.0 V"\ntemperature = "25 degC"')  # fmt: skip
    assert unread != STURDY
    found = asked(tmp_path, unread, read_need(tmp_path, steady("8 A", "10.6 h", ambient="-12 degC")))
    assert counted(found.base)["energy"] == NOT_PROVEN
    cold = proposed(found)["cold_capacity"]
    assert cold.cell_k == pytest.approx(273.15 - 12.0)
    assert "energy" in cold.changes
    assert pointless(found)["capacity"] == "warm_is_known"
    assert_pasting_keeps_the_promise(tmp_path, unread, found)


def test_cells_as_cold_as_a_test_ask_for_no_cold_capacity(tmp_path):
    found = asked(tmp_path, STURDY, read_need(tmp_path, steady("8 A", "5 h", ambient="-8 degC")))
    assert "cold_capacity" in pointless(found)


EVENING = steady("2 A", "4 h")


def test_a_unit_never_tried_cold_asks_for_both_legs_where_it_may_freeze(tmp_path):
    found = asked(tmp_path, STURDY, read_need(tmp_path, EVENING), cold_places.frost_now_and_then(tmp_path))
    assert counted(found.base)["winter_charging"] == NOT_PROVEN
    both = proposed(found)["cold_charge"]
    assert both.changes == ("winter_charging",)
    assert both.failed not in GOOD
    assert pointless(found)["cold_charge_warming"] == "cooling_leg_needed"
    assert_pasting_keeps_the_promise(tmp_path, STURDY, found)


def test_a_cold_climate_asks_for_the_test_that_tells_harm_from_darkness(tmp_path):
    # three months of frost: refused, 6 Ah a day empty it in 17 days; let in, the cells are charged far too cold
    found = asked(tmp_path, STURDY, read_need(tmp_path, EVENING), cold_places.frost_for_months(tmp_path))
    assert counted(found.base)["winter_charging"] == NOT_PROVEN
    both = proposed(found)["cold_charge"]
    assert both.changes == ("cold_charging",)
    assert both.passed == DOES_NOT_FIT
    record = read_unit(tmp_path, STURDY + "\n" + toml_of(both.tests), "pasted.toml")
    after = assess(record, found.base.outing, found.base.climate, DRAWS, found.base.seed)
    assert after.winter is not None and after.winter.outlook.given.exposed_hours[1, 0] == 0.0


COOLING_LEG = """
[[cold_charge_test]]
direction = "cooling"
cell_temperature = "1.5 degC"
charging = "blocked"
soak = "24 h"
instrument = "probe"
[[cold_charge_test]]
direction = "cooling"
cell_temperature = "2.5 degC"
charging = "accepted"
soak = "24 h"
instrument = "probe"
"""


def test_a_known_cooling_leg_asks_for_the_warming_leg_alone(tmp_path):
    text = STURDY + COOLING_LEG
    found = asked(tmp_path, text, read_need(tmp_path, EVENING), cold_places.cool_for_weeks(tmp_path))
    assert counted(found.base)["winter_charging"] == NOT_PROVEN
    assert proposed(found)["cold_charge_warming"].changes == ("winter_charging",)
    assert pointless(found)["cold_charge"] == "warming_leg_is_enough"
    assert_pasting_keeps_the_promise(tmp_path, text, found)


def test_no_cold_hour_asks_for_no_cold_charge(tmp_path):
    found = asked(tmp_path, STURDY, read_need(tmp_path, EVENING), cold_places.never_cold(tmp_path))
    assert pointless(found)["cold_charge"] == pointless(found)["cold_charge_warming"] == "never_cold"
    without = asked(tmp_path, STURDY, read_need(tmp_path, EVENING))
    assert pointless(without)["cold_charge"] == "no_climate"


def test_a_claimed_load_asks_for_the_buyers_log_and_not_for_the_bench(tmp_path):
    found = asked(tmp_path, STURDY, read_need(tmp_path, steady("20 A", "1 h", evidence="claimed")))
    log = proposed(found)["buyer_log"]
    assert log.file == "outing"
    assert log.tests == ()
    assert "energy" in log.changes
    assert [one.id for one in found.tests] == ["buyer_log"]


def test_a_question_the_buyer_does_not_ask_proposes_nothing(tmp_path):
    unread = STURDY.replace(TERMINALS, "")
    found = asked(tmp_path, unread, read_need(tmp_path, steady("60 A", "1 h", more='questions = ["energy"]')))
    assert pointless(found)["terminal"] == "heat_is_shown"
    assert found.tests == ()


def test_tests_stand_by_checks_made_good_then_by_bench_time(tmp_path):
    found = asked(tmp_path, ONE_RATE, read_need(tmp_path, steady("30 A", "40 min")))
    ranks = [(-sum(name in QUESTIONS for name in one.changes), one.minutes) for one in found.tests]
    assert len(ranks) > 1
    assert ranks == sorted(ranks)


def test_the_same_question_gives_the_same_tests(tmp_path):
    ask = functools.partial(asked, tmp_path, ONE_RATE, read_need(tmp_path, steady("30 A", "40 min")))
    assert [toml_of(one.tests) for one in ask().tests] == [toml_of(one.tests) for one in ask().tests]
