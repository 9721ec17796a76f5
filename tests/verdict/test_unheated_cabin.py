"""A whole answer beside an expert's: an unheated cabin whose unit nobody tested for charging in the cold. Invented.

The hours are those of the invented cold year of `tests.winter.invented_year`, which a weather file here carries to a
thousandth of a degree; the expert counted them with a plain loop over the same formula.
"""

from __future__ import annotations

import numpy as np
import pytest

from planner.explain.sentences import sentence
from planner.verdict.assess import Assessment, assess
from planner.winter.reader import read_climate
from tests.verdict.invented_bench import WEAK_LEADS, read_need, read_unit
from tests.winter.invented_year import AIR_K, IN_WINDOW, ZERO_K, J
from tests.winter.weather_writer import epw

EVENINGS = """
format = 1
name = "Evenings in the cabin (invented)"
duration = "24 h"
ambient = "10 degC"
[[load]]
name = "lights"
kind = "current"
current = "2.1 A"
use = [{ start = "17 h", length = "5 h" }]
[[load]]
name = "fan"
kind = "current"
current = "0.8 A"
use = [{ start = "8 h", length = "10 h" }]
"""
CABIN = """
format = 1
name = "Unheated cabin (invented)"
place = "outdoors"
weather = "cold_year.epw"
thermal_conductance = "2.24 W/K"
heat_capacity = "11200 J/K"
[[charge]]
kind = "solar"
peak_power = "120 W"
tilt = "0 deg"
"""
HOUR = 1  # of hours counted apart


@pytest.fixture(scope="module")
def found(tmp_path_factory) -> Assessment:
    folder = tmp_path_factory.mktemp("cabin")
    sun = lambda row: 400.0 if IN_WINDOW[row] else 0.0  # noqa: E731
    text = epw(air=lambda row: AIR_K[row] - ZERO_K, sun=sun, decimals=3)
    (folder / "cold_year.epw").write_text(text, encoding="utf-8")
    (folder / "cabin.toml").write_text(CABIN, encoding="utf-8")
    unit, need = read_unit(folder, WEAK_LEADS), read_need(folder, EVENINGS)
    return assess(unit, need, read_climate(folder / "cabin.toml"), draws=100)


def verdicts(found):
    return {check.id: check.verdict for check in found.checks}


def test_a_day_takes_18_5_ah_and_a_charge_lasts_four_days_without_sun(found):
    assert found.covered.need_c / 3600.0 == pytest.approx(18.5, abs=1e-6)
    assert 0.8 * 93.1 / 18.5 == pytest.approx(4.03, abs=0.005)
    # The whole charge, to the cut-off: five days; at so light a draw somewhat more than at the bench's 20 A
    assert found.covered.usable_c / 3600.0 / 18.5 == pytest.approx(4.03 / 0.8, rel=0.03)


def test_discharge_fits_and_the_winter_is_not_proven(found):
    by_check = verdicts(found)
    assert by_check["energy"] == by_check["peak_current"] == "fits"
    assert max(point.current_a for point in found.peak.points) < 3.0
    assert by_check["winter_charging"] == "not proven"
    assert found.verdict == "not proven"


def test_both_ends_are_bad_in_different_ways(found):
    given = found.winter.outlook.given
    assert given.hours_offered[0] == 2190
    assert given.hours_blocked[:, 0] == pytest.approx([0, 1274], abs=HOUR)
    assert 100.0 * given.hours_blocked[1, 0] / 2190 == pytest.approx(58, abs=0.5)
    assert given.exposed_hours[:, 0] == pytest.approx([0, 830], abs=HOUR)


def test_the_warm_season_loses_182_hours_even_at_the_pessimistic_end(found):
    warm = (J / 24 >= 105) & (J / 24 < 288)
    shut = ~found.winter.outlook.trace.is_open[:, 1, 0] & IN_WINDOW
    assert shut[warm].sum() == pytest.approx(182, abs=HOUR)
    # In those days no cell is below freezing while the sun offers, so the one limit left is the 5 degC.
    cells = found.winter.outlook.trace.cell_k[:, 0, 0]
    assert not np.any((cells < ZERO_K) & IN_WINDOW & warm)
    assert set(found.winter.verdict.months_free) <= {6, 7, 8, 9}
    assert found.winter.verdict.months_free


def test_the_reason_says_so_and_the_test_that_settles_it_is_the_cold_step(found):
    (winter,) = [check for check in found.checks if check.id == "winter_charging"]
    assert winter.evidence == "unknown"
    assert "do not charge it when the battery inside may be below 5 °C" in sentence(winter.reason)
    for part in ("0 to 830 hours", "0 to 1,274 hours of the 2,190", "In June to August neither happens"):
        assert part in sentence(winter.reason)
    assert winter.settled_by is not None
    assert "cool the battery a degree at a time" in sentence(winter.settled_by)


def test_a_label_that_promises_protection_changes_nothing(found, tmp_path):
    # Same mass and label as a tested unit are no test: the ends are the untested ones, never another unit's.
    gate = found.winter.gate
    assert gate.block_low_k == -np.inf
    assert (gate.block_high_k - ZERO_K, gate.resume_high_k - ZERO_K) == pytest.approx((5.0, 8.0))
