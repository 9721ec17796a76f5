"""Laws of the envelope, on drawn records and needs."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from planner.battery.envelope import (
    CONFLICT,
    DEMONSTRATED,
    TRIPS,
    UNTESTED,
    WITHIN_METER_ERROR,
    build_envelope,
    classify,
    frontier,
)
from planner.record.schema import Record
from tests.battery.bench_entries import discharge, hold, ramp, zone_name

GOODNESS = {TRIPS: 0, CONFLICT: 1, UNTESTED: 1, WITHIN_METER_ERROR: 1, DEMONSTRATED: 2}
ENDS = st.sampled_from(["clock", "trip", "operator", "meter", "undervoltage"])
HOLDS = st.builds(hold, st.floats(5, 300), st.floats(0, 3600), ENDS)
RAMPS = st.builds(ramp, st.floats(50, 300), st.floats(1, 50), ENDS)
DISCHARGES = st.builds(
    discharge,
    st.floats(5, 120),
    st.floats(20, 110),
    st.sampled_from(["cutoff", "undervoltage", "trip", "clock"]),
    st.none() | st.floats(9.5, 13.0),
    cell_k=st.sampled_from([263.15, 298.15]),
)


def numbered(tests, name):
    return tuple(
        dataclasses.replace(test, at=dataclasses.replace(test.at, place=f"{name}.{n}"))
        for n, test in enumerate(tests, 1)
    )


RECORDS = st.builds(
    lambda currents, capacities: Record(
        "x",
        current_tests=numbered(currents, "current_test"),
        capacity_tests=numbered(capacities, "capacity_test"),
    ),
    st.lists(HOLDS | RAMPS, max_size=4),
    st.lists(DISCHARGES, max_size=3),
)
NEEDS = st.tuples(st.floats(0.5, 320), st.floats(0, 20000))


def without_each(record):
    for n in range(len(record.current_tests)):
        left = record.current_tests[:n] + record.current_tests[n + 1 :]
        yield dataclasses.replace(record, current_tests=left)
    for n in range(len(record.capacity_tests)):
        left = record.capacity_tests[:n] + record.capacity_tests[n + 1 :]
        yield dataclasses.replace(record, capacity_tests=left)


@given(RECORDS, NEEDS)
def test_removing_a_test_never_turns_a_bad_zone_into_a_good_one(record, need):
    before = zone_name(record, *need)
    for fewer in without_each(record):
        after = zone_name(fewer, *need)
        if before == TRIPS:
            assert after != DEMONSTRATED
        elif before != CONFLICT:  # a conflict is the only zone that one test less may resolve
            assert GOODNESS[after] <= GOODNESS[before]


@given(RECORDS, NEEDS, st.floats(0, 0.1), st.floats(0, 5))
def test_a_wider_error_never_improves_a_zone(record, need, gain, time_s):
    def worse(test):
        meter = test.at.instrument
        wider = dataclasses.replace(
            meter, current_gain=meter.current_gain + gain, time_s=meter.time_s + time_s
        )
        return dataclasses.replace(test, at=dataclasses.replace(test.at, instrument=wider))

    wide = dataclasses.replace(
        record,
        current_tests=tuple(map(worse, record.current_tests)),
        capacity_tests=tuple(map(worse, record.capacity_tests)),
    )
    assert GOODNESS[zone_name(wide, *need)] <= GOODNESS[zone_name(record, *need)]


@given(RECORDS, NEEDS, st.floats(0, 100), st.floats(0, 1000))
def test_a_larger_need_never_improves_a_zone(record, need, more_a, more_s):
    raised = zone_name(record, need[0] + more_a, need[1] + more_s)
    assert GOODNESS[raised] <= GOODNESS[zone_name(record, *need)]


@given(RECORDS, NEEDS)
def test_the_order_of_the_tests_changes_nothing(record, need):
    turned = dataclasses.replace(
        record, current_tests=record.current_tests[::-1], capacity_tests=record.capacity_tests[::-1]
    )
    assert build_envelope(turned) == build_envelope(record)
    assert classify(build_envelope(turned), *need) == classify(build_envelope(record), *need)


@given(RECORDS, st.floats(0, 5000))
def test_the_frontier_agrees_with_the_zone_on_both_sides(record, duration_s):
    envelope = build_envelope(record)
    edge_a = frontier(envelope, np.array([duration_s])).demonstrated_a[0]
    if math.isnan(edge_a):
        assert classify(envelope, 1e-6, duration_s).name != DEMONSTRATED
    else:
        # 1e-6: well outside the 1e-9 that the edges forgive
        assert classify(envelope, edge_a * (1 - 1e-6), duration_s).name == DEMONSTRATED
        assert classify(envelope, edge_a * (1 + 1e-6), duration_s).name != DEMONSTRATED
