"""Adiabatic limit of a conductor."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.install.short_time import conductor_k, copper_k, time_to_limit_s


@pytest.mark.parametrize(
    ("initial_c", "final_c", "k"),
    [
        (70, 160, 115.0045),  # PVC, printed 115, IEC 60364-4-43 Table 43A
        (90, 250, 143.0835),  # XLPE, printed 143
        (70, 140, 102.804),  # printed 103
        (90, 140, 85.554),  # printed 86
        (90, 160, 99.884),  # printed 100
        (60, 200, 140.941),  # rubber, printed 141
        (85, 220, 134.169),  # rubber, printed 134
        (30, 200, 159.2225),
        (180, 350, 132.49),  # silicone, printed 132: the table rounds down
    ],
)
def test_k_of_copper_by_the_published_formula(initial_c, final_c, k):
    # IEC 60949 constants worked by hand; to the digits shown
    assert copper_k(initial_c, final_c) == pytest.approx(k, abs=0.005)


def test_the_american_form_gives_the_same_currents():
    # ICEA P-32-382 for 10380 CM: 549.5 A for 1 s from 75 to 150 degC, 746.8 A from 90 to 250 degC.
    # Its constants (0.0297, 234) are rounded: the two forms differ by up to 1 %.
    area_mm2 = 10380 * 5.06707479097e-4
    assert copper_k(75, 150) * area_mm2 == pytest.approx(549.5, rel=0.01)
    assert copper_k(90, 250) * area_mm2 == pytest.approx(746.8, rel=0.01)


def test_time_to_the_limit_is_k_times_area_over_current_squared():
    # By hand: (115 x 21.15 / 1000)^2 = 5.916 s
    assert time_to_limit_s(21.15e-6, 1000.0, 115.0) == pytest.approx(5.916, abs=0.0005)


def test_a_cable_starts_at_its_class_and_ends_at_its_material():
    assert conductor_k(363.15) == pytest.approx(copper_k(90, 160), rel=1e-12)
    assert conductor_k(None) == pytest.approx(copper_k(60, 160), rel=1e-12)
    assert conductor_k(473.15) == pytest.approx(copper_k(200, 350), rel=1e-12)
    assert conductor_k(323.15) is None


@given(st.floats(1e-6, 1e-4), st.floats(100.0, 1e4), st.floats(0.0, 1e4))
def test_more_current_is_stood_for_no_longer(area, current, extra):
    assert time_to_limit_s(area, current + extra, 115.0) <= time_to_limit_s(area, current, 115.0)
