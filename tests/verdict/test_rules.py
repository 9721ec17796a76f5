"""Each check by its rule: bands of temperature and charge, rates, reserve, heat, inverter, series. Sizes of the
rules are common practice, no source; the arithmetic is hand calculation.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.outing.schema import Bank, GetHome, Load, Outing, Use, Wiring
from planner.record.schema import Claims, Record
from planner.verdict.assess import Assessment, assess
from planner.verdict.check import Check, overall, weakest, worst
from tests.verdict.invented_records import AH, UNIT, WARM_K, discharge, hold, need

ONE_TEMPERATURE = replace(UNIT, capacity_tests=UNIT.capacity_tests[:2])


def judged(record: Record, outing: Outing) -> tuple[Assessment, dict[str, Check]]:
    found = assess(record, outing, draws=80)
    return found, {check.id: check for check in found.checks}


# --- energy -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("celsius", "code"), [(10.0, "energy_fits"), (25.0, "energy_fits"), (40.0, "energy_fits"),
                                               (9.0, "cold_covered"), (-20.0, "cold_covered")])  # fmt: skip
def test_energy_speaks_from_15_k_below_its_test_to_40_degc_and_beyond_only_by_the_cold_prior(celsius, code):
    check = judged(ONE_TEMPERATURE, need(5.0, 2.0, air_k=273.15 + celsius))[1]["energy"]
    assert (check.verdict, check.reason.code) == ("fits", code)


def test_a_colder_test_widens_the_band_down_from_its_own_temperature():
    assert judged(UNIT, need(5.0, 2.0, air_k=248.15))[1]["energy"].reason.code == "energy_fits"  # -10 less 15 degC
    assert judged(UNIT, need(5.0, 2.0, air_k=247.0))[1]["energy"].reason.code == "cold_not_proven"


def test_deep_cold_is_shown_by_a_test_in_it_alone_whatever_room_the_assumed_loss_leaves():
    # 10 Ah of 101.5 at -21 degC; a protection may refuse to discharge there, and no sag of the cells tells
    checks = judged(ONE_TEMPERATURE, need(5.0, 2.0, air_k=252.15))[1]
    assert (checks["energy"].verdict, checks["energy"].reason.code) == ("not proven", "cold_not_proven")
    assert checks["peak_current"].verdict == "not proven"
    tested = replace(ONE_TEMPERATURE, capacity_tests=(*ONE_TEMPERATURE.capacity_tests, discharge(50.0, 80.0, 9, 243.15)))
    checks = judged(tested, need(5.0, 2.0, air_k=252.15))[1]
    assert (checks["energy"].verdict, checks["peak_current"].verdict) == ("fits", "fits")


def test_cold_and_neither_covered_by_the_prior_nor_beyond_the_warm_charge_is_not_proven():
    # 95 Ah of 101.5 measured warm, cells at -15 degC
    check = judged(ONE_TEMPERATURE, need(19.0, 5.0, air_k=258.15))[1]["energy"]
    assert (check.verdict, check.reason.code) == ("not proven", "cold_not_proven")
    assert check.settled_by is not None and check.settled_by.code == "cold_capacity"


def test_cold_and_more_than_was_measured_warm_does_not_fit():
    check = judged(ONE_TEMPERATURE, need(20.0, 5.5, air_k=258.15))[1]["energy"]
    assert (check.verdict, check.reason.code) == ("does not fit", "cold_beyond_warm")


def test_a_rate_above_every_discharge_and_long_hold_is_handbook_and_so_not_proven():
    check = judged(ONE_TEMPERATURE, need(120.0, 0.3))[1]["energy"]
    assert (check.verdict, check.evidence, check.reason.code) == ("not proven", "handbook", "beyond_rate")
    assert check.settled_by is not None and check.settled_by.code == "capacity_at"


@pytest.mark.parametrize(("seconds", "code"), [(900.0, "energy_fits"), (899.0, "beyond_rate")])
def test_a_hold_of_a_quarter_of_an_hour_shows_that_the_charge_can_be_had_at_its_current(seconds, code):
    record = replace(ONE_TEMPERATURE, current_tests=(*UNIT.current_tests, hold(125.0, seconds, 5)))
    assert judged(record, need(120.0, 0.3))[1]["energy"].reason.code == code


def test_more_than_the_charge_measured_does_not_fit():
    check = judged(UNIT, need(25.0, 5.0, air_k=WARM_K))[1]["energy"]
    assert (check.verdict, check.evidence) == ("does not fit", "derived")


def test_a_close_call_fits_with_the_pessimistic_charge_and_clock_as_its_limit():
    found, checks = judged(UNIT, need(20.0, 4.8, air_k=WARM_K))
    check = checks["energy"]
    assert check.verdict == "fits with limits"
    assert 0.5 < found.covered.completes < 0.9
    assert check.limit is not None
    assert check.limit.parts["charge_c"] == found.covered.usable_p10_c
    assert check.limit.parts["time_s"] < found.outing.duration_s
    assert check.capability is not None and check.capability_centre is not None and check.margin is not None
    assert check.capability.value_si < check.capability_centre.value_si
    assert check.margin.value_si == pytest.approx(check.capability.value_si - check.need.value_si)


@pytest.mark.parametrize(("evidence", "verdict"), [("measured", "fits"), ("logged", "fits"), ("stated", "fits"),
                                                   ("handbook", "fits"), ("claimed", "not proven")])  # fmt: skip
def test_a_claimed_load_decides_nothing(evidence, verdict):
    checks = judged(UNIT, need(5.0, 2.0, evidence=evidence))[1]
    for name in ("energy", "peak_current", "terminal_heat"):
        assert checks[name].verdict == verdict, name


def test_the_weakest_evidence_is_told():
    assert judged(UNIT, need(5.0, 2.0, evidence="stated"))[1]["energy"].evidence == "stated"
    assert judged(UNIT, need(5.0, 2.0, evidence="measured"))[1]["energy"].evidence == "derived"


def test_without_a_full_discharge_the_energy_is_unknown_whatever_the_label_says():
    bare = replace(UNIT, capacity_tests=(), claims=Claims(capacity_c=200.0 * AH))
    check = judged(bare, need(2.0, 1.0))[1]["energy"]
    assert (check.verdict, check.evidence) == ("not proven", "claimed")
    assert check.capability is None


# --- reserve ------------------------------------------------------------------------------------------


def test_a_reserve_that_the_centre_does_not_cover_fits_with_a_turn_back():
    home = replace(need(18.0, 4.5, air_k=WARM_K), get_home=GetHome(7200.0, 1.0, 12.0, 1.25))  # 2 h x 12 A x 1.25: 30 Ah
    found, checks = judged(UNIT, home)
    check = checks["reserve"]
    assert check.verdict == "fits with limits"
    assert check.limit is not None and check.limit.code == "turn_back"
    assert check.limit.parts["charge_c"] == pytest.approx(found.covered.usable_p10_c - 30.0 * AH)
    assert check.need is not None and check.need.value_si == pytest.approx((81.0 + 30.0) * AH)


def test_a_reserve_of_a_fraction_is_of_the_usable_charge():
    found, checks = judged(UNIT, replace(need(10.0, 3.0, air_k=WARM_K), reserve_fraction=0.2))
    check = checks["reserve"]
    assert check.verdict == "fits"
    assert check.reason.parts["reserve_c"] == pytest.approx(0.2 * found.covered.usable_c)


def test_a_way_home_longer_than_the_battery_does_not_fit():
    home = replace(need(1.0, 1.0), get_home=GetHome(36000.0, 1.0, 12.0, 1.0))  # 120 Ah
    assert judged(UNIT, home)[1]["reserve"].verdict == "does not fit"


def test_a_reserve_beside_a_load_too_small_to_empty_the_battery_is_of_the_charge_it_holds():
    found, checks = judged(UNIT, replace(need(0.001, 2.0, air_k=WARM_K), reserve_fraction=0.2))
    check = checks["reserve"]
    assert found.covered.usable_c == float("inf")  # 100 Ah at 1 mA: longer than is followed
    assert check.verdict == "fits"
    assert check.capability_centre is not None
    # at rest a little more than the 101.5 Ah of its slow discharge, and no more than the curve's whole charge
    assert 101.0 * AH < check.capability_centre.value_si <= found.fitted.charge_c * (1.0 + 1e-9)
    assert check.reason.parts["reserve_c"] == pytest.approx(0.2 * check.capability_centre.value_si, rel=1e-9)


def test_a_way_home_longer_than_the_battery_does_not_fit_beside_a_load_of_next_to_nothing_either():
    home = replace(need(0.001, 1.0), get_home=GetHome(36000.0, 1.0, 12.0, 1.0))  # 120 Ah
    assert judged(UNIT, home)[1]["reserve"].verdict == "does not fit"


def test_a_reserve_rests_on_the_energy():
    bare = replace(UNIT, capacity_tests=())
    assert judged(bare, replace(need(2.0, 1.0), reserve_fraction=0.2))[1]["reserve"].verdict == "not proven"


# --- peak current -------------------------------------------------------------------------------------

ONE_PULL = replace(UNIT, capacity_tests=UNIT.capacity_tests[:1], current_tests=UNIT.current_tests[:1])


@pytest.mark.parametrize(("start_soc", "verdict"), [(1.0, "fits"), (0.25, "fits"), (0.19, "not proven")])
def test_a_hold_speaks_from_a_fifth_of_the_charge_up(start_soc, verdict):
    outing = Outing("a pull", 600.0, WARM_K, WARM_K, (
        Load("pull", "current", (Use(10.0, 5.0),), "measured", 0.02, current_a=140.0),), start_soc=start_soc)  # fmt: skip
    assert judged(ONE_PULL, outing)[1]["peak_current"].verdict == verdict


def test_below_that_only_a_full_discharge_at_that_current_speaks():
    outing = Outing("low", 600.0, WARM_K, WARM_K, (
        Load("steady", "current", (Use(10.0, 60.0),), "measured", 0.02, current_a=19.0),), start_soc=0.15)  # fmt: skip
    assert judged(ONE_PULL, outing)[1]["peak_current"].verdict == "fits"


def pull(current_a: float, seconds: float, air_k: float) -> Outing:
    load = Load("pull", "current", (Use(10.0, seconds),), "measured", 0.02, current_a=current_a)
    return Outing("a pull", 600.0, air_k, air_k, (load,))


@pytest.mark.parametrize(("current_a", "celsius", "verdict"), [
    (140.0, 10.0, "fits"),  # 15 K below its test
    (140.0, 2.0, "fits"),  # the voltage keeps clear of the cut-off
    (140.0, -15.0, "not proven"),
    (25.0, -15.0, "fits"),  # sags no more there than 150 A did warm
    (140.0, 40.0, "fits"),
    (140.0, 41.0, "not proven"),
])  # fmt: skip
def test_a_pass_speaks_for_cells_near_its_own_temperature(current_a, celsius, verdict):
    assert judged(ONE_PULL, pull(current_a, 5.0, 273.15 + celsius))[1]["peak_current"].verdict == verdict


@pytest.mark.parametrize("celsius", [-20.0, 25.0, 50.0])
def test_a_trip_condemns_at_every_temperature(celsius):
    check = judged(UNIT, pull(180.0, 11.0, 273.15 + celsius))[1]["peak_current"]
    assert (check.verdict, check.reason.code) == ("does not fit", "peak_trips")


def test_meter_error_softens_a_pass():
    check = judged(ONE_PULL, pull(149.0, 5.0, WARM_K))[1]["peak_current"]  # 150 A less 3.5 A is 146.5 A
    assert (check.verdict, check.reason.parts["zone"]) == ("not proven", "within meter error")
    fits = judged(ONE_PULL, pull(146.0, 5.0, WARM_K))[1]["peak_current"]
    assert fits.margin is not None and fits.margin.value_si == pytest.approx(0.5)


def test_a_pass_and_a_trip_at_once_are_a_conflict_with_both_shown():
    record = replace(UNIT, current_tests=(*UNIT.current_tests, hold(190.0, 30.0, 5)))
    check = judged(record, pull(181.0, 12.0, WARM_K))[1]["peak_current"]
    assert (check.verdict, check.reason.code) == ("not proven", "peak_conflict")
    assert check.settled_by is not None and check.settled_by.code == "conflict_explained"  # a third test would not
    assert len(check.reason.parts["entries"]) >= 2


# --- terminal heat ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("current_a", "verdict"), [(49.0, "fits"), (50.5, "not proven")])
def test_without_a_reading_half_of_what_was_shown_for_a_quarter_of_an_hour_bounds_the_heat(current_a, verdict):
    record = replace(UNIT, terminal_tests=())  # the 100 A discharge, good to 99.5 A, lasted an hour
    check = judged(record, need(current_a, 1.0, air_k=WARM_K))[1]["terminal_heat"]
    assert check.verdict == verdict
    assert (check.settled_by is None) == (verdict == "fits")


def test_terminals_above_the_limit_do_not_fit_and_close_to_it_are_not_proven():
    verdicts = [judged(UNIT, need(current, 1.5, air_k=308.15))[1]["terminal_heat"].verdict for current in (40.0, 104.0, 130.0)]
    # 34.5 K steady at 100 A (28 K after 15 min of a time constant of 9 min): 75 degC in 35 degC air at 107.6 A
    assert verdicts == ["fits", "not proven", "does not fit"]


# --- inverter, wiring, bank ---------------------------------------------------------------------------


def meal(wiring: Wiring | None, cutout_v: float = 10.0) -> Outing:
    load = Load("meal", "inverter", (Use(0.0, 900.0),), "measured", 0.02, power_w=600.0, efficiency=0.9, cutout_v=cutout_v,
                cutout_delay_s=2.0)  # fmt: skip
    return Outing("meal", 900.0, WARM_K, WARM_K, (load,), wiring=wiring)


CABLE = Wiring("35 mm^2", 35e-6, 2.0, 0.5e-3, 378.15, fuse_a=100.0)


def test_an_inverter_behind_a_known_cable_may_fit_and_without_one_at_best_with_limits():
    assert judged(UNIT, meal(CABLE))[1]["inverter"].verdict == "fits"
    check = judged(UNIT, meal(None))[1]["inverter"]
    assert (check.verdict, check.reason.code) == ("fits with limits", "inverter_no_wiring")
    assert check.limit is not None


def test_a_cut_out_is_reported_in_the_runtime_and_not_judged_again_in_energy():
    found, checks = judged(UNIT, meal(CABLE, cutout_v=13.1))
    assert checks["inverter"].verdict == "does not fit"
    assert checks["energy"].verdict == "fits"
    assert found.runtime.ended_by == "inverter_cutout"


@pytest.mark.parametrize(("allowed", "verdict"), [(None, "not proven"), (False, "does not fit")])
def test_units_in_series_need_their_makers_permission(allowed, verdict):
    record = replace(UNIT, series_allowed=allowed)
    outing = replace(need(5.0, 1.0), bank=Bank(1, 2))
    assert judged(record, outing)[1]["bank"].verdict == verdict


def test_units_in_series_with_permission_may_fit():
    assert judged(UNIT, replace(need(5.0, 1.0), bank=Bank(1, 2)))[1]["bank"].verdict == "fits"


def test_a_pair_whose_survivor_would_trip_fits_only_with_a_load_that_can_be_shed():
    """180 A on two units is 90 A each, shown; on one it opened after 11 s."""
    load = Load("inverter", "current", (Use(0.0, 600.0),), "measured", 0.02, current_a=180.0)
    outing = Outing("two units", 600.0, WARM_K, WARM_K, (load,), bank=Bank(2, 1, (1.5e-3, 1.5e-3)))
    found, checks = judged(UNIT, outing)
    assert checks["bank"].verdict == "fits with limits"
    assert found.bank is not None
    assert [loss.verdict for loss in found.bank.losses] == ["does not fit", "does not fit"]
    assert found.bank.losses[0].shed_to_a == pytest.approx(99.5, abs=0.2)
    assert found.bank.branches[0].first_a == pytest.approx(90.0, abs=0.1)


def test_what_the_rest_may_carry_after_a_loss_goes_by_the_one_that_carries_most():
    """Of three units on unequal leads the last is lost: the first of the two left carries well over half."""
    load = Load("winch", "current", (Use(0.0, 600.0),), "measured", 0.02, current_a=200.0)
    outing = Outing("three units", 600.0, WARM_K, WARM_K, (load,), bank=Bank(3, 1, (1e-3, 8e-3, 1e-3)))
    found, _ = judged(UNIT, outing)
    assert found.bank is not None
    loss = found.bank.losses[2]
    assert loss.survivor_a > 1.3 * 100.0
    # By hand: 99.5 A is shown of one unit (the test of a pair above), and it carries this part of the load
    assert loss.shed_to_a == pytest.approx(99.5 * 200.0 / loss.survivor_a, rel=1e-3)


def test_the_labels_of_a_bank_are_never_added_up():
    load = Load("winch", "current", (Use(0.0, 20.0),), "measured", 0.02, current_a=320.0)
    outing = Outing("two units", 600.0, WARM_K, WARM_K, (load,), bank=Bank(2, 1, (1.5e-3, 1.5e-3)))
    # 160 A each for 20 s: above the 146.5 A shown for a minute, below the 180 A that opened
    assert judged(UNIT, outing)[1]["bank"].verdict == "not proven"


# --- overall ------------------------------------------------------------------------------------------


def test_overall_is_the_worst_of_the_questions_that_matter():
    checks = judged(UNIT, replace(need(25.0, 5.0, air_k=WARM_K), questions=("terminal_heat",)))
    assert checks[1]["energy"].verdict == "does not fit"
    assert checks[0].verdict == checks[1]["terminal_heat"].verdict == "fits"


def test_precedence_and_weakness_are_in_order():
    assert worst(["fits", "not proven", "fits with limits"]) == "not proven"
    assert worst(["does not fit", "not proven"]) == "does not fit"
    assert worst([]) == "not proven"
    assert weakest(["measured", "stated", "logged"]) == "stated"
    assert weakest([]) == "unknown"
    assert overall([], ("energy",))[0] == "not proven"


def test_nothing_drawn_is_an_answer_too():
    outing = Outing("at rest", 3600.0, WARM_K, WARM_K, (Load("off", "current", (), "stated", 0.15, current_a=5.0),))
    found, checks = judged(UNIT, outing)
    assert found.runtime.nominal_s == float("inf")
    assert checks["peak_current"].reason.code == "nothing_drawn"
    assert found.verdict == "fits"


def test_a_test_without_a_full_discharge_ended_by_the_clock_is_no_capacity():
    early = replace(discharge(20.0, 60.0, 1), ended_by="clock")
    record = replace(UNIT, capacity_tests=(early,))
    assert judged(record, need(5.0, 2.0))[1]["energy"].verdict == "not proven"
