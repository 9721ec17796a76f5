"""Conductors: gauge, area, resistance and drop."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.install.conductor import (
    AREA_PRINTING_TOLERANCE,
    STANDARD_AWG,
    area_for_drop_m2,
    awg_area_m2,
    awg_diameter_m,
    awg_name,
    drop_fraction,
    drop_v,
    gauge_for_drop,
    largest_awg_within,
    loop_length_m,
    resistance_ohm,
    sae_area_m2,
)

AT_20_C = 293.15
gauges = st.sampled_from(STANDARD_AWG)
lengths = st.floats(0.0, 100.0)
currents = st.floats(0.1, 500.0)


def test_end_points_of_the_gauge_series_are_exact():
    # ASTM B258: 4/0 is 0.46 in, number 36 is 0.005 in
    assert awg_diameter_m(-3) == pytest.approx(0.46 * 0.0254, rel=1e-12)
    assert awg_diameter_m(36) == pytest.approx(0.005 * 0.0254, rel=1e-12)


@pytest.mark.parametrize(
    ("number", "area_mm2", "mohm_per_m"),
    [(8, 8.37, 2.061), (6, 13.30, 1.296), (4, 21.15, 0.8152), (-1, 67.43, 0.2557)],
)
def test_area_and_resistance_follow_from_the_gauge(number, area_mm2, mohm_per_m):
    # By hand from ASTM B258 and IEC 60028; half of the last printed digit
    assert awg_area_m2(number) * 1e6 == pytest.approx(area_mm2, abs=0.005)
    ohm = resistance_ohm(awg_area_m2(number), 1.0, AT_20_C, stranded=False)
    assert ohm * 1e3 == pytest.approx(mohm_per_m, abs=0.0005)


def test_copper_at_60_degrees_resists_more():
    # By hand: 0.81515 mohm/m x (1 + 0.00393 x 40) = 0.9433; half of the last digit
    warm = resistance_ohm(awg_area_m2(4), 1.0, 333.15, stranded=False)
    assert warm * 1e3 == pytest.approx(0.9433, abs=5e-5)


def test_stranding_adds_two_per_cent_only_when_asked():
    # The allowance is 1.02 exactly; rel covers float rounding
    plain = resistance_ohm(21.15e-6, 5.0, AT_20_C, stranded=False)
    assert plain == pytest.approx(0.017241e-6 * 5.0 / 21.15e-6, rel=1e-12)
    assert resistance_ohm(21.15e-6, 5.0, AT_20_C, stranded=True) / plain == pytest.approx(1.02, rel=1e-12)


def test_voltage_drop_counts_the_way_back():
    # By hand: 100 A, AWG 4, 2.5 m one way, 0.8152 mohm/m; half of the last digit throughout
    loop = drop_v(100.0, resistance_ohm(awg_area_m2(4), loop_length_m(2.5), AT_20_C, stranded=False))
    forgotten = drop_v(100.0, resistance_ohm(awg_area_m2(4), 2.5, AT_20_C, stranded=False))
    assert loop == pytest.approx(0.408, abs=0.0005)
    assert forgotten == pytest.approx(0.204, abs=0.0005)
    assert drop_fraction(loop, 12.8) == pytest.approx(0.0318, abs=5e-5)
    assert drop_fraction(loop, 12.0) == pytest.approx(0.0340, abs=5e-5)


def test_area_for_three_per_cent_lies_between_gauges_4_and_3():
    # By hand: 0.017241 x 100 A x 5 m / 0.384 V = 22.45 mm2
    area = area_for_drop_m2(100.0, 5.0, 0.03 * 12.8)
    assert area * 1e6 == pytest.approx(22.45, abs=0.005)
    assert awg_area_m2(4) < area < awg_area_m2(3)
    assert awg_area_m2(3) * 1e6 == pytest.approx(26.67, abs=0.005)


def test_a_metric_cable_takes_the_next_thinner_row():
    # 25 mm2 lies between AWG 4 (21.15) and AWG 3 (26.67); 120 mm2 is above 4/0 (107.2)
    assert largest_awg_within(25e-6) == 4
    assert largest_awg_within(120e-6) == -3
    assert largest_awg_within(0.5e-6) is None


def test_a_rounded_area_is_still_the_gauge_itself():
    # 21.1 mm2 is AWG 4 printed to three figures, 0.2 % short of 21.15; 20.8 mm2 is 1.7 % short
    assert largest_awg_within(21.1e-6) == 4
    assert largest_awg_within(20.8e-6) == 6


def test_names_of_the_large_gauges_carry_a_slash():
    assert [awg_name(n) for n in (18, 1, 0, -1, -2, -3)] == [
        "AWG 18", "AWG 1", "AWG 1/0", "AWG 2/0", "AWG 3/0", "AWG 4/0",
    ]  # fmt: skip


def test_sae_cable_is_thinner_than_awg_of_its_number():
    # ABYC E-11 quotes the SAE minimum of 8 as 14810 CM; nominal AWG 8 has 16510. No row for 3.
    assert sae_area_m2(8) / awg_area_m2(8) == pytest.approx(14810 / 16510, rel=1e-4)  # 16510 is rounded
    assert sae_area_m2(3) is None


def test_no_gauge_is_offered_when_the_thickest_is_too_thin():
    # 400 A over 100 m at 0.36 V needs about 3.9 million circular mils, 4/0 has 211 600
    assert gauge_for_drop(400.0, 100.0, 0.36) is None


@given(st.sampled_from(list(pairwise(STANDARD_AWG))), lengths, currents)
def test_a_thicker_conductor_never_loses_more(numbers, length, current):
    number, thicker = numbers
    thin = drop_v(current, resistance_ohm(awg_area_m2(number), length, AT_20_C, stranded=False))
    thick = drop_v(current, resistance_ohm(awg_area_m2(thicker), length, AT_20_C, stranded=False))
    assert thick <= thin


@given(gauges, lengths, st.floats(0.0, 1.0), currents)
def test_a_shorter_conductor_never_loses_more(number, length, share, current):
    whole = drop_v(current, resistance_ohm(awg_area_m2(number), length, AT_20_C, stranded=False))
    part = drop_v(current, resistance_ohm(awg_area_m2(number), length * share, AT_20_C, stranded=False))
    assert part <= whole


@given(st.floats(0.8e-6, 200e-6))
def test_the_row_of_an_area_never_has_more_copper_than_the_area(area):
    row = largest_awg_within(area)
    if row is None:
        assert area < awg_area_m2(18)
    else:
        assert awg_area_m2(row) * (1.0 - AREA_PRINTING_TOLERANCE) <= area
