"""Planned tests: large enough for what they must show, and the same once pasted and read back."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.battery.current_evidence import from_current_test
from planner.record.instrument import current_limit
from planner.record.schema import Instrument
from planner.verdict.bench_plan import (
    BENCH_K,
    charging_tried,
    current_to_show,
    discharged,
    held,
    meter_for_current,
    probe_of,
    terminals_read,
    time_to_show,
    toml_of,
    with_tests,
)
from tests.verdict.invented_bench import STURDY, read_unit

METERS = st.builds(
    Instrument,
    name=st.just("clamp"),
    current_gain=st.one_of(st.none(), st.floats(0.0, 0.2)),
    current_floor_a=st.floats(0.0, 5.0),
    time_s=st.one_of(st.none(), st.floats(0.0, 10.0)),
)


@given(
    need_a=st.floats(0.1, 500.0),
    need_s=st.floats(0.1, 20_000.0),
    meter=METERS,
    step=st.sampled_from([5.0, 1.0, 0.1]),
)
def test_a_planned_hold_demonstrates_its_need_and_is_no_grid_step_too_large(need_a, need_s, meter, step):
    current = current_to_show(need_a, meter, step)
    passes, trips = from_current_test(held(current, time_to_show(need_s, meter), BENCH_K, meter))
    assert not trips
    assert passes[0].covers(need_a, need_s)
    less = current - step
    assert less - current_limit(meter, less).half_width < need_a * (1.0 + 1e-9) + 1e-9


def test_a_window_is_held_for_its_own_length_and_a_pull_a_second_longer():
    meter = Instrument("clamp", current_gain=0.02, current_floor_a=0.5, time_s=0.5)
    assert time_to_show(300.0, meter) == 300.0
    # hand calculation: 15 s + 1 s + 0.5 s, on tens; 4 s + 1.5 s, on whole seconds
    assert time_to_show(15.0, meter) == 20.0
    assert time_to_show(4.0, meter) == 6.0


HELD_C = 103.4 * 3600.0  # of the sturdy unit at 20 A


@settings(max_examples=25)
@given(
    current=st.floats(1.0, 400.0).map(lambda value: round(value, 1)),
    seconds=st.integers(1, 5000).map(float),
    charge=st.floats(50.0, 110.0),
    celsius=st.integers(-25, 40).map(float),
    rise=st.floats(0.5, 60.0),
)
def test_planned_tests_pasted_at_the_files_end_read_back_as_they_were(
    current, seconds, charge, celsius, rise
):
    seconds = min(seconds, max(float(int(HELD_C / current)), 1.0))  # no hold takes out more than the unit holds
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        record = read_unit(folder, STURDY)
        cell_k, probe = 273.15 + celsius, probe_of(record)
        tests = (
            held(current, seconds, cell_k, meter_for_current(record, current, "hold")),
            discharged(20.0, charge * 3600.0, charge * 3600.0 * 12.9, cell_k, 10.0, meter_for_current(record, 20.0, "discharge")),
            terminals_read(current, rise, 540.0, (300.0, 600.0, 900.0), probe),
            charging_tried("cooling", cell_k, "blocked", probe),
        )  # fmt: skip
        pasted = read_unit(folder, STURDY + "\n" + toml_of(tests), "pasted.toml")
        planned = with_tests(record, tests)
    for kind in ("current_tests", "capacity_tests", "terminal_tests", "cold_charge_tests"):
        read, meant = getattr(pasted, kind)[-1], getattr(planned, kind)[-1]
        assert read.at.instrument == meant.at.instrument
        assert read.at.place == meant.at.place
        assert read.at.cell_k == pytest.approx(meant.at.cell_k, abs=1e-6)
        for field in (
            "current_a",
            "duration_s",
            "charge_c",
            "energy_j",
            "ended_by",
            "direction",
            "charging",
            "soak_s",
        ):
            if hasattr(meant, field):
                value = getattr(meant, field)
                # 1e-9: a decimal written to ten digits and read back
                expected = pytest.approx(value, rel=1e-9) if isinstance(value, float) else value
                assert getattr(read, field) == expected
    times = [row[0] for row in pasted.terminal_tests[-1].readings]
    assert times == pytest.approx([300.0, 600.0, 900.0])


def test_the_meter_with_the_smallest_error_is_taken(tmp_path):
    record = read_unit(tmp_path, STURDY)
    hold, discharge = meter_for_current(record, 150.0, "hold"), meter_for_current(record, 20.0, "discharge")
    assert hold is not None
    assert discharge is not None
    assert (hold.name, discharge.name) == ("clamp", "load")
    assert probe_of(record) is None  # the terminal reading names no probe
    bare = replace(record, capacity_tests=(), current_tests=())
    assert meter_for_current(bare, 150.0, "hold") is None
