"""A log's summary as tables of a record: what is pasted reads as what was on the bench. Logs invented."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest

from planner.record.log_summary import LogSummary, summarise_log
from planner.record.reader import read_record


def _log(folder: Path, rows: np.ndarray) -> LogSummary:
    path = folder / "bench.csv"
    lines = [f"{t:.9g},{v:.9g},{i:.9g}" for t, v, i in rows]
    path.write_text("\n".join(["Time (s),Voltage (V),Current (A)", *lines]) + "\n")
    return summarise_log(path)


def _discharge_with_a_knee(current_a: float | None, power_w: float | None, pause_s: float = 0.0) -> np.ndarray:
    """Rows of time, voltage, current every 10 s: a minute idle, load until 10.5 V, ten minutes idle."""
    charge, rows, at_s, left_s = 0.0, [[10.0 * i, 13.3, 0.0] for i in range(6)], 60.0, pause_s
    while True:
        rest_v = 13.3 - 0.35 * charge / 360_000.0 - np.exp((charge - 360_000.0) / 7_200.0)
        drawn = current_a or 0.5 * (rest_v - np.sqrt(rest_v**2 - 4 * 0.004 * (power_w or 0.0))) / 0.004
        if rest_v - 0.004 * drawn < 10.5:
            return np.array([*rows, *([at_s + 10.0 * i, 12.0, 0.0] for i in range(60))])
        paused = charge > 180_000.0 and left_s > 0.0
        rows.append([at_s, rest_v - (0.0 if paused else 0.004 * drawn), 0.0 if paused else drawn])
        charge, left_s, at_s = (charge, left_s - 10.0, at_s + 10.0) if paused else (charge + 10.0 * drawn, left_s, at_s + 10.0)


@pytest.mark.parametrize(("current_a", "power_w", "pause_s"), [(20.0, None, 0.0), (20.0, None, 3600.0), (None, 260.0, 0.0)])
def test_the_tables_of_a_log_that_idles_before_and_after_its_load_are_a_record(
    tmp_path: Path, current_a: float | None, power_w: float | None, pause_s: float
) -> None:
    summary = _log(tmp_path, _discharge_with_a_knee(current_a, power_w, pause_s))
    assert summary.ending is not None and (summary.ending.kind, summary.ending.certain) == ("cutoff", True)
    path = tmp_path / "pasted.toml"
    path.write_text('format = 1\nname = "pasted (invented)"\n' + summary.to_toml())
    (test,) = read_record(path).capacity_tests
    if current_a is None:
        assert test.current_a is None and test.power_w == pytest.approx(power_w, abs=0.01)
    else:  # also where the load paused: what was held, not the mean with the pause in it
        assert test.power_w is None and test.current_a == pytest.approx(current_a, rel=1e-3)
    assert test.curve[0][0] == 0.0 and test.curve[0][1] == pytest.approx(13.22, abs=0.005)
    assert test.curve[-1][0] == pytest.approx(test.charge_c, rel=0.01)


def test_no_curve_is_printed_where_the_last_load_began_in_the_middle_of_the_charge(tmp_path: Path) -> None:
    # 50 A for half the time, then 100 A: a third of the charge was gone when the last load began
    time_s = np.arange(0.0, 3601.0, 1.0)
    current_a = np.where(time_s <= 1800.0, 50.0, 100.0)
    voltage_v = 13.2 - 0.003 * current_a - np.maximum(time_s - 3500.0, 0.0) / 40.0
    summary = _log(tmp_path, np.column_stack([time_s, voltage_v, current_a]))
    (test,) = tomllib.loads(summary.to_toml())["capacity_test"]
    assert "curve" not in test


def test_only_steps_of_a_discharge_are_printed_and_a_meters_offset_is_no_charge(tmp_path: Path) -> None:
    # rest that reads -0.02 A, 60 A out, rest, 40 A in, rest: 4 mohm
    time_s = np.arange(0.0, 300.0, 1.0)
    current_a = np.select([(60 <= time_s) & (time_s < 120), (180 <= time_s) & (time_s < 240)], [60.0, -40.0], -0.02)
    text = _log(tmp_path, np.column_stack([time_s, 13.2 - 0.004 * current_a, current_a])).to_toml()
    steps = tomllib.loads(text)["step_test"]
    assert [(step["from_current"], step["to_current"]) for step in steps] == [("0 A", "60 A"), ("60 A", "0 A")]
    path = tmp_path / "pasted.toml"
    path.write_text('format = 1\nname = "pasted (invented)"\n' + text[text.index("[[step_test]]") :])
    assert [test.resistance_ohm for test in read_record(path).step_tests] == pytest.approx([0.004] * 2, rel=2e-3)


def test_no_curve_is_printed_where_a_small_load_took_charge_after_it(tmp_path: Path) -> None:
    # 0.9 A for ten hours more are 9 Ah of 111: too little to be the load, too much to be left out of its curve
    rows = _discharge_with_a_knee(20.0, None)
    after = np.column_stack([rows[-1, 0] + np.arange(10.0, 36_010.0, 10.0), np.full(3600, 12.0), np.full(3600, 0.9)])
    summary = _log(tmp_path, np.vstack([rows, after]))
    path = tmp_path / "pasted.toml"
    path.write_text('format = 1\nname = "pasted (invented)"\n' + summary.to_toml())
    (test,) = read_record(path).capacity_tests
    assert test.curve == () and test.charge_c == pytest.approx(summary.discharge.charge_c, rel=1e-4)


def test_a_turned_sign_leaves_no_negative_zero_and_one_gap_is_one(tmp_path: Path) -> None:
    rows = _discharge_with_a_knee(20.0, None)
    rows = np.delete(rows, slice(500, 540), axis=0) * [1.0, 1.0, -1.0]
    summary = _log(tmp_path, rows)
    assert [step.to_a for step in summary.steps][-1] == 0.0
    assert "-0 A" not in summary.to_toml() and "-0.00" not in summary.to_text()
    assert any(told.startswith("1 gap, the longest 410 s") for told in summary.warnings)
