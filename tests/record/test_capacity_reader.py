"""The typed figures of a full discharge: completed, compared, refused."""

from __future__ import annotations

import pytest

from planner.record.reader import read_record
from planner.record.schema import Record
from tests.record.records import AH, METERS, problems_of


def _discharge(lines: str) -> str:
    head = 'format = 1\nname = "Unit (invented)"\n' + METERS
    return f'{head}\n[[capacity_test]]\ntemperature = "25 degC"\n{lines}\n'


def _typed(write, lines: str) -> Record:
    return read_record(
        write(_discharge('cutoff_voltage = "10 V"\nended_by = "cutoff"\ninstrument = "load"\n' + lines))
    )


@pytest.mark.parametrize(
    "lines",
    [
        'current = "20 A"\nduration = "5 h"',
        'current = "20 A"\ncharge = "100 Ah"',
        'duration = "5 h"\ncharge = "100 Ah"',
        'current = "20 A"\ncurve = [["0 Ah", "13.3 V"], ["100 Ah", "10 V"]]',
    ],
)
def test_two_of_current_duration_and_charge_give_the_third(write, lines: str) -> None:
    (test,) = _typed(write, lines).capacity_tests
    # By hand: 20 A for 5 h is 100 Ah; 1e-12 for the roundings.
    assert (test.current_a, test.duration_s, test.charge_c) == pytest.approx(
        (20.0, 18_000.0, 360_000.0), rel=1e-12
    )


@pytest.mark.parametrize(
    "lines", ['duration = "10 h"', 'energy = "1280 Wh"', 'duration = "10 h"\nenergy = "1280 Wh"']
)
def test_a_constant_power_discharge_is_completed_from_duration_or_energy(write, lines: str) -> None:
    (test,) = _typed(write, f'power = "128 W"\ncharge = "100 Ah"\n{lines}').capacity_tests
    # By hand: 128 W for 10 h is 1280 Wh; 1e-12 for the roundings.
    assert (test.duration_s, test.energy_j) == pytest.approx((36_000.0, 1280 * 3600.0), rel=1e-12)
    assert (test.current_a, test.power_w) == (None, 128.0)


def test_figures_of_one_discharge_that_disagree_are_told_both(write) -> None:
    # By hand: 20 A for 5 h is 100 Ah, 2.9 % below 103 Ah.
    record = _typed(write, 'current = "20 A"\nduration = "5 h"\ncharge = "103 Ah"')
    assert record.capacity_tests[0].charge_c == 103 * AH
    (warning,) = record.warnings
    assert "100 Ah" in warning and "103 Ah" in warning and "2.9%" in warning


def test_figures_within_two_per_cent_are_no_disagreement(write) -> None:
    assert _typed(write, 'current = "20 A"\nduration = "5 h"\ncharge = "101.9 Ah"').warnings == ()


def test_an_energy_that_is_not_the_curves_area_is_told(write) -> None:
    curve = 'curve = [["0 Ah", "13 V"], ["100 Ah", "13 V"]]'  # by hand: 1300 Wh
    record = _typed(write, f'current = "20 A"\ncharge = "100 Ah"\nenergy = "1200 Wh"\n{curve}')
    (warning,) = record.warnings
    assert "1300 Wh" in warning and "1200 Wh" in warning


@pytest.mark.parametrize(
    ("lines", "key"),
    [
        ('current = "20 A"', "capacity_test.1"),
        ("", "capacity_test.1"),
        ('power = "100 W"', "capacity_test.1"),
        ('power = "100 W"\nduration = "12 h"', "capacity_test.1.charge"),
        ('power = "100 W"\ncurrent = "8 A"\ncharge = "100 Ah"\nduration = "12 h"', "capacity_test.1.power"),
        ('current = "20 Ah"\ncharge = "100 Ah"', "capacity_test.1.current"),
        ('current = "-20 A"\ncharge = "100 Ah"', "capacity_test.1.current"),
        ('current = "0 A"\ncharge = "100 Ah"', "capacity_test.1.current"),
        ('current = "nan A"\ncharge = "100 Ah"', "capacity_test.1.current"),
        ("current = 20\ncharge = '100 Ah'", "capacity_test.1.current"),
        ('power = "1234567890 W"\ncharge = "100 Ah"\nduration = "5 h"', "capacity_test.1.power"),
        ('current = "20 A"\ncharge = "100 Ah"\nenergy = "128 Wh"', "capacity_test.1.energy"),
        (
            'current = "20 A"\ncharge = "100 Ah"\ncurve = [["1 Ah", "13 V"], ["100 Ah", "10 V"]]',
            "capacity_test.1.curve.1.1",
        ),
        (
            'current = "20 A"\ncharge = "99 Ah"\ncurve = [["0 Ah", "13 V"], ["9 Ah", "9 V"], ["9 Ah", "9 V"]]',
            None,
        ),
        (
            'current = "20 A"\ncharge = "100 Ah"\ncurve = [["0 Ah", "13 V"], ["94 Ah", "10 V"]]',
            "capacity_test.1.curve",
        ),
        (
            'current = "20 A"\ncharge = "100 Ah"\ncurve = [["0 Ah", "12 V"], ["50 Ah", "13 V"], ["100 Ah", "14 V"]]',
            "capacity_test.1.curve",
        ),
        ('current = "20 A"\ncharge = "100 Ah"\ncurve = [["0 Ah", "26 V"], ["100 Ah", "20 V"]]', None),
        ('current = "20 A"\ncharge = "100 Ah"\ncurve = [["0 Ah", "13 V"]]', None),
        ('current = "20 A"\ncharge = "100 Ah"\nlog = "no.csv"', "capacity_test.1.log"),
        ('curent = "20 A"\nduration = "1 h"\ncharge = "100 Ah"', "capacity_test.1.curent"),
    ],
)
def test_a_discharge_that_cannot_be_right_is_refused_at_its_key(write, lines: str, key: str | None) -> None:
    stated = 'cutoff_voltage = "10 V"\nended_by = "cutoff"\ninstrument = "load"\n'
    problems = problems_of(write(_discharge(stated + lines)))
    assert key in problems if key else any(found.startswith("capacity_test.1.curve") for found in problems)
    assert all(problem.fix for problem in problems.values())


def test_without_a_cutoff_the_curves_last_voltage_or_the_end_voltage_counts(write) -> None:
    lines = 'ended_by = "undervoltage"\ninstrument = "load"\ncurrent = "20 A"\ncharge = "100 Ah"\n'
    curve = 'curve = [["0 Ah", "13.3 V"], ["100 Ah", "9.5 V"]]\n'
    assert read_record(write(_discharge(lines + curve))).capacity_tests[0].cutoff_v == 9.5
    assert read_record(write(_discharge(lines + 'end_voltage = "9.8 V"\n'))).capacity_tests[0].cutoff_v == 9.8
    assert "capacity_test.1.cutoff_voltage" in problems_of(write(_discharge(lines)))
