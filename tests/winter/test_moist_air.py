import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.winter.moist_air import condenses, dew_point_k, wait_until_dry_s
from tests.winter.invented_year import OPEN_TAU_S, ZERO_K


def test_dew_point_of_room_air_at_half_humidity():
    # PsychroLib 2.5.0: 13.863973 degC at 25 degC and 50 %; the Magnus form is good to a tenth of a kelvin.
    assert dew_point_k(ZERO_K + 25.0, 0.5) - ZERO_K == pytest.approx(13.864, abs=0.05)


def test_dew_points_agree_with_the_psychrometrics_library():
    psychrolib = pytest.importorskip("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)  # which has the library compile itself anew, for seconds
    compared = 0
    for air_c, humidity in itertools.product((5.0, 15.0, 25.0, 35.0), (0.3, 0.6, 0.9)):
        published = psychrolib.GetTDewPointFromRelHum(air_c, humidity)
        if published > 0.0:  # below it the library's table is over ice, ours over water
            assert dew_point_k(ZERO_K + air_c, humidity) - ZERO_K == pytest.approx(published, abs=0.1)
            compared += 1
    assert compared >= 8


@given(st.floats(-30.0, 45.0), st.floats(0.02, 1.0))
def test_a_dew_point_is_never_above_the_air(air_c, humidity):
    assert dew_point_k(ZERO_K + air_c, humidity) <= ZERO_K + air_c + 1e-9


def test_saturated_air_has_its_own_temperature_as_dew_point():
    assert dew_point_k(ZERO_K + 12.0, 1.0) == pytest.approx(ZERO_K + 12.0)


def test_a_battery_at_minus_9_brought_into_a_room_gets_wet_and_dries_once_above_the_dew_point():
    # By hand, dew point 3.7 degC of 15 degC air at 47 %: t = tau ln(24 / (15 - 3.7)).
    air, cell = ZERO_K + 15.0, ZERO_K - 9.0
    assert condenses(cell, air, 0.47)
    dew = dew_point_k(air, 0.47)
    wait = wait_until_dry_s(cell, air, 0.47, OPEN_TAU_S)
    assert wait == pytest.approx(OPEN_TAU_S * math.log(24.0 / (air - dew)))
    assert air + (cell - air) * math.exp(-wait / OPEN_TAU_S) == pytest.approx(dew)
    assert wait_until_dry_s(ZERO_K + 10.0, air, 0.47, OPEN_TAU_S) == 0.0
    assert wait_until_dry_s(cell, air, 1.0, OPEN_TAU_S) == math.inf


@pytest.mark.parametrize("humidity", [0.0, -0.1, 1.1, math.nan])
def test_an_impossible_humidity_is_an_error(humidity):
    with pytest.raises(ValueError, match="humidity"):
        dew_point_k(290.0, humidity)
