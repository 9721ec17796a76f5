"""Losses of an inverter: two and three terms, weighted efficiencies, and their keys in an outing."""

from __future__ import annotations

import numpy as np
import pytest

from planner.errors import InputRefused
from planner.outing.build import build_timeline
from planner.outing.change import scale_outing
from planner.outing.inverter_losses import (
    CEC_WEIGHTS,
    EUROPEAN_WEIGHTS,
    LossModel,
    loss_model_from_efficiencies,
    weighted_efficiency,
)
from planner.outing.reader import read_outing

HEAD = 'format = 1\nname = "Invented"\nduration = "1 h"\nambient = "20 degC"\n[[load]]\nname = "tools"\nkind = "inverter"\n'


def test_two_term_losses():
    # By hand: idle 10 W and 8 % of the load
    model = LossModel(idle_w=10.0, slope=0.08)
    assert [model.dc_power_w(w) for w in (0.0, 50.0, 150.0, 300.0)] == pytest.approx(
        [10.0, 64.0, 172.0, 334.0], rel=1e-12
    )
    assert [model.efficiency(w) for w in (0.0, 50.0, 150.0, 300.0)] == pytest.approx(
        [0.0, 0.78125, 0.872093, 0.898204], abs=5e-7
    )


def test_two_stated_efficiencies_give_back_idle_and_slope():
    found = loss_model_from_efficiencies([(50.0, 50.0 / 64.0), (300.0, 300.0 / 334.0)])
    # exact for two points; 1e-9 leaves room for the solve
    assert (found.idle_w, found.slope, found.square_per_w) == pytest.approx((10.0, 0.08, 0.0), rel=1e-9)


def test_three_stated_efficiencies_give_back_their_loss_model():
    model = LossModel(idle_w=8.0, slope=0.03, square_per_w=4e-5)
    found = loss_model_from_efficiencies([(w, model.efficiency(w)) for w in (100.0, 500.0, 1000.0)])
    assert (found.idle_w, found.slope, found.square_per_w) == pytest.approx((8.0, 0.03, 4e-5), rel=1e-9)


@pytest.mark.parametrize(
    "stated",
    [
        ((100.0, 0.80), (300.0, 0.90), (500.0, 0.94)),  # exact through these the loss bends down
        ((100.0, 0.80), (500.0, 0.96)),  # and falls through these: 25 W, then 20.8 W
    ],
)
def test_no_stated_efficiencies_make_an_inverter_that_gives_out_more_than_it_takes(stated):
    found = loss_model_from_efficiencies(stated)
    # Conservation of energy, up to far more power than was read; and more load never loses less
    lost = [found.dc_power_w(ac_w) - ac_w for ac_w in np.linspace(0.0, 50.0 * stated[-1][0], 500)]
    assert min(lost) > 0.0
    assert np.diff(lost).min() >= -1e-9  # rounding of differences of kilowatts
    # By hand, least squares with no slope, or no square: at most 3.3 W of 21 to 33 W are missed
    for ac_w, efficiency in stated:
        assert found.dc_power_w(ac_w) == pytest.approx(ac_w / efficiency, abs=3.3)


def test_one_power_cannot_tell_idle_from_the_rest():
    with pytest.raises(ValueError, match="2 distinct powers"):
        loss_model_from_efficiencies([(100.0, 0.9), (100.0, 0.91)])


def test_weights_sum_to_one_and_weigh_a_curve():
    assert sum(EUROPEAN_WEIGHTS.values()) == pytest.approx(1.0, abs=1e-12)
    assert sum(CEC_WEIGHTS.values()) == pytest.approx(1.0, abs=1e-12)
    # The published weights on this set by hand: 0.93250 and 0.93805
    read = {0.05: 0.82, 0.10: 0.89, 0.20: 0.93, 0.30: 0.94, 0.50: 0.945, 0.75: 0.94, 1.00: 0.93}
    assert sum(w * read[f] for f, w in EUROPEAN_WEIGHTS.items()) == pytest.approx(0.93250, abs=5e-6)
    assert sum(w * read[f] for f, w in CEC_WEIGHTS.items()) == pytest.approx(0.93805, abs=5e-6)
    # A loss that is a share of the load alone has one efficiency at every power
    assert weighted_efficiency(LossModel(0.0, 0.25), 1000.0, CEC_WEIGHTS) == pytest.approx(0.8, rel=1e-12)


def test_a_model_scales_with_its_battery_side():
    model = LossModel(8.0, 0.03, 4e-5)
    assert model.times(2.0).dc_power_w(1000.0) == pytest.approx(2.0 * model.dc_power_w(500.0), rel=1e-12)


@pytest.fixture
def read(tmp_path):
    def of(keys: str):
        path = tmp_path / "outing.toml"
        path.write_text(HEAD + keys, encoding="utf-8")
        return read_outing(path)

    return of


CURVE = 'efficiency_points = [["100 W", "84 %"], ["500 W", "92 %"], ["900 W", "90 %"]]\n'
DUTY = 'use = [{ start = "0 min", length = "60 min", on = "10 min", off = "5 min" }]\n'


def test_the_batterys_side_follows_the_curve_and_idles_between(read):
    line = build_timeline(read('power = "500 W"\n' + CURVE + DUTY))
    # the curve passes its points: 500 W / 0.92; idle by hand from the three losses 19.0476, 43.4783, 100 W:
    # square (100 - 43.4783)/400 - (43.4783 - 19.0476)/400 = 0.0802275 W/W over 800 W, so 1.00284e-4 per W; slope
    # 0.0610767 - 600 x 1.00284e-4 = 9.06e-4; idle 19.0476 - 0.0906 - 1.00284 = 17.954 W
    assert np.unique(np.round(line.power_w, 3)) == pytest.approx([17.954, 500.0 / 0.92], abs=2e-3)


def test_more_of_the_same_load_scales_the_batterys_side(read):
    outing = read('power = "500 W"\n' + CURVE + DUTY)
    base, twice = build_timeline(outing), build_timeline(scale_outing(outing, 2.0))
    assert twice.power_w == pytest.approx(2.0 * base.power_w, rel=1e-12)


def test_the_constant_efficiency_stays_as_it_was(read):
    line = build_timeline(read('power = "900 W"\nefficiency = "90 %"\nidle_power = "12 W"\n' + DUTY))
    assert np.unique(line.power_w) == pytest.approx([12.0, 1012.0], rel=1e-12)


@pytest.mark.parametrize(
    ("keys", "key"),
    [
        ('power = "900 W"\n', "load.1.efficiency"),
        ('power = "900 W"\nefficiency = "90 %"\n' + CURVE, "load.1.efficiency"),
        ('power = "900 W"\nefficiency_points = [["100 W", "84 %"]]\n', "load.1.efficiency_points"),
        (
            'power = "900 W"\nefficiency_points = [["100 W", "98 %"], ["900 W", "84 %"]]\n',
            "load.1.efficiency_points",
        ),
        (
            'power = "900 W"\nefficiency = "90 %"\nrated_power = "1000 W"\nsurge_power = "2000 W"\n',
            "load.1.surge_power",
        ),
        ('power = "1500 W"\nefficiency = "90 %"\nrated_power = "1000 W"\n', "load.1.power"),
        (
            'power = "1500 W"\nefficiency = "90 %"\nrated_power = "1000 W"\nsurge_power = "2000 W"\nsurge_time = "5 s"\n',
            "load.1.power",
        ),
        (
            'power = "900 W"\nefficiency = "90 %"\nprecharge_resistance = "25 ohm"\n',
            "load.1.precharge_resistance",
        ),
    ],
)
def test_what_cannot_be_meant_is_refused_at_its_key(read, keys, key):
    with pytest.raises(InputRefused) as caught:
        read(keys)
    assert key in {problem.key for problem in caught.value.problems}


def test_a_surge_within_its_seconds_is_taken(read):
    outing = read(
        'power = "1500 W"\nefficiency = "90 %"\nrated_power = "1000 W"\nsurge_power = "2000 W"\nsurge_time = "5 s"\n'
        'use = [{ start = "1 min", length = "4 s" }]\n'
    )
    assert outing.loads[0].power_w == 1500.0
