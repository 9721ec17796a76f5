"""A record's own tests through its own model. Records are invented."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from planner.battery.discharge import BenchRun, course, outcome
from planner.battery.fit import fit_record, step_resistance
from planner.record.reader import read_record
from planner.verdict.replay import discharge_through, replay_record, step_through
from tests.verdict.invented_bench import HALF_SIZE, STURDY, read_unit

UNIT_ONE = Path(__file__).parents[2] / "profiles" / "batteries" / "unit_one.toml"


def test_the_demo_unit_with_the_fullest_record_replays_its_discharges_within_their_error():
    record = read_record(UNIT_ONE)
    found = replay_record(record)
    assert [one.place for one in found.discharges] == [
        "capacity_test.1",
        "capacity_test.2",
        "capacity_test.3",
    ]
    for one, test in zip(found.discharges, record.capacity_tests, strict=True):
        assert one.within
        assert abs(one.model.charge_c - test.charge_c) <= one.charge_u * test.charge_c
        assert abs(one.model.duration_s - test.duration_s) <= one.charge_u * test.duration_s
        assert test.energy_j is not None
        assert abs(one.model.energy_j - test.energy_j) <= one.energy_u * test.energy_j
        # constant current, so that charge and duration are one number twice over
        assert one.model.charge_c == pytest.approx(test.mean_current_a * one.model.duration_s, rel=1e-9)


def test_a_discharge_the_others_cannot_foretell_is_told_apart_from_one_the_model_misses(tmp_path):
    # 86.1 Ah at -10 degC made 60: the unit's own cold loss follows it, a handbook loss per kelvin cannot
    text = STURDY.replace('charge = "86.1 Ah"', 'charge = "60.0 Ah"')
    cold = replay_record(read_unit(tmp_path, text)).discharges[2]
    assert cold.without is not None
    assert cold.without_within is False
    assert abs(cold.model.charge_c - cold.measured.charge_c) < abs(
        cold.without.charge_c - cold.measured.charge_c
    )
    assert cold.without.charge_c > cold.measured.charge_c * (1.0 + cold.charge_u)


def test_fewer_than_three_tests_are_not_predicted_from_the_others(tmp_path):
    found = replay_record(read_unit(tmp_path, HALF_SIZE))
    assert [one.without for one in found.discharges] == [None, None]


def test_a_doctored_discharge_is_shown_as_outside_its_error(tmp_path):
    # the second discharge's 49.9 Ah at 50 A made 56: more than the 51.7 Ah at 10 A, which no resistance gives
    doctored = HALF_SIZE.replace(
        'duration = "3593 s"\ncharge = "49.9 Ah"', 'duration = "4032 s"\ncharge = "56.0 Ah"'
    )
    assert doctored != HALF_SIZE
    honest, false = (replay_record(read_unit(tmp_path, text)) for text in (HALF_SIZE, doctored))
    assert [one.within for one in honest.discharges] == [True, True]
    assert not all(one.within for one in false.discharges)
    assert not false.all_within


def test_an_energy_that_does_not_go_with_its_twins_is_outside(tmp_path):
    # the same discharge twice, 103.4 Ah each, once with 1341 Wh and once with 1400: no one voltage gives both
    place = STURDY.index("[[capacity_test]]")
    first = STURDY[place : STURDY.index("[[capacity_test]]", place + 1)]
    twice = STURDY.replace(first, first + first.replace("1341 Wh", "1400 Wh"))
    found = replay_record(read_unit(tmp_path, twice))
    assert not all(one.within for one in found.discharges[:2])
    for one in found.discharges[:2]:
        assert abs(one.model.charge_c / one.measured.charge_c - 1.0) < one.charge_u  # the charges do agree
    assert all(one.within for one in replay_record(read_unit(tmp_path, STURDY)).discharges)


def test_the_engine_agrees_with_the_closed_form_the_fit_uses(tmp_path):
    record = read_unit(tmp_path, STURDY)
    fitted = fit_record(record)
    centre = fitted.circuit(fitted.centre[np.newaxis])
    test = record.capacity_tests[1]
    by_engine = discharge_through(centre, test)
    run = BenchRun(test.mean_current_a, None, test.duration_s, test.at.cell_k, test.cutoff_v)
    charge, energy = outcome(course(centre, run), test.cutoff_v)
    # 0.3 %: what the closed form's shortcut about a warming gap costs at a one-hour rate
    assert by_engine.charge_c == pytest.approx(float(charge[0]), rel=3e-3)
    assert by_engine.energy_j == pytest.approx(float(energy[0]), rel=3e-3)
    step = record.step_tests[0]
    # 1.5 %: the closed form starts from rest at the stated charge, the engine from half an hour at 20 A
    assert step_through(centre, step) == pytest.approx(float(step_resistance(centre, step)[0]), rel=0.015)


def test_a_discharge_stopped_by_the_clock_runs_for_its_time_only(tmp_path):
    record = read_unit(tmp_path, STURDY)
    fitted = fit_record(record)
    centre = fitted.circuit(fitted.centre[np.newaxis])
    stopped = replace(record.capacity_tests[0], ended_by="clock", duration_s=3600.0, charge_c=20.02 * 3600.0)
    assert discharge_through(centre, stopped).duration_s == 3600.0
    assert discharge_through(centre, stopped).charge_c == pytest.approx(20.02 * 3600.0, rel=1e-9)
