"""Contacts: heat, millivolts, rise and published limits."""

import pytest

from planner.install.joints import (
    RISE_LIMITS,
    SKIN_LIMITS,
    contact_drop_v,
    contact_heat_w,
)


@pytest.mark.parametrize(
    ("current", "milliohm", "watt", "millivolt"),
    [(100.0, 0.40, 4.0, 40.0), (150.0, 0.40, 9.0, 60.0), (100.0, 1.5, 15.0, 150.0), (100.0, 0.2, 2.0, 20.0)],
)
def test_contact_heat_and_millivolts(current, milliohm, watt, millivolt):
    # By hand: I2R and IR; exact but for float rounding
    assert contact_heat_w(current, milliohm * 1e-3) == pytest.approx(watt, rel=1e-12)
    assert contact_drop_v(current, milliohm * 1e-3) == pytest.approx(millivolt * 1e-3, rel=1e-12)


def test_rise_limits_and_their_temperatures_in_40_degree_air():
    # IEC 60694 Table 3 prints both: 50 K and 90 degC, 65 and 105, 75 and 115, 30 and 70, 40 and 80
    printed = {50.0: 90.0, 65.0: 105.0, 75.0: 115.0, 30.0: 70.0, 40.0: 80.0}
    rows = [limit for limit in RISE_LIMITS if "60694" in limit.source.text]
    assert {limit.rise_k for limit in rows} == set(printed)
    for limit in rows:
        assert limit.temperature_k - 273.15 == pytest.approx(printed[limit.rise_k], abs=1e-9)


def test_values_from_memory_say_so():
    # Only the tin row of the low-voltage table was found in a reprint
    rows = {limit.part: limit.source.sure for limit in RISE_LIMITS if "60947-1" in limit.source.text}
    assert rows.pop("low-voltage terminal, tin coated") == "reprint"
    assert set(rows.values()) == {"memory"}


def test_burn_thresholds_of_skin_by_material_and_time():
    # ISO 13732-1: metal 51 degC for 1 min; any material 48 degC for 10 min, 43 degC for 8 h
    celsius = {(skin.material, skin.contact_s): skin.temperature_k - 273.15 for skin in SKIN_LIMITS}
    assert celsius == pytest.approx(
        {
            ("metal, bare or coated", 60.0): 51.0,
            ("ceramic, glass or stone", 60.0): 56.0,
            ("plastic or wood", 60.0): 60.0,
            ("any material", 600.0): 48.0,
            ("any material", 28800.0): 43.0,
        }
    )
