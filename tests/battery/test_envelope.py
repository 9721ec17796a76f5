"""Zones of a need: what holds, ramps, trips and full discharges show. All bench data invented."""

from __future__ import annotations

import dataclasses
import math

import pytest

from planner.battery.envelope import (
    CONFLICT,
    DEMONSTRATED,
    TRIPS,
    UNTESTED,
    WITHIN_METER_ERROR,
    Envelope,
    build_envelope,
    classify,
    covering_passes,
    frontier,
    largest_demonstrated_a,
    worst,
)
from planner.record.schema import CapacityTest, Record, TestConditions
from tests.battery.bench_entries import (
    AH,
    EXACT,
    OPENING,
    UNIT_ONE,
    UNIT_THREE,
    UNIT_TWO,
    discharge,
    hold,
    ramp,
    zone_name,
)


@pytest.mark.parametrize(
    ("current_a", "duration_s", "zone"),
    [
        # By hand: 150 A less 3.5 A, 200 A less 4.5 A, 100 A less 0.5 A; 180 A tripped after 11 s
        (140.0, 8.0, DEMONSTRATED),
        (190.0, 4.0, DEMONSTRATED),
        (99.0, 3000.0, DEMONSTRATED),
        (148.0, 45.0, WITHIN_METER_ERROR),
        (120.0, 240.0, UNTESTED),
        (185.0, 15.0, TRIPS),
        (180.0, 11.0, TRIPS),  # the reading itself: meter error never excuses a trip
        (176.0, 12.0, WITHIN_METER_ERROR),  # 180 A less 4.1 A is 175.9 A
        (160.0, 4.0, DEMONSTRATED),
        (170.0, 15.0, UNTESTED),  # between tested points: the line through two passes is not a pass
        (135.0, 900.0, UNTESTED),
    ],
)
def test_zones_of_unit_one(current_a, duration_s, zone):
    assert zone_name(UNIT_ONE, current_a, duration_s) == zone


@pytest.mark.parametrize(
    ("current_a", "duration_s", "zone"),
    [
        # common practice, no source
        (290.0, 5.0, DEMONSTRATED),
        (300.0, 5.0, WITHIN_METER_ERROR),
        (300.0, 25.0, TRIPS),
        (350.0, 5.0, UNTESTED),
        (400.0, 0.0, TRIPS),
    ],
)
def test_a_trip_after_a_while_is_a_pass_until_then(current_a, duration_s, zone):
    assert zone_name(OPENING, current_a, duration_s) == zone


def test_a_hold_that_tripped_loses_the_timers_error():
    # By hand: tripped at 20 s, timer 0.5 s: passed for 19.5 s
    assert zone_name(OPENING, 290.0, 19.5) == DEMONSTRATED
    assert zone_name(OPENING, 290.0, 19.6) == UNTESTED


@pytest.mark.parametrize(
    ("current_a", "duration_s", "zone"),
    [
        # By hand: 50 A less 0.25 A; 100 A less 2.5 A; ramp from 141 A gives about a second above 118 A
        (48.0, 51.0, DEMONSTRATED),
        (96.0, 6.0, DEMONSTRATED),
        (55.0, 51.0, UNTESTED),
        (70.0, 25.0, UNTESTED),
        (118.0, 4.0, UNTESTED),
        (62.0, 25.0, UNTESTED),
    ],
)
def test_zones_of_a_small_units_log(current_a, duration_s, zone):
    assert zone_name(UNIT_THREE, current_a, duration_s) == zone


def test_the_largest_demonstrated_current_is_the_reading_less_its_error():
    three = build_envelope(UNIT_THREE)
    # By hand: 49.9 Ah at 50 A lasts 3593 s, 50 - 0.25 A; 100 - (2 % + 0.5 A) for 10 s. Exact arithmetic.
    assert largest_demonstrated_a(three, 3592.0) == pytest.approx(49.75, rel=1e-9)
    assert largest_demonstrated_a(three, 10.0) == pytest.approx(97.5, rel=1e-9)
    two = build_envelope(UNIT_TWO)
    assert largest_demonstrated_a(two, 1800.0) == pytest.approx(77.9, rel=1e-9)


def test_twenty_minutes_at_a_current_that_tripped_before_ten_is_a_trip():
    # By hand: 100 A tripped at 580 s; 1200 s at 100 A is twice as long
    assert zone_name(UNIT_TWO, 100.0, 1200.0) == TRIPS
    assert zone_name(UNIT_TWO, 99.0, 1200.0) == WITHIN_METER_ERROR
    assert zone_name(UNIT_TWO, 77.9, 1800.0) == DEMONSTRATED


def test_the_margin_is_to_the_largest_demonstrated_current_for_that_time():
    # By hand: 200 - 4.5 - 190 = 5.5 A
    zone = classify(build_envelope(UNIT_ONE), 190.0, 4.0)
    assert zone.margin_a == pytest.approx(5.5, rel=1e-9)
    assert zone.by is not None and zone.by.source == "current_test.2"


@pytest.mark.parametrize(("current_a", "duration_s"), [(148.0, 45.0), (120.0, 240.0), (185.0, 15.0)])
def test_there_is_no_margin_unless_demonstrated(current_a, duration_s):
    assert classify(build_envelope(UNIT_ONE), current_a, duration_s).margin_a is None


def test_a_small_load_for_three_days_is_within_a_full_discharge():
    # By hand: 103.4 Ah lasts 51.7 h at 2 A and 73.9 h at 1.4 A
    assert zone_name(UNIT_ONE, 2.0, 51.0 * 3600.0) == DEMONSTRATED
    assert zone_name(UNIT_ONE, 1.4, 72.0 * 3600.0) == DEMONSTRATED
    assert zone_name(UNIT_ONE, 2.0, 53.0 * 3600.0) == UNTESTED


def test_no_current_lasts_for_ever_on_any_full_discharge():
    assert zone_name(UNIT_ONE, 0.0, 1e9) == DEMONSTRATED


@pytest.mark.parametrize(("above_a", "seconds"), [(180.0, 4.4), (220.0, 2.4), (250.0, 0.9)])
def test_a_ramp_passes_every_current_on_its_way(above_a, seconds):
    # By hand: (268 - a) / 20, with ideal meters
    envelope = build_envelope(Record("x", current_tests=(ramp(268.0, 20.0, instrument=EXACT),)))
    assert classify(envelope, above_a, seconds - 0.01).name == DEMONSTRATED
    assert classify(envelope, above_a, seconds + 0.01).name == UNTESTED


def test_a_ramp_loses_the_meters_error():
    # By hand: u at 268 A is 5.86 A, timer 0.5 s: (268 - 5.86 - 180) / 20 - 0.5 = 3.607 s; outer edge
    # (268 + 5.86 - 180) / 20 - 0.5 = 4.193 s
    envelope = build_envelope(Record("x", current_tests=(ramp(268.0, 20.0),)))
    assert classify(envelope, 180.0, 3.60).name == DEMONSTRATED
    assert classify(envelope, 180.0, 3.62).name == WITHIN_METER_ERROR
    assert classify(envelope, 180.0, 4.18).name == WITHIN_METER_ERROR
    assert classify(envelope, 180.0, 4.21).name == UNTESTED


def test_a_slow_ramp_would_spend_long_above_a_current_that_trips_soon():
    # By hand: (268 - 180) / 2 = 44 s above 180 A, where a hold tripped at 11 s
    slow = Record("x", current_tests=(ramp(268.0, 2.0, instrument=EXACT), hold(180.0, 11.0, "trip", EXACT)))
    zone = classify(build_envelope(slow), 180.0, 43.9)
    assert zone.name == CONFLICT
    assert {type(entry).__name__ for entry in zone.entries} == {"Pass", "Trip"}


def test_a_ramp_trips_after_its_whole_way_up():
    # By hand: 268 A / 20 A/s = 13.4 s
    envelope = build_envelope(Record("x", current_tests=(ramp(268.0, 20.0),)))
    assert classify(envelope, 268.0, 13.4).name == TRIPS
    assert classify(envelope, 300.0, 13.3).name == UNTESTED


def test_a_ramp_stopped_by_the_operator_condemns_nothing():
    envelope = build_envelope(Record("x", current_tests=(ramp(268.0, 20.0, "operator"),)))
    assert envelope.trips == ()
    assert classify(envelope, 300.0, 60.0).name == UNTESTED
    assert classify(envelope, 180.0, 3.0).name == DEMONSTRATED


def test_a_long_hold_shows_half_its_current_for_as_long_as_the_charge_lasts():
    # By hand: (150 - 3.5) / 2 = 73.25 A; 103.4 Ah lasts 5082 s at that current
    long = dataclasses.replace(
        UNIT_ONE, capacity_tests=UNIT_ONE.capacity_tests[:1], current_tests=(hold(150.0, 900.0),)
    )
    assert zone_name(long, 73.2, 5080.0) == DEMONSTRATED
    assert zone_name(long, 73.3, 5000.0) == UNTESTED
    assert zone_name(long, 73.2, 5100.0) == UNTESTED
    short = dataclasses.replace(long, current_tests=(hold(150.0, 899.0),))
    assert zone_name(short, 73.2, 5000.0) == UNTESTED
    tripped = dataclasses.replace(long, current_tests=(hold(150.0, 900.0, "trip"),))
    assert zone_name(tripped, 73.2, 5000.0) == UNTESTED
    assert zone_name(dataclasses.replace(long, capacity_tests=()), 73.2, 5000.0) == UNTESTED


def test_half_of_a_long_hold_speaks_from_the_warmer_of_its_two_tests():
    cold_hold, warm_discharge = hold(150.0, 900.0, cell_k=263.15), discharge(20.0, 103.4)
    envelope = build_envelope(Record("x", current_tests=(cold_hold,), capacity_tests=(warm_discharge,)))
    assert [held.cell_k for held in envelope.passes if held.kind == "lasting half"] == [298.15]


def test_a_full_discharge_that_tripped_condemns():
    record = Record("x", capacity_tests=(discharge(100.0, 60.0, "trip", end_v=12.6),))
    # By hand: 60 Ah at 100 A is 2160 s
    assert zone_name(record, 100.0, 2160.0) == TRIPS
    assert zone_name(record, 99.0, 2000.0) == DEMONSTRATED
    assert zone_name(record, 99.0, 2200.0) == UNTESTED
    assert build_envelope(record).questions == ()


@pytest.mark.parametrize("end_v", [10.0, 10.5])
def test_a_trip_at_the_cutoff_was_an_empty_unit_and_is_asked_about(end_v):
    record = Record("x", capacity_tests=(discharge(100.0, 60.0, "trip", end_v=end_v),))
    assert zone_name(record, 100.0, 2160.0) == WITHIN_METER_ERROR
    assert len(build_envelope(record).questions) == 1


def test_a_trip_after_nine_tenths_of_another_tests_charge_was_an_empty_unit():
    late = discharge(100.0, 93.1, "trip", end_v=12.0, place="capacity_test.2")
    record = Record("x", capacity_tests=(discharge(20.0, 103.4), late))
    # By hand: 0.9 x 103.4 = 93.06 Ah
    assert zone_name(record, 99.0, 3300.0) == DEMONSTRATED
    assert len(build_envelope(record).questions) == 1
    early = discharge(100.0, 93.0, "trip", end_v=12.0, place="capacity_test.2")
    record = Record("x", capacity_tests=(discharge(20.0, 103.4), early))
    assert zone_name(record, 100.0, 3400.0) == TRIPS


def test_a_colder_tests_smaller_charge_excuses_no_trip():
    late = discharge(100.0, 80.0, "trip", end_v=12.6, place="capacity_test.2")
    cold = discharge(20.0, 86.1, cell_k=263.15)
    assert zone_name(Record("x", capacity_tests=(cold, late)), 100.0, 3000.0) == TRIPS


@pytest.mark.parametrize("ended_by", ["cutoff", "undervoltage", "clock", "operator", "meter"])
def test_no_other_end_of_a_full_discharge_condemns(ended_by):
    envelope = build_envelope(Record("x", capacity_tests=(discharge(100.0, 60.0, ended_by),)))
    assert envelope.trips == ()
    assert classify(envelope, 99.5, 2160.0).name == DEMONSTRATED


def test_a_constant_power_discharge_passes_its_mean_current():
    at = TestConditions("capacity_test.1", EXACT)
    test = CapacityTest(at, None, 600.0, 7200.0, 100.0 * AH, None, 10.0, "cutoff")
    # By hand: 100 Ah in 2 h is 50 A
    assert largest_demonstrated_a(build_envelope(Record("x", capacity_tests=(test,))), 60.0) == 50.0


def test_a_hold_that_emptied_the_unit_shows_nothing_and_is_warned_about():
    envelope = build_envelope(Record("x", current_tests=(hold(100.0, 600.0, "undervoltage"),)))
    assert envelope.passes == () and envelope.trips == ()
    assert any("capacity test" in warning for warning in envelope.warnings)


def test_an_unstated_meter_blurs_by_the_handbook_and_only_the_reader_warns():
    envelope = build_envelope(Record("x", current_tests=(hold(100.0, 60.0, instrument=None),)))
    # Common practice, no source: 3 % + 1 A
    assert largest_demonstrated_a(envelope, 60.0) == pytest.approx(96.0, rel=1e-9)
    assert envelope.warnings == ()  # the record's reader has told it


def test_a_record_without_current_tests_demonstrates_nothing():
    envelope = build_envelope(Record("x"))
    assert classify(envelope, 1.0, 1.0).name == UNTESTED
    assert largest_demonstrated_a(envelope, 1.0) is None


def test_a_conflict_shows_both_entries_and_no_margin():
    record = Record(
        "x", current_tests=(hold(120.0, 900.0), hold(100.0, 580.0, "trip", place="current_test.2"))
    )
    zone = classify(build_envelope(record), 105.0, 700.0)
    assert zone.name == CONFLICT and zone.margin_a is None
    assert {entry.source for entry in zone.entries} == {"current_test.1", "current_test.2"}
    # Below the contradiction the hold stands, and its margin ends at the trip's reading: 100 - 90
    assert classify(build_envelope(record), 90.0, 700.0).margin_a == pytest.approx(10.0, rel=1e-9)


def test_a_silenced_pass_neither_covers_nor_blurs():
    envelope = build_envelope(UNIT_ONE)
    assert classify(envelope, 140.0, 50.0, lambda held: held.kind != "hold").name == UNTESTED
    assert classify(envelope, 148.0, 45.0, lambda held: held.kind != "hold").name == UNTESTED
    assert classify(envelope, 185.0, 15.0, lambda held: False).name == TRIPS


def test_covering_passes_are_those_that_demonstrate():
    kinds = {held.source for held in covering_passes(build_envelope(UNIT_ONE), 140.0, 50.0)}
    assert kinds == {"current_test.1"}


def test_the_worst_zone_decides_and_ties_go_to_the_least_margin():
    envelope = build_envelope(UNIT_ONE)
    points = [(99.0, 3000.0), (140.0, 8.0), (190.0, 4.0)]
    zones = [classify(envelope, *point) for point in points]
    # By hand: margins 0.5 A, 35.9 A (tripped hold, 175.9 A) and 5.5 A
    assert worst(points, zones) == 0
    points += [(148.0, 45.0), (120.0, 240.0)]
    assert worst(points, [classify(envelope, *point) for point in points]) == 4
    points.append((185.0, 15.0))
    assert worst(points, [classify(envelope, *point) for point in points]) == 5


def test_of_a_steady_pull_and_its_own_mean_square_the_longer_decides():
    # the root of a mean of squares is off in its last digit; the hold that settles it must last as long as the pull
    points = [(70.0, 1200.0), (70.0 * (1.0 + 1e-14), 300.0), (70.0, 900.0)]
    for envelope, name in ((Envelope((), ()), "untested"), (build_envelope(UNIT_ONE), "demonstrated")):
        zones = [classify(envelope, *point) for point in points]
        assert {zone.name for zone in zones} == {name}
        assert worst(points, zones) == 0


def test_the_worst_of_nothing_is_refused():
    with pytest.raises(ValueError):
        worst([], [])
    with pytest.raises(ValueError, match="1 points"):
        worst([(1.0, 1.0)], [])


def test_the_frontier_has_the_edges_of_the_zones():
    edges = frontier(build_envelope(UNIT_ONE), [5.0, 12.0, 60.0, 4000.0])
    # By hand: 195.5 A for 5 s; 146.5 A up to 60 s; 100.9 Ah last 4000 s at 90.81 A, below 99.5 A
    assert edges.demonstrated_a == pytest.approx([195.5, 146.5, 146.5, 90.81], rel=1e-9)
    assert edges.blurred_to_a[0] == pytest.approx(204.5, rel=1e-9)
    assert math.isnan(edges.trips_from_a[0])
    assert edges.trips_from_a[1:] == pytest.approx([180.0] * 3)
    assert edges.blurred_from_a[1:] == pytest.approx([175.9] * 3)
