import math

import pytest

from planner.winter.storage import daily_loss_c, storage_days
from tests.winter.invented_year import AH

Q = 103.4 * AH


def test_sleep_current_and_self_discharge_take_a_third_of_an_amp_hour_a_day():
    # Hand calculation: 11 mA x 24 h = 0.264 Ah; 2 % of 103.4 Ah in 30 days = 0.0689 Ah.
    assert daily_loss_c(Q, 0.011, 0.0, 0.0) / AH == pytest.approx(0.264, abs=0.0005)
    assert daily_loss_c(Q, 0.0, 0.02, 0.0) / AH == pytest.approx(0.0689, abs=0.00005)
    assert daily_loss_c(Q, 0.011, 0.02, 0.0) / AH == pytest.approx(0.333, abs=0.0005)


def test_from_60_to_10_per_cent_takes_155_days_and_44_with_a_parasite():
    assert storage_days(Q, 0.6, 0.1, 0.011) == pytest.approx(155, abs=0.5)
    assert storage_days(Q, 0.6, 0.1, 0.011, parasite_a=0.035) == pytest.approx(44, abs=0.5)


def test_nothing_lost_lasts_for_ever_and_running_up_is_an_error():
    assert storage_days(Q, 0.6, 0.1, 0.0, 0.0) == math.inf
    with pytest.raises(ValueError, match="down"):
        storage_days(Q, 0.1, 0.6, 0.011)
