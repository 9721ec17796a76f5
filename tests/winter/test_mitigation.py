from dataclasses import replace

import numpy as np
import pytest

from planner.winter.mitigation import compare_variants, usual_variants
from planner.winter.schema import DayWindow
from tests.winter.invented_year import CLIMATE, HOUR_S, SHORE, TESTED, UNIT, WEATHER

SYNTHETIC = replace(WEATHER, synthetic=True)


@pytest.fixture(scope="module")
def results():
    variants = usual_variants(CLIMATE, UNIT, TESTED)
    return {found.variant.id: found for found in compare_variants(variants, SYNTHETIC, TESTED, draws=5)}


def test_the_usual_changes_are_offered_where_they_change_anything():
    found = {variant.id for variant in usual_variants(CLIMATE, UNIT, TESTED)}
    assert found == {
        "as_is", "box", "heater", "box_and_heater", "indoors", "other_charger", "second_battery",
    }  # fmt: skip
    boxed = {
        variant.id for variant in usual_variants(replace(CLIMATE, conductance_w_per_k=0.4), UNIT, TESTED)
    }
    assert "box" not in boxed


def test_the_place_as_it_is_gains_nothing_and_costs_nothing(results):
    as_is = results["as_is"]
    assert not as_is.open_hours_gained.any() and not as_is.dark_days_saved.any() and not as_is.heater_j.any()


def test_a_box_alone_is_no_charging_aid_and_a_heater_in_it_is(results):
    # A box keeps the cells from reaching the resume threshold as well as from the night's cold.
    assert results["box"].open_hours_gained[1].sum() < 30.0
    assert results["box_and_heater"].open_hours_gained[1].sum() > 800.0
    assert 0.0 < results["box_and_heater"].heater_j[1] < results["heater"].heater_j[1]


def test_indoors_opens_every_hour_that_was_blocked(results):
    blocked = np.median(results["as_is"].totals.hours_blocked, axis=1)
    assert results["indoors"].open_hours_gained.sum(axis=1) == pytest.approx(blocked, abs=30.0)
    assert results["indoors"].dark_days_saved[0] > 100.0


def test_more_current_or_more_charge_opens_no_hour(results):
    for name in ("other_charger", "second_battery"):
        assert abs(results[name].open_hours_gained).max() == 0.0
    assert results["second_battery"].dark_days_saved[0] > 0.0


def test_a_stay_indoors_begins_three_hours_before_the_source_even_over_midnight():
    early = replace(SHORE, window=DayWindow(1 * HOUR_S, 4 * HOUR_S))
    variants = usual_variants(replace(CLIMATE, charges=(early,)), UNIT, TESTED)
    (stay,) = next(variant for variant in variants if variant.id == "indoors").climate.heated
    assert (stay.window.from_s, stay.window.until_s) == (22 * HOUR_S, 4 * HOUR_S)


def test_a_source_there_all_day_means_staying_indoors_all_day():
    always = replace(SHORE, window=DayWindow(0.0, 24 * HOUR_S))
    variants = usual_variants(replace(CLIMATE, charges=(always,)), UNIT, TESTED)
    (stay,) = next(variant for variant in variants if variant.id == "indoors").climate.heated
    assert (stay.window.from_s, stay.window.until_s) == (0.0, 24 * HOUR_S)
