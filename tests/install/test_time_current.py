"""Opening bands of published classes: fast edge, slow edge, unknown."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.install.sources import Source
from planner.install.time_current import (
    OPERATING_CLASSES,
    Gate,
    OperatingClass,
    RatingRange,
    nuisance,
    opening_time_band,
    operating_class,
    protects,
)

BLADE = OPERATING_CLASSES["ISO 8820-3 blade"]
LARGE = OPERATING_CLASSES["DIN 72581-3 type E"]
SMALL = OPERATING_CLASSES["UL 248-14"]
INVENTED = OperatingClass(
    name="invented",
    hold_s=math.inf,
    ranges=(RatingRange(1.0, 500.0, (Gate(1.35, 300.0, 300.0), Gate(2.0, 5.0, 5.0))),),
    constant_i2t_beyond=False,
    source=Source("invented for the test", "practice"),
    reservation="none",
)


def test_log_log_line_between_two_points():
    # By hand: 135 % at 300 s, 200 % at 5 s; 200 A through 125 A is 1.6: 300 (1.6/1.35)^(ln(5/300)/ln(2/1.35))
    band = opening_time_band(INVENTED, 125.0, 200.0)
    assert band.fast_s == pytest.approx(51.1, abs=0.05)
    assert nuisance(INVENTED, 125.0, 200.0, 5.0) == "no"
    assert nuisance(INVENTED, 125.0, 200.0, 60.0) == "yes"


def test_slow_edge_of_a_blade_fuse_between_200_and_350_per_cent():
    # By hand: 5 s at 200 %, 0.5 s at 350 %, slope -4.114582: 1.99630 s at 250 %; half of the last digit
    band = opening_time_band(BLADE, 40.0, 100.0)
    assert band.slow_s == pytest.approx(1.99630, abs=5e-6)


@pytest.mark.parametrize(("rating", "expected"), [(20.0, 0.036), (40.0, 0.054)])
def test_beyond_its_last_gate_a_blade_fuse_keeps_i2t(rating, expected):
    # By hand: from 0.1 s and 0.15 s at 600 %, 1000 % takes (0.6)^2 of it
    assert opening_time_band(BLADE, rating, 10 * rating).slow_s == pytest.approx(expected, rel=1e-12)


def test_the_large_blade_is_unknown_beyond_its_last_gate():
    assert opening_time_band(LARGE, 60.0, 361.0) is None
    assert protects(LARGE, 60.0, 361.0, 5.0) == "unknown"


def test_the_large_blade_may_take_twelve_times_as_long_at_twice_its_rating():
    # Acceptance points: 60 s against 5 s, gates themselves
    at_twice = opening_time_band(LARGE, 40.0, 80.0).slow_s, opening_time_band(BLADE, 40.0, 80.0).slow_s
    assert at_twice[0] / at_twice[1] == pytest.approx(12.0, rel=1e-9)


@pytest.mark.parametrize("name", list(OPERATING_CLASSES))
def test_no_class_is_said_to_hold_above_its_rating(name):
    kind = OPERATING_CLASSES[name]
    rating = kind.ranges[0].until_a
    assert opening_time_band(kind, rating, rating).fast_s >= 3600.0
    assert opening_time_band(kind, rating, 1.1 * rating) is None
    assert nuisance(kind, rating, 1.1 * rating, 1.0) == "unknown"


def test_at_its_rating_a_fuse_never_protects():
    assert protects(BLADE, 30.0, 30.0, 1e6) == "no"


def test_an_unpublished_fast_edge_is_unknown_and_never_a_pass():
    assert nuisance(SMALL, 20.0, 40.0, 0.1) == "unknown"
    assert protects(SMALL, 20.0, 40.0, 120.0) == "yes"
    assert protects(SMALL, 20.0, 40.0, 119.0) == "no"


def test_a_rating_outside_the_class_is_unknown():
    assert opening_time_band(BLADE, 125.0, 250.0) is None


def test_classes_are_found_by_name_whatever_the_capitals():
    assert operating_class(" iso 8820-3 BLADE ") is BLADE
    assert operating_class("class nobody publishes") is None


@pytest.mark.parametrize("kind", OPERATING_CLASSES.values(), ids=lambda kind: kind.name)
def test_bands_are_ordered_and_every_class_names_its_source(kind):
    assert kind.source.text and kind.source.sure in {"read", "reprint", "memory", "practice"}
    for span in kind.ranges:
        ratios = [gate.ratio for gate in span.gates]
        assert ratios == sorted(ratios) and ratios[0] > 1.0
        for gate in span.gates:
            assert gate.slow_s is not None and (gate.fast_s is None or gate.fast_s < gate.slow_s)


@given(st.sampled_from([BLADE, LARGE]), st.floats(1.35, 6.0), st.floats(0.0, 2.0))
def test_more_current_never_opens_later(kind, ratio, extra):
    low, high = (
        opening_time_band(kind, 30.0, 30.0 * ratio),
        opening_time_band(kind, 30.0, 30.0 * (ratio + extra)),
    )
    if low is not None and high is not None:
        # Float rounding of a power near a gate
        assert high.fast_s <= low.fast_s * (1 + 1e-9) and high.slow_s <= low.slow_s * (1 + 1e-9)
