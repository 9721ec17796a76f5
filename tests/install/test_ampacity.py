"""Allowable current: factors, columns, rounding, and the copper's own temperature."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.install.ampacity import (
    INSULATION_CLASSES_C,
    ampacity,
    bundle_factor,
    insulation_column,
    metal_temperature_k,
    whole_amperes,
)
from planner.install.conductor import STANDARD_AWG, awg_area_m2

CLASS_105_K = 378.15


def cell_of(number, column_c=105, engine_space=False, bundled=None):
    return ampacity(awg_area_m2(number), column_c + 273.15, engine_space, bundled)


@pytest.mark.parametrize(
    ("stated_c", "column"),
    [
        (59, None),
        (60, 60),
        (70, 60),
        (75, 75),
        (100, 90),
        (105, 105),
        (110, 105),
        (150, 125),
        (200, 200),
        (250, 200),
    ],
)
def test_insulation_between_columns_takes_the_next_lower(stated_c, column):
    assert insulation_column(stated_c + 273.15) == column


def test_insulation_not_stated_takes_the_60_degree_column():
    assert ampacity(awg_area_m2(4), None, False, None).value_a == 105.0  # 33 CFR 183.425 Table 5


def test_every_class_is_found_after_its_kelvin_round_trip():
    assert [insulation_column(c + 273.15) for c in INSULATION_CLASSES_C] == list(INSULATION_CLASSES_C)


def test_engine_space_and_bundle_multiply():
    # 33 CFR 183.425 Table 5: AWG 4 at 105 degC 160 A; note 1 x 0.85 = 136.0; note 2, bundle of 3, x 0.70
    assert cell_of(4).value_a == 160.0
    assert cell_of(4, engine_space=True).value_a == 136.0
    assert cell_of(4, engine_space=True, bundled=3).value_a == pytest.approx(95.2, rel=1e-12)


@pytest.mark.parametrize(
    ("conductors", "factor"),
    [
        (None, 1.0),
        (1, 1.0),
        (2, 1.0),
        (3, 0.70),
        (4, 0.60),
        (6, 0.60),
        (7, 0.50),
        (24, 0.50),
        (25, 0.40),
        (90, 0.40),
    ],
)
def test_bundle_factor_changes_at_3_4_7_and_25_conductors(conductors, factor):
    assert bundle_factor(conductors) == factor  # 33 CFR 183.425 Table 5 note 2


def test_a_conductor_outside_the_table_has_no_ampacity():
    assert ampacity(0.5e-6, CLASS_105_K, False, None) is None
    assert ampacity(awg_area_m2(4), 323.15, False, None) is None  # 50 degC insulation


def test_source_names_table_column_and_factors():
    assert cell_of(4).source == "33 CFR 183.425 Table 5, 105 degC column"
    text = cell_of(4, engine_space=True, bundled=4).source
    assert "0.85" in text and "note 1" in text and "0.60" in text and "note 2" in text


def test_printed_amperes_round_down_where_the_published_column_rounds_to_even():
    # 210 x 0.85 = 178.5 and 35 x 0.85 = 29.75; the published column has 178 and 30
    assert whole_amperes(cell_of(2, engine_space=True).value_a) == 178
    assert whole_amperes(cell_of(14, engine_space=True).value_a) == 29


def test_a_whole_product_is_not_floored_for_the_last_bit_of_a_float():
    # 100 x 0.58 is 57.99999999999999 in binary
    assert whole_amperes(100 * 0.58) == 58


def test_copper_reaches_its_class_at_the_tables_current():
    # The anchor of the estimate: cell current, 30 degC around, ends at 105 degC
    assert metal_temperature_k(160.0, cell_of(4), False) == pytest.approx(CLASS_105_K, abs=1e-9)


def test_copper_without_current_is_as_warm_as_the_air():
    assert metal_temperature_k(0.0, cell_of(4), False) == pytest.approx(303.15, abs=1e-9)
    assert metal_temperature_k(0.0, cell_of(4), True) == pytest.approx(323.15, abs=1e-9)


def test_copper_temperature_solves_its_own_heat_balance():
    # By hand: rise = 75 K x (100/160)^2 x (1 + 0.00393(T - 20))/(1 + 0.00393 x 85)
    metal_c = metal_temperature_k(100.0, cell_of(4), False) - 273.15
    balance = 30.0 + 75.0 * (100.0 / 160.0) ** 2 * (1 + 0.00393 * (metal_c - 20)) / (1 + 0.00393 * 85)
    assert metal_c == pytest.approx(balance, abs=1e-9)
    assert 50.0 < metal_c < 60.0


def test_far_above_the_table_the_copper_has_no_steady_temperature():
    # 75 x 0.00393/1.334 = 0.221 at the cell's current: the gain reaches one at 2.13 times it
    assert metal_temperature_k(400.0, cell_of(18), False) is None
    assert metal_temperature_k(2.0 * 160.0, cell_of(4), False) is not None


@given(
    st.sampled_from(INSULATION_CLASSES_C),
    st.floats(0.82e-6, 150e-6),
    st.floats(0.0, 50e-6),
    st.booleans(),
    st.one_of(st.none(), st.integers(1, 40)),
)
def test_more_copper_never_carries_less(column_c, area, extra, engine_space, bundled):
    less = ampacity(area, column_c + 273.15, engine_space, bundled)
    more = ampacity(area + extra, column_c + 273.15, engine_space, bundled)
    assert less is not None and more is not None
    assert more.value_a >= less.value_a


@given(st.sampled_from(STANDARD_AWG), st.floats(333.15, 480.0), st.floats(0.0, 60.0))
def test_better_insulation_never_carries_less(number, class_k, better_k):
    area = awg_area_m2(number)
    assert (
        ampacity(area, class_k + better_k, False, None).value_a
        >= ampacity(area, class_k, False, None).value_a
    )


@given(st.sampled_from(STANDARD_AWG), st.floats(0.0, 500.0), st.floats(0.0, 100.0))
def test_more_current_never_leaves_the_copper_cooler(number, current, extra):
    cell = cell_of(number)
    low, high = metal_temperature_k(current, cell, False), metal_temperature_k(current + extra, cell, False)
    assert high is None or (low is not None and high >= low)
