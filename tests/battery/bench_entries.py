"""Entries of invented bench records, for the envelope."""

from __future__ import annotations

from planner.battery.envelope import build_envelope, classify
from planner.record.schema import CapacityTest, CurrentTest, Instrument, Record, TestConditions

CLAMP = Instrument("clamp", current_gain=0.02, current_floor_a=0.5, time_s=0.5)
SHUNT = Instrument("load", current_gain=0.005, time_s=1.0)
EXACT = Instrument("ideal", current_gain=0.0, time_s=0.0)
AH = 3600.0


def hold(current_a, duration_s, ended_by="clock", instrument=CLAMP, place="current_test.1", cell_k=298.15):
    at = TestConditions(place, instrument, cell_k)
    return CurrentTest(at, "hold", current_a, duration_s, None, ended_by)


def ramp(end_a, rate, ended_by="trip", instrument=CLAMP, place="current_test.9"):
    return CurrentTest(TestConditions(place, instrument), "ramp", end_a, None, rate, ended_by)


def discharge(
    current_a,
    charge_ah,
    ended_by="cutoff",
    end_v=None,
    instrument=SHUNT,
    place="capacity_test.1",
    cell_k=298.15,
):
    at = TestConditions(place, instrument, cell_k, end_v=end_v)
    charge_c = charge_ah * AH
    return CapacityTest(at, current_a, None, charge_c / current_a, charge_c, None, 10.0, ended_by)


# Invented unit one: two full discharges, holds, a trip at 180 A, a ramp.
UNIT_ONE = Record(
    "Invented unit one",
    capacity_tests=(
        discharge(20.0, 103.4),
        discharge(100.0, 100.9, place="capacity_test.2"),
    ),
    current_tests=(
        hold(150.0, 60.0),
        hold(200.0, 5.0, place="current_test.2"),
        hold(180.0, 11.0, "trip", place="current_test.3"),
        ramp(268.0, 20.0, place="current_test.4"),
    ),
)
# Invented unit two: trips at its label's current.
UNIT_TWO = Record(
    "Invented unit two",
    capacity_tests=(discharge(20.0, 93.1),),
    current_tests=(
        hold(80.0, 1800.0),
        hold(150.0, 3.0, place="current_test.2"),
        hold(100.0, 580.0, "trip", place="current_test.3"),
        ramp(176.0, 20.0, place="current_test.4"),
    ),
)
# Invented unit three: a small one with a ramp trip.
UNIT_THREE = Record(
    "Invented unit three",
    capacity_tests=(discharge(10.0, 51.7), discharge(50.0, 49.9, place="capacity_test.2")),
    current_tests=(hold(100.0, 10.0), ramp(141.0, 20.0, place="current_test.2")),
)
# A hold of a quarter of an hour, a trip after 20 s and an immediate opening.
OPENING = Record(
    "Invented unit four",
    current_tests=(
        hold(105.0, 900.0),
        hold(300.0, 20.0, "trip", place="current_test.2"),
        hold(400.0, 0.0, "trip", place="current_test.3"),
    ),
)


def zone_name(record, current_a, duration_s):
    return classify(build_envelope(record), current_a, duration_s).name
