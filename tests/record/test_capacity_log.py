"""A discharge read from its raw log, against logs made by hand with known answers."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from planner.errors import InputRefused
from planner.record.capacity_log import MOST_CURVE_POINTS, capacity_from_log
from planner.record.reader import read_record

HEAD = "Time (s),Voltage (V),Current (A)"


def _log(path: Path, time_s, voltage_v, current_a, head: str = HEAD, extra=None) -> Path:
    columns = [time_s, voltage_v, current_a] + ([extra] if extra is not None else [])
    rows = [",".join(f"{value:.6f}" for value in row) for row in zip(*columns, strict=True)]
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return path


def _falling(count: int = 1001) -> tuple[np.ndarray, np.ndarray]:
    """10,000 s in `count` rows, voltage falling straight from 13.4 to 12.4 V."""
    time_s = np.linspace(0.0, 10_000.0, count)
    return time_s, 13.4 - time_s / 10_000.0


def test_constant_current_gives_its_charge_energy_and_duration(tmp_path: Path) -> None:
    time_s, voltage_v = _falling()
    figures = capacity_from_log(_log(tmp_path / "a.csv", time_s, voltage_v, np.full(1001, 20.0)))
    # By hand: 20 A x 10,000 s; mean voltage 12.9 V. Straight lines are exact; 1e-9 for the text.
    assert figures.charge_c == pytest.approx(200_000.0, rel=1e-9)
    assert figures.energy_j == pytest.approx(2_580_000.0, rel=1e-9)
    assert (figures.current_a, figures.duration_s) == pytest.approx((20.0, 10_000.0), rel=1e-9)
    assert figures.power_w is None
    assert figures.end_v == pytest.approx(12.4)
    assert figures.warnings == ()
    assert len(figures.curve) <= MOST_CURVE_POINTS
    assert figures.curve[0] == (0.0, 13.4)
    assert figures.curve[-1] == pytest.approx((200_000.0, 12.4))


def test_the_thinned_curve_keeps_the_area_and_the_knee(tmp_path: Path) -> None:
    time_s = np.linspace(0.0, 10_000.0, 5001)
    voltage_v = 13.2 - 3.2 * np.exp((time_s - 10_000.0) / 200.0)  # flat, then a knee in the last per cents
    figures = capacity_from_log(_log(tmp_path / "a.csv", time_s, voltage_v, np.full(5001, 20.0)))
    charge_c, kept_v = np.array(figures.curve).T
    assert np.all(np.diff(charge_c) > 0.0)
    # 1e-4: 200 chords of a curve 3.2 V tall leave triangles of about (3.2/100)^2 V at most.
    assert np.trapezoid(kept_v, charge_c) == pytest.approx(figures.energy_j, rel=1e-4)
    assert np.abs(np.diff(kept_v)).max() < 0.1


def test_rest_before_and_after_is_no_discharge(tmp_path: Path) -> None:
    time_s = np.arange(0.0, 2_001.0, 1.0)
    current_a = np.where((time_s >= 500) & (time_s < 1_500), 10.0, 0.0)
    figures = capacity_from_log(_log(tmp_path / "a.csv", time_s, np.full(2001, 13.0), current_a))
    # By hand: rows 500 to 1499 and half of the interval at either edge: 1,000 s. 1e-9 for the text.
    assert (figures.duration_s, figures.charge_c) == pytest.approx((1_000.0, 10_000.0), rel=1e-9)
    assert len(figures.curve) > 1


def test_constant_power_is_recognised(tmp_path: Path) -> None:
    time_s, voltage_v = _falling()
    figures = capacity_from_log(_log(tmp_path / "a.csv", time_s, voltage_v, 250.0 / voltage_v))
    assert figures.current_a is None
    assert figures.power_w == pytest.approx(250.0, rel=1e-6)  # six places typed
    # By hand: 250 W x 10,000 s / 1 V x ln(13.4/12.4); 1e-6 for the 10 s steps and the typed places.
    assert figures.charge_c == pytest.approx(2_500_000.0 * np.log(13.4 / 12.4), rel=1e-6)


def test_a_changing_load_is_counted_but_gives_no_curve(tmp_path: Path) -> None:
    time_s, voltage_v = _falling()
    figures = capacity_from_log(
        _log(tmp_path / "a.csv", time_s, voltage_v, np.where(time_s <= 5_000.0, 10.0, 30.0))
    )
    assert figures.curve == ()
    assert "10 A and 30 A" in figures.warnings[0]
    # By hand: 5,000 s x 10 A, one interval of 10 s x 20 A across the step, 4,990 s x 30 A; 1e-9 for the text.
    assert figures.charge_c == pytest.approx(50_000.0 + 200.0 + 149_700.0, rel=1e-9)


def test_a_pause_keeps_the_charge_and_drops_the_curve(tmp_path: Path) -> None:
    time_s, voltage_v = _falling()
    current_a = np.where((time_s > 4_000.0) & (time_s < 4_500.0), 0.0, 20.0)
    figures = capacity_from_log(_log(tmp_path / "a.csv", time_s, voltage_v, current_a))
    assert figures.curve == ()
    assert "paused" in figures.warnings[0]
    assert figures.current_a == pytest.approx(20.0, rel=1e-9)


def test_a_log_of_one_negative_sign_is_turned_and_said_so(tmp_path: Path) -> None:
    time_s, voltage_v = _falling()
    figures = capacity_from_log(_log(tmp_path / "a.csv", time_s, voltage_v, np.full(1001, -20.0)))
    assert figures.charge_c == pytest.approx(200_000.0, rel=1e-9)
    assert "negative throughout" in figures.warnings[0]


@pytest.mark.parametrize("current", ["none", "charge"])
def test_a_log_without_a_discharge_is_refused(tmp_path: Path, current: str) -> None:
    time_s, voltage_v = _falling()
    current_a = np.zeros(1001) if current == "none" else np.where(time_s < 100.0, 20.0, -20.0)
    with pytest.raises(InputRefused):
        capacity_from_log(_log(tmp_path / "a.csv", time_s, voltage_v, current_a))


def _record(folder: Path, lines: str) -> Path:
    path = folder / "unit.toml"
    text = 'format = 1\nname = "Unit (invented)"\n[instruments.load]\ncurrent = "0.5 %"\n[[capacity_test]]\n'
    path.write_text(text + 'instrument = "load"\nended_by = "cutoff"\n' + lines, encoding="utf-8")
    return path


def test_a_record_takes_figures_and_temperature_from_its_log(tmp_path: Path) -> None:
    time_s, voltage_v = _falling()
    head = HEAD + ",Cells (°C)"
    _log(tmp_path / "a.csv", time_s, voltage_v, np.full(1001, 20.0), head, np.full(1001, 5.0))
    record = read_record(_record(tmp_path, 'log = "a.csv"\n'))
    (test,) = record.capacity_tests
    assert test.log == tmp_path / "a.csv"
    assert record.files == (tmp_path / "a.csv",)
    assert (test.cutoff_v, test.charge_c) == pytest.approx((12.4, 200_000.0))
    assert test.at.cell_k == pytest.approx(278.15)
    assert any("taken from the log" in warning for warning in record.warnings)


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("tapers", [False, True])
def test_the_log_of_a_charge_is_no_full_discharge(tmp_path: Path, sign: float, tapers: bool) -> None:
    # 13.4 up to 14.4 V, the last third at that voltage with a falling current where it tapers
    time_s = np.linspace(0.0, 18_000.0, 1801)
    voltage_v = 13.4 + np.minimum(time_s / (12_000.0 if tapers else 18_000.0), 1.0)
    current_a = 20.0 * np.exp(-np.maximum(time_s - 12_000.0, 0.0) / 3_000.0) if tapers else np.full(1801, 20.0)
    _log(tmp_path / "a.csv", time_s, voltage_v, sign * current_a)
    with pytest.raises(InputRefused, match=r"highest voltage, 14\.4 V"):
        read_record(_record(tmp_path, 'log = "a.csv"\ntemperature = "25 degC"\n'))
    path = _record(tmp_path, 'log = "a.csv"\ntemperature = "25 degC"\n')
    path.write_text(path.read_text().replace('"cutoff"', '"clock"'))  # a cold unit may warm up and rise for a while
    assert any("highest voltage" in warning for warning in read_record(path).warnings)


def test_what_the_record_states_wins_over_the_logs_own_end_and_temperature(tmp_path: Path) -> None:
    time_s, voltage_v = _falling()
    head = HEAD + ",Cells (°C)"
    _log(tmp_path / "a.csv", time_s, voltage_v, np.full(1001, 20.0), head, np.full(1001, 5.0))
    lines = 'log = "a.csv"\ncutoff_voltage = "12.35 V"\ntemperature = "20 degC"\n'
    record = read_record(_record(tmp_path, lines))
    assert record.capacity_tests[0].cutoff_v == 12.35
    assert record.capacity_tests[0].at.cell_k == 293.15
    assert record.warnings == ()


def test_typed_figures_beside_a_log_are_refused(tmp_path: Path) -> None:
    time_s, voltage_v = _falling()
    _log(tmp_path / "a.csv", time_s, voltage_v, np.full(1001, 20.0))
    with pytest.raises(InputRefused) as caught:
        read_record(_record(tmp_path, 'log = "a.csv"\ncharge = "55 Ah"\n'))
    assert [problem.key for problem in caught.value.problems] == ["capacity_test.1.charge"]


def test_a_broken_log_is_told_with_the_records_own_problems(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("nothing,here\n1,2\n", encoding="utf-8")
    with pytest.raises(InputRefused) as caught:
        read_record(_record(tmp_path, 'log = "a.csv"\ncolour = "blue"\n'))
    files = {problem.file for problem in caught.value.problems}
    assert {Path(file).name for file in files} == {"a.csv", "unit.toml"}


def test_the_log_of_a_24_volt_unit_is_refused(tmp_path: Path) -> None:
    time_s, voltage_v = _falling()
    _log(tmp_path / "a.csv", time_s, voltage_v * 2.0, np.full(1001, 20.0))
    with pytest.raises(InputRefused) as caught:
        read_record(_record(tmp_path, 'log = "a.csv"\ncutoff_voltage = "12.4 V"\n'))
    assert caught.value.problems[0].key == "capacity_test.1.log"
