import json

import pytest

from planner.winter.outlook import winter_outlook
from planner.winter.winter_json import as_json
from tests.winter.invented_year import CLIMATE, TESTED, UNIT, UNTESTED, WEATHER


def test_the_section_of_the_invented_year_has_the_numbers_worked_out_apart():
    section = as_json(winter_outlook(CLIMATE, WEATHER, UNIT, TESTED))
    assert section["hours_offered"] == 2190
    assert section["hours_blocked"] == {"low": 933, "high": 1160}
    assert section["charge_lost_Ah"] == pytest.approx({"low": 9330.0, "high": 11600.0})
    assert section["exposed_hours"] == {"low": 0, "high": 0}
    assert section["coldest_cell_degC"] == pytest.approx(-14.71, abs=0.005)
    assert section["days_dark"] == {"low": 132, "high": 168}
    assert section["months"][0]["hours_blocked"] == {"low": 186, "high": 186}
    assert section["months"][0]["charge_lost_Ah"] == pytest.approx({"low": 1860.0, "high": 1860.0})
    assert len(section["months"]) == 12
    assert section["hours_hot"] is None and section["years"] is None


def test_drawn_years_come_as_three_percentiles_in_order_and_all_is_plain_json():
    section = as_json(winter_outlook(CLIMATE, WEATHER, UNIT, UNTESTED, draws=8))
    assert json.loads(json.dumps(section, allow_nan=False)) == section
    high = [section["years"][key]["hours_blocked"]["high"] for key in ("p10", "p50", "p90")]
    assert high == sorted(high)
    assert section["years"]["draws"] == 8
