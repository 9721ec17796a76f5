import tracemalloc
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numba import njit

from planner.winter.ledger import accepted_a, band_table
from planner.winter.outlook import drawn_years, winter_outlook
from planner.winter.schema import DayWindow, GateEnds, GatePair, HeatedHours, Heater
from planner.winter.year import YearInputs, run_year
from tests.winter.invented_year import (
    AH,
    AIR_K,
    CLIMATE,
    IN_WINDOW,
    TESTED,
    UNIT,
    UNTESTED,
    WEATHER,
    ZERO_K,
    J,
)

TOLERANCE_H = 1  # of hours counted apart with a plain loop over the same year


@pytest.fixture(scope="module")
def tested():
    return winter_outlook(CLIMATE, WEATHER, UNIT, TESTED)


@pytest.fixture(scope="module")
def untested():
    return winter_outlook(CLIMATE, WEATHER, UNIT, UNTESTED)


def test_blocked_hours_of_the_invented_year_at_both_ends(tested):
    assert tested.given.hours_offered[0] == 2190
    assert tested.given.hours_blocked[:, 0] == pytest.approx([933, 1160], abs=TOLERANCE_H)
    shares = 100.0 * tested.given.hours_blocked[:, 0] / 2190
    assert shares == pytest.approx([42.6, 53.0], abs=0.05)
    assert tested.given.coldest_cell_k[0] - ZERO_K == pytest.approx(-14.71, abs=0.005)


def test_counting_the_air_below_zero_instead_of_the_cells_gives_another_number():
    # By the formula of the year: 724 h of the window. Air is not cells.
    assert (IN_WINDOW & (AIR_K < ZERO_K)).sum() == pytest.approx(724, abs=TOLERANCE_H)


def test_november_to_march_holds_94_and_78_per_cent_of_the_blocked_hours(tested):
    winter = (J / 24 < 90) | (J / 24 >= 304)
    present = IN_WINDOW[:, np.newaxis]
    shut = present & ~tested.trace.is_open[:, :, 0]
    assert 100.0 * shut[winter].sum(axis=0) / shut.sum(axis=0) == pytest.approx([94, 78], abs=0.5)


def test_charge_lost_is_the_offered_current_in_the_blocked_hours(tested):
    assert tested.given.charge_lost_c / AH == pytest.approx(10.0 * tested.given.hours_blocked)


def test_months_add_up_to_the_year_and_january_is_blocked_throughout(tested):
    totals = tested.given
    assert totals.blocked_m[:, 0, 0].tolist() == [186, 186]
    assert totals.blocked_m.sum(axis=1) == pytest.approx(totals.hours_blocked)
    assert totals.lost_c_m.sum(axis=1) == pytest.approx(totals.charge_lost_c)
    assert totals.offered_m.sum(axis=0) == pytest.approx(totals.hours_offered)


def test_days_dark_with_18_5_ah_a_day_agree_with_a_plain_loop(tested):
    assert tested.given.days_dark[:, 0].tolist() == [plain_days_dark(*pair) for pair in ((-3, 2), (2, 6))]
    assert tested.given.days_dark[:, 0].tolist() == [132, 168]  # the same loop, run once and written down


def plain_days_dark(block, resume):
    """Days with any lack: 10 A from 9 to 15 o'clock, 18.5 Ah a day, no taper, no arrays."""
    decay, cell, charge, is_open, dark = np.exp(-3600.0 * 2.24 / 11200.0), AIR_K[0], 103.4, False, set()
    for hour in range(8760):
        is_open = cell >= resume + ZERO_K or (is_open and cell >= block + ZERO_K)
        net = (10.0 if IN_WINDOW[hour] and is_open else 0.0) - 18.5 / 24.0
        charge = min(103.4, charge + 0.99 * net) if net > 0.0 else charge + net
        if charge < -1e-9:
            dark.add(hour // 24)
            charge = 0.0
        cell = AIR_K[hour] + (cell - AIR_K[hour]) * decay
    return len(dark)


def test_without_a_test_the_ends_are_no_hours_blocked_but_830_exposed_or_1274_blocked(untested):
    totals = untested.given
    assert totals.hours_blocked[:, 0] == pytest.approx([0, 1274], abs=TOLERANCE_H)
    assert totals.exposed_hours[:, 0] == pytest.approx([0, 830], abs=TOLERANCE_H)
    assert 100.0 * totals.hours_blocked[1, 0] / 2190 == pytest.approx(58, abs=0.5)


def test_without_a_test_the_warm_season_still_loses_182_hours_at_the_pessimistic_end(untested):
    warm = (J / 24 >= 105) & (J / 24 < 288)  # days 105 to 287
    shut = IN_WINDOW & ~untested.trace.is_open[:, 1, 0]
    assert shut[warm].sum() == pytest.approx(182, abs=TOLERANCE_H)


def test_a_higher_charge_limit_of_the_maker_counts_more_exposure(untested):
    strict = winter_outlook(CLIMATE, WEATHER, replace(UNIT, charge_min_k=ZERO_K + 5.0), UNTESTED)
    assert strict.given.exposed_hours[1, 0] > untested.given.exposed_hours[1, 0]


def test_the_charge_missed_is_no_more_than_the_charge_lost_and_has_room_in_the_battery(tested):
    totals = tested.given
    assert np.all(totals.charge_missed_c <= totals.charge_lost_c)
    assert np.all(totals.charge_missed_c > 0.0)


def test_an_idle_full_battery_misses_nothing_however_long_it_is_blocked():
    idle = winter_outlook(replace(CLIMATE, use_per_day_c=0.0), WEATHER, UNIT, TESTED)
    assert idle.given.hours_blocked[0, 0] > 0
    assert idle.given.charge_missed_c[:, 0].tolist() == [0.0, 0.0]


def test_an_idle_half_full_battery_misses_its_room_once_not_every_day():
    always_shut = GatePair(ZERO_K + 60.0, ZERO_K + 60.0)
    climate = replace(CLIMATE, use_per_day_c=0.0, start_soc=0.5)
    found = winter_outlook(climate, WEATHER, UNIT, GateEnds(always_shut, always_shut))
    assert found.given.charge_missed_c[:, 0] == pytest.approx(0.5 * UNIT.capacity_c, rel=1e-6)


def test_the_ledger_closes_over_the_year(tested):
    totals = tested.given
    change = totals.taken_c - totals.drawn_c
    start = UNIT.capacity_c
    assert totals.end_charge_c == pytest.approx(start + change, abs=1e-9 * UNIT.capacity_c * 8760)


def test_hours_hot_are_unknown_without_a_limit_and_counted_with_one():
    assert winter_outlook(CLIMATE, WEATHER, UNIT, TESTED).given.hours_hot is None
    limited = winter_outlook(CLIMATE, WEATHER, replace(UNIT, charge_max_k=ZERO_K + 15.0), TESTED)
    hot = limited.trace.cell_k[:, 0, 0] > ZERO_K + 15.0
    assert limited.given.hours_hot[0] == hot.sum() > 0


@njit
def _accepted(cell_k, bands):
    return accepted_a(cell_k, bands)


def test_a_band_of_the_maker_limits_the_current_it_lies_in():
    bands = ((ZERO_K, ZERO_K + 10.0, 5.0), (ZERO_K + 10.0, ZERO_K + 45.0, 50.0))
    cells = np.array([-1.0, 0.0, 5.0, 10.0, 20.0, 50.0]) + ZERO_K
    assert [_accepted(cell_k, band_table(bands)) for cell_k in cells] == [np.inf, 5.0, 5.0, 5.0, 50.0, np.inf]


def test_less_current_in_a_cold_band_leaves_no_more_charge_in_the_battery(tested):
    slow = replace(UNIT, charge_bands=((ZERO_K - 10.0, ZERO_K + 12.0, 0.5),))
    limited = winter_outlook(CLIMATE, WEATHER, slow, TESTED)
    assert np.all(limited.given.unserved_c > tested.given.unserved_c)


def test_a_heater_on_the_charger_opens_hours_a_box_alone_does_not():
    boxed = replace(CLIMATE, conductance_w_per_k=0.55)
    heated = replace(boxed, heater=Heater(60.0, ZERO_K + 7.0, ZERO_K + 9.0))
    alone, helped = (winter_outlook(c, WEATHER, UNIT, TESTED).given for c in (boxed, heated))
    assert alone.hours_blocked[1, 0] >= 1160  # insulation without heat is no charging aid
    assert helped.hours_blocked[1, 0] < 0.3 * alone.hours_blocked[1, 0]
    assert helped.heater_j[1, 0] > 0.0


def test_a_heater_on_the_battery_runs_it_empty_and_then_stops():
    heater = Heater(60.0, ZERO_K + 7.0, ZERO_K + 9.0, "battery")
    climate = replace(CLIMATE, heater=heater, use_per_day_c=0.0, charges=())
    totals = winter_outlook(climate, WEATHER, UNIT, TESTED).given
    assert totals.drawn_c * 12.8 == pytest.approx(totals.heater_j, rel=1e-9)  # 12.8 V, nothing else draws
    assert totals.unserved_c.tolist() == [[0.0], [0.0]]  # a heater that stops is not a use that lacks
    # It stops when an hour of full power, 4.7 Ah, is no longer there.
    assert np.all(totals.end_charge_c < 4.7 * AH)


def test_a_heater_that_never_switches_on_leaves_the_year_as_it_is(tested):
    idle = replace(CLIMATE, heater=Heater(60.0, ZERO_K - 60.0, ZERO_K - 60.0))
    found = winter_outlook(idle, WEATHER, UNIT, TESTED).given
    for name in ("hours_blocked", "exposed_hours", "days_dark", "charge_missed_c", "blocked_m"):
        assert getattr(found, name) == pytest.approx(getattr(tested.given, name), rel=1e-9), name


def test_a_day_indoors_before_charging_opens_the_gate(tested):
    indoors = HeatedHours(DayWindow(6 * 3600.0, 15 * 3600.0), ZERO_K + 15.0)
    found = winter_outlook(replace(CLIMATE, heated=(indoors,)), WEATHER, UNIT, TESTED).given
    # By hand: from -14.7 degC in 15 degC air 6 degC is reached after 1.389 h x ln(29.7/9) = 1.66 h.
    assert found.hours_blocked[:, 0].tolist() == [0, 0]
    assert tested.given.hours_blocked[0, 0] > 900


@settings(max_examples=15)
@example(0.0, 0.5, 0.0, 0.0625, 12.0, 1.0)  # two hours more blocked, and less charge missed in the year
@given(
    st.floats(-6.0, 4.0), st.floats(0.0, 4.0), st.floats(0.0, 4.0), st.floats(0.0, 3.0),
    st.floats(1.0, 40.0), st.floats(0.0, 3.0),
)  # fmt: skip
def test_the_low_end_is_never_above_the_high_end(block, span, up, more, offered, use):
    gates = GateEnds(
        GatePair(ZERO_K + block, ZERO_K + block + span),
        GatePair(ZERO_K + block + up, ZERO_K + block + up + span + more),
    )
    inputs = YearInputs(
        air_k=AIR_K[:, np.newaxis],
        offered_a=np.where(IN_WINDOW, offered, 0.0)[:, np.newaxis],
        use_a=np.full(8760, use),
        unit=UNIT,
        gates=gates,
        conductance_w_per_k=2.24,
        heat_capacity_j_per_k=11200.0,
        start_soc=0.5,
    )
    totals, _ = run_year(inputs)
    rounding_c = 1e-6  # charge sums of 1e6 C in double precision
    for name in (
        "hours_blocked", "charge_lost_c", "exposed_hours", "days_dark", "unserved_c", "charge_missed_c",
    ):  # fmt: skip
        low, high = getattr(totals, name)[:, 0]
        assert low <= high + rounding_c, name
    served = totals.drawn_c + totals.unserved_c
    assert np.all(served <= use * 8760 * 3600.0 * (1.0 + 1e-9))


def test_drawn_years_are_the_same_for_the_same_seed_and_differ_for_another():
    first, again, other = (drawn_years(CLIMATE, WEATHER, UNIT, TESTED, 3, seed) for seed in (1, 1, 2))
    assert np.array_equal(first.hours_blocked, again.hours_blocked)
    assert not np.array_equal(first.hours_blocked, other.hours_blocked)


def test_many_years_at_once_are_the_years_one_by_one():
    air = np.stack([AIR_K, AIR_K - 2.0, AIR_K + 3.0], axis=1)
    offered = np.where(IN_WINDOW, 10.0, 0.0)[:, np.newaxis]
    base = YearInputs(air, offered, np.full(8760, 0.7), UNIT, TESTED, 2.24, 11200.0)
    together, _ = run_year(base)
    for column in range(3):
        alone, _ = run_year(replace(base, air_k=air[:, column : column + 1]))
        for name in ("hours_blocked", "days_dark", "exposed_hours", "unserved_c"):
            found = getattr(together, name)[:, column]
            assert found == pytest.approx(getattr(alone, name)[:, 0], rel=1e-12), name


def test_memory_does_not_grow_with_the_number_of_drawn_years():
    peaks = []
    for draws in (200, 600):  # one block, and three
        tracemalloc.start()
        drawn_years(CLIMATE, WEATHER, UNIT, TESTED, draws)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] < 1.1 * peaks[0]  # the totals themselves are a few kB a year


def test_percentiles_are_taken_over_the_years():
    drawn = drawn_years(CLIMATE, WEATHER, UNIT, TESTED, 20)
    found = drawn.percentile(50)
    assert found.years == 1
    assert found.hours_blocked[0, 0] == np.median(drawn.hours_blocked[0])
    assert found.hours_hot is None
