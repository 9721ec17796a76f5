"""Which cautions and warnings an answer carries. Data invented."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from planner.explain import caution_texts as texts
from planner.explain.cautions import cautions, peak_is_shown, winter_cautions
from planner.explain.warnings import not_served, p10_error_s, warnings
from planner.outing.schema import Load, Use
from planner.verdict.assess import assess
from planner.winter.reader import read_climate
from tests.explain.demo import COMBINATIONS, PROFILES, assessed

ALWAYS = (texts.CHARGING_COLD, texts.SUDDEN_DARK, texts.TERMINALS, texts.FUSE, texts.STARTING, texts.CHARGER,
          texts.MOUNTING, texts.WATER, texts.DAMAGE, texts.DEFER)  # fmt: skip


@pytest.mark.parametrize("combination", COMBINATIONS, ids=lambda c: "-".join(map(str, c)))
def test_no_answer_is_without_the_general_cautions(combination):
    found = cautions(assessed(*combination))
    assert set(ALWAYS) <= set(found)
    assert any(text.startswith(texts.SHORT_CIRCUIT) for text in found)
    assert len(set(found)) == len(found)


def test_a_safety_load_behind_a_protection_that_may_open_comes_first():
    found = assessed("unit_four", "trailer_weekend")
    assert not peak_is_shown(found)
    first = cautions(found)[0]
    assert "breakaway brake" in first
    assert "must never go dark" in first
    assert "came back by itself" in first  # recovery as this unit's record has it


def test_a_safety_load_that_shares_one_protection_is_a_caution_even_when_the_peak_is_shown():
    found = assessed("unit_one", "trailer_weekend")
    assert peak_is_shown(found)
    assert cautions(found)[0].startswith("One protection can switch off at once what must never go dark: ")


def test_cautions_follow_their_topics():
    bank, inverter, plain = (
        assessed("unit_one", name) for name in ("bank_motor", "inverter_kitchen", "kayak_evening")
    )
    assert texts.MIXING in cautions(bank)
    assert texts.MAINS in cautions(inverter)
    assert texts.MIXING not in cautions(plain)
    assert texts.MAINS not in cautions(plain)


def test_what_would_void_the_runtime_is_said_wherever_the_peak_is_not_shown():
    for combination in COMBINATIONS:
        found = assessed(*combination)
        said = any("does not switch itself off" in text for text in warnings(found))
        assert said == (not peak_is_shown(found))


def test_every_answer_says_one_unit_was_tested_and_that_entropy_is_left_out():
    found = warnings(assessed("unit_two", "kayak_evening"))
    assert found[0].startswith("We tested one unit.")
    assert any("entropy" in text for text in found)
    assert len(set(found)) == len(found)


def test_handbook_values_that_widen_the_range_are_named():
    # a record with one capacity figure has no resistance of its own
    assert any(
        "the resistance of the cells" in text for text in warnings(assessed("unit_two", "kayak_evening"))
    )


def test_the_records_own_warnings_reach_the_answer():
    found = assessed("unit_two", "kayak_evening")
    assert found.record.warnings
    for text in found.record.warnings:
        assert any(text in told for told in warnings(found))


def test_a_share_close_to_nine_in_ten_is_told():
    found = assessed("unit_one", "kayak_evening")

    def told(share: float) -> bool:
        near = replace(found, covered=replace(found.covered, completes=share), draws=500)
        return any("close to nine in ten" in text for text in warnings(near))

    # binomial: sqrt(0.91 * 0.09 / 500) = 0.0128, so 0.91 is within two of 0.9 and 0.95 (0.0097) is not
    assert told(0.91)
    assert told(0.88)
    assert not told(0.95)
    assert not told(1.0)


def test_a_load_too_large_for_cable_and_battery_is_told():
    found = assessed("unit_one", "kayak_evening")
    # 13.3 V behind some 4 mohm can give 13.3 ** 2 / (4 * 0.004 ohm) = 11 kW at the most (circuit theory)
    huge = Load("huge", "power", (Use(60.0, 60.0),), "stated", 0.0, power_w=30e3)
    small = replace(huge, power_w=300.0)
    over, under = (
        assess(found.record, replace(found.outing, duration_s=600.0, loads=(load,)), None, 4)
        for load in (huge, small)
    )
    assert not_served(over)
    assert any("more power than battery and cable" in text for text in warnings(over))
    assert not not_served(under)


def test_the_error_of_the_low_end_falls_with_the_number_of_draws():
    few, many = (p10_error_s(assessed("unit_one", "trolling_day", draws=draws)) for draws in (50, 800))
    assert few is not None and many is not None
    # sixteen times the draws: about a fourth of the error by theory; half is allowed, as few draws tell it badly
    assert 0.0 < many < 0.5 * few


def test_the_error_of_the_low_end_agrees_with_the_normal_law():
    found = assessed("unit_one", "trolling_day", draws=800)
    times = found.batch.runtime_s()[found.batch.draws]
    # standard error of a 10 % quantile of a normal: sqrt(0.09) / 0.1755 sigma / sqrt(n) = 1.709 sigma / sqrt(n)
    normal = 1.709 * float(np.std(times)) / math.sqrt(len(times))
    assert p10_error_s(found) == pytest.approx(
        normal, rel=0.5
    )  # the runtimes are not normal, nor the estimate exact


def test_what_the_bench_found_of_a_charge_in_the_cold_is_told_beside_the_rule():
    def told(battery: str, outing: str = "kayak_evening") -> list[str]:
        found = cautions(assessed(battery, outing))
        place = found.index(texts.CHARGING_COLD) + 1
        return list(found[place : found.index(texts.SUDDEN_DARK)])

    (cold,) = told("unit_three")  # accepted at -4 degC, and its maker's limit is 0 degC
    assert "took a charge with the battery inside at -4 °C" in cold
    assert told("unit_two") == [texts.NOT_SEEN_TO_REFUSE]
    assert told("unit_one") == []  # blocked at -0.5 degC, accepted at 2.5 degC
    assert told("unit_two", "series_pair") == []  # the bank is of units one and five, which were seen to block
    took = winter_cautions(assessed("unit_three", "kayak_evening").record, read_climate(PROFILES / "climates/cold-lake.toml"))
    assert cold in took


def test_terminals_that_burn_are_a_caution_of_the_outing_that_heats_them():
    hot, cool = assessed("unit_three", "inverter_kitchen"), assessed("unit_one", "kayak_evening")
    degrees = [check.need.value_si - 273.15 for check in hot.checks if check.id == "terminal_heat"]
    assert 65.0 < degrees[0] < 66.0
    (told,) = [text for text in cautions(hot) if "terminals get as hot as 66 °C" in text]
    assert "burns" in told
    assert not any("terminals get as hot" in text for text in cautions(cool))


def test_whatever_may_hold_a_motor_is_told_of_its_spike():
    # a winch is entered as a current with a hard start, and a log does not tell what runs
    for outing in ("anchor_winch", "trailer_weekend", "recorded_morning", "kayak_evening"):
        assert texts.INDUCTIVE in cautions(assessed("unit_one", outing))
    for outing in ("inverter_kitchen", "ice_shelter"):  # an inverter's start fills capacitors
        assert texts.INDUCTIVE not in cautions(assessed("unit_one", outing))


def test_the_short_circuit_of_a_bank_is_not_told_as_one_batterys():
    bank, one = (" ".join(cautions(assessed("unit_one", outing))) for outing in ("bank_motor", "anchor_winch"))
    assert "at the terminals of this bank" in bank
    assert "at the terminals of this battery" in one
