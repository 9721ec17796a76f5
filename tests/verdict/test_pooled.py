"""Several units of a kind: mean, spread, and how well the spread itself is known."""

from __future__ import annotations

import math

import numpy as np
import pytest

from planner.battery.kind import spread_uncertainty
from planner.verdict.pooled import buyer_uncertainty, pool
from tests.verdict.invented_bench import STURDY, read_unit

FIRST = 'charge = "103.4 Ah"'


def several(folder, *charges: float):
    """The sturdy unit and further ones of its kind that gave these charges [Ah] at 20 A."""
    names = []
    for number, charge in enumerate(charges, start=2):
        text = STURDY.replace("invented-1", f"invented-1-{number}").replace(FIRST, f'charge = "{charge} Ah"')
        text = text.replace('duration = "18600 s"', f'duration = "{charge * 3600.0 / 20.02:.0f} s"')
        text = text.replace("1341 Wh", f"{charge * 12.97:.1f} Wh")
        read_unit(folder, text, f"unit{number}.toml")
        names.append(f'"unit{number}.toml"')
    return read_unit(folder, STURDY.replace("format = 1", f"format = 1\nrepeats = [{', '.join(names)}]", 1))


@pytest.mark.parametrize(
    ("readings", "percent"), [(2, 76), (3, 52), (4, 42), (5, 36), (10, 24), (20, 16), (30, 13), (50, 10)]
)
def test_the_spread_of_few_readings_is_known_as_the_guide_says(readings, percent):
    # JCGM 100:2008 Table E.1, printed in whole per cent
    assert 100.0 * spread_uncertainty(readings) == pytest.approx(percent, abs=0.5)


def test_the_spread_of_few_readings_agrees_with_sampling():
    # independent of the closed form: 200,000 samples of five normal readings. Standard error of the ratio is
    # about 0.36 / sqrt(2 x 200,000) = 0.0006; 0.003 is five of them.
    spreads = np.random.default_rng(5).standard_normal((200_000, 5)).std(axis=1, ddof=1)
    assert spreads.std() / spreads.mean() == pytest.approx(spread_uncertainty(5), abs=0.003)


def test_one_reading_has_no_spread():
    with pytest.raises(ValueError, match="one reading"):
        spread_uncertainty(1)


def test_one_unit_takes_the_assumed_spread_and_says_that_it_is_assumed(tmp_path):
    found = pool(read_unit(tmp_path, STURDY))
    assert found is not None
    assert (found.units, found.spread_measured, found.u_spread) == (("invented-1",), False, None)
    assert found.spread == 0.025
    # hand calculation: sqrt(2 x 2.5 %^2 + 0.586 %^2) = 3.58 %, times 1.645 of 103.4 Ah: 97.3 to 109.5 Ah
    assert found.low_c / 3600.0 == pytest.approx(97.3, abs=0.05)
    assert found.high_c / 3600.0 == pytest.approx(109.5, abs=0.05)


def test_the_buyers_unit_and_the_one_tested_may_both_be_off():
    # hand calculation: sqrt(2.5^2 + 2.5^2 + 0.586^2) = 3.58 %
    assert 100.0 * buyer_uncertainty(0.025, 0.00586) == pytest.approx(3.58, abs=0.005)


def test_three_units_give_a_mean_a_spread_and_how_well_it_is_known(tmp_path):
    found = pool(several(tmp_path, 101.0, 105.0))
    assert found is not None
    charges = np.array([103.4, 101.0, 105.0])
    assert found.mean_c / 3600.0 == pytest.approx(charges.mean(), rel=1e-9)
    assert found.spread_measured
    assert found.spread == pytest.approx(charges.std(ddof=1) / charges.mean(), rel=1e-9)
    assert found.u_spread == pytest.approx(0.523, abs=0.0005)  # JCGM 100:2008 Table E.1, n = 3: 52 %
    # prediction of one more reading: t(0.95, 2) = 2.920 times s sqrt(1 + 1/3), and 1.645 x 0.586 % of the meter
    half = math.hypot(2.920 * found.spread * math.sqrt(4.0 / 3.0), 1.645 * 0.00586)
    assert found.high_c / found.mean_c - 1.0 == pytest.approx(
        half, rel=2e-3
    )  # the printed digits of both factors


def only_slow(text: str) -> str:
    """The sturdy unit without its fast discharge."""
    return text.replace(text[text.index('[[capacity_test]]\ncurrent = "100 A"') : text.index('[[capacity_test]]\ncurrent = "20 A"')], "")  # fmt: skip


@pytest.mark.parametrize(
    "told",
    [('current = "20.02 A"\nduration = "18600 s"', 'current = "40 A"\nduration = "9306 s"'),  # double the current
     ('cutoff_voltage = "10.0 V"\ntemperature = "25 degC"', 'cutoff_voltage = "11.0 V"\ntemperature = "25 degC"'),
     ('temperature = "25 degC"\nended_by = "cutoff"', 'temperature = "15 degC"\nended_by = "cutoff"')],
)  # fmt: skip
def test_a_unit_tested_otherwise_is_left_out_and_named(tmp_path, told):
    other = only_slow(STURDY).replace("invented-1", "invented-1-2")
    # the cold discharge, which both have, would be pooled instead
    other = other.replace("-10 degC", "-20 degC")
    assert told[0] in other
    read_unit(tmp_path, other.replace(*told, 1), "unit2.toml")
    found = pool(read_unit(tmp_path, STURDY.replace("format = 1", 'format = 1\nrepeats = ["unit2.toml"]', 1)))
    assert found is not None
    assert found.left_out == ("invented-1-2",)
    assert found.units == ("invented-1",)
    assert not found.spread_measured


def test_units_are_pooled_at_the_discharge_most_of_them_ran(tmp_path):
    slower = STURDY.replace("invented-1", "invented-1-2").replace('current = "20.02 A"\nduration = "18600 s"', 'current = "40 A"\nduration = "9306 s"')  # fmt: skip
    read_unit(tmp_path, slower.replace('charge = "100.9 Ah"', 'charge = "98.9 Ah"').replace('duration = "3632 s"', 'duration = "3560 s"'), "unit2.toml")  # fmt: skip
    found = pool(read_unit(tmp_path, STURDY.replace("format = 1", 'format = 1\nrepeats = ["unit2.toml"]', 1)))
    assert found is not None
    assert found.mean_c / 3600.0 == pytest.approx(
        (100.9 + 98.9) / 2.0
    )  # at 100 A; at 20 A there is one unit only


def test_units_that_agree_to_the_digit_spread_by_what_the_bench_repeats_to(tmp_path):
    found = pool(several(tmp_path, 103.4))
    assert found is not None
    assert found.spread == 0.005  # a bench that repeats itself to 0.5 % cannot see less
