"""The three-term inverter loss against a published inverter model."""

import numpy as np
import pytest

from planner.outing.inverter_losses import loss_model_from_efficiencies

# pvlib 0.16.1, inverter.pvwatts(pdc, 1000), kept as figures so that the test does not depend on the library.
# Six decimals, the last one cut rather than rounded: compared to 1e-6.
PUBLISHED_AC_W = {10.0: 3.941190, 100.0: 92.162789, 500.0: 481.095776, 900.0: 864.864667}


def pvwatts(dc_w):
    """PVWatts version 5 (Dobos, NREL/TP-6A20-62641, 2014): nominal 0.96, reference 0.9637, 1000 W."""
    share = dc_w / 1000.0
    return 0.96 / 0.9637 * (-0.0162 * share - 0.0059 / share + 0.9858) * dc_w


def test_the_published_formula_gives_the_published_figures():
    for dc_w, ac_w in PUBLISHED_AC_W.items():
        assert pvwatts(dc_w) == pytest.approx(ac_w, abs=1e-6)


def test_the_library_still_gives_them():
    library = pytest.importorskip("pvlib.inverter")
    for dc_w, ac_w in PUBLISHED_AC_W.items():
        assert library.pvwatts(dc_w, 1000.0) == pytest.approx(ac_w, abs=1e-6)


def test_three_efficiencies_of_that_inverter_give_its_dc_power_everywhere():
    # The published model is quadratic in DC power, ours in AC power: fitted at 10, 50 and 90 % load it must
    # predict the rest. The cubic term left out is about twice the square of the square term, 6e-10 per W2,
    # which an interpolation over 800 W leaves at 0.02 W: 0.03 W is allowed.
    fitted_w = np.array([100.0, 500.0, 900.0])
    ac_w = pvwatts(fitted_w)
    model = loss_model_from_efficiencies(list(zip(ac_w, ac_w / fitted_w, strict=True)))
    elsewhere_w = np.array([10.0, 50.0, 200.0, 300.0, 700.0, 800.0])
    assert model.dc_power_w(pvwatts(elsewhere_w)) == pytest.approx(elsewhere_w, abs=0.03)
    # No load: the published loss 0.0059 x 1000 W x 0.96/0.9637, referred to the input
    assert model.idle_w == pytest.approx(5.9 / 0.9858, abs=0.05)
