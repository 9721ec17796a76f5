"""What a bench log says. Logs are written here from formulas, so every expected number is a hand calculation."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.errors import InputRefused
from planner.record.log_summary import LogSummary, summarise_log
from planner.record.log_toml import found_tests

# A circuit with R0 = 3.0 mohm and two pairs, as a step response: R(t) = R0 + Σ Ri (1 − e^(−t/τi)).
R0_OHM = 3.0e-3
PAIRS = ((0.5e-3, 5.0), (1.7e-3, 150.0))


def _step_response(after_s: np.ndarray) -> np.ndarray:
    """Resistance seen `after_s` seconds after a step [ohm], 0 before it."""
    slow = sum(r * (1.0 - np.exp(-np.maximum(after_s, 0.0) / tau)) for r, tau in PAIRS)
    return np.where(after_s >= 0.0, R0_OHM + slow, 0.0)


def _log(
    folder: Path, time_s: Sequence[float], voltage_v: Sequence[float], current_a: Sequence[float],
    temperature: Sequence[object] | None = None,
) -> LogSummary:  # fmt: skip
    return summarise_log(_file(folder, time_s, voltage_v, current_a, temperature))


def _file(
    folder: Path, time_s: Sequence[float], voltage_v: Sequence[float], current_a: Sequence[float],
    temperature: Sequence[object] | None = None,
) -> Path:  # fmt: skip
    path = folder / "bench.csv"
    heads = "Time (s),Voltage (V),Current (A)" + (",Terminal (degC)" if temperature else "")
    rows = [f"{t:.9g},{v:.9g},{i:.9g}" for t, v, i in zip(time_s, voltage_v, current_a, strict=True)]
    if temperature:
        rows = [f"{row},{cell}" for row, cell in zip(rows, temperature, strict=True)]
    path.write_text("\n".join([heads, *rows]) + "\n")
    return path


def _constant_discharge(folder: Path) -> LogSummary:
    hours = np.array([0, 1, 2, 3, 4, 5, 18600 / 3600])
    volts = [13.28, 13.16, 13.08, 13.02, 12.92, 12.60, 10.00]
    return _log(folder, 3600 * hours, volts, [20.02] * 7)


def test_charge_energy_and_mean_voltage_of_a_constant_discharge(tmp_path: Path) -> None:
    said = _constant_discharge(tmp_path).to_json()
    # 20.02 A × 18600 s / 3600 = 103.437 Ah. Time stamps carry nine digits.
    assert said["charge_Ah"] == pytest.approx(20.02 * 18600 / 3600, abs=1e-5)
    # 20.02 × (13.22 + 13.12 + 13.05 + 12.97 + 12.76 + 11.30/6) Wh, the trapezoid by hand.
    assert said["energy_Wh"] == pytest.approx(
        20.02 * (13.22 + 13.12 + 13.05 + 12.97 + 12.76 + 11.30 / 6), abs=1e-4
    )
    assert said["mean_voltage_V"] == pytest.approx(12.97, abs=0.005)  # and not 12.58, the mean of the samples
    assert said["mean_current_A"] == pytest.approx(20.02, rel=1e-9)
    assert said["duration_s"] == pytest.approx(18600, abs=1e-4)
    assert said["charged_Ah"] == 0.0
    assert (said["rows"], said["ended_by"], said["gaps"], said["steps"]) == (7, "cutoff", [], [])
    assert said["columns"] == {
        "time": "Time (s)", "voltage": "Voltage (V)", "current": "Current (A)", "temperature": None
    }  # fmt: skip


def test_an_irregular_log_shows_all_three_means_and_its_gaps(tmp_path: Path) -> None:
    time_s, current_a = [0, 10, 20, 30, 90, 300, 310, 600], [5, 60, 60, 20, 8, 45, 8, 8]
    said = _log(tmp_path, time_s, [13.1] * 8, current_a).to_json()
    # By hand: hold 6900 A s, trapezoid 10315 A s, over 600 s; plain mean 214/8.
    assert said["mean_current_hold_A"] == pytest.approx(6900 / 600, rel=1e-12)
    assert said["mean_current_A"] == pytest.approx(10315 / 600, rel=1e-12)
    assert said["mean_of_samples_A"] == pytest.approx(26.75, rel=1e-12)
    warning = next(w for w in said["warnings"] if "two ways" in w)
    assert all(number in warning for number in ("11.50 A", "17.19 A", "26.75 A"))
    # The median interval is 10 s: longer than 50 s are the intervals from 30, 90 and 310 s.
    assert said["gaps"] == [
        {"start_s": 30.0, "length_s": 60.0}, {"start_s": 90.0, "length_s": 210.0}, {"start_s": 310.0, "length_s": 290.0}
    ]  # fmt: skip


@pytest.mark.parametrize("interval_s", [0.1, 1.0])
def test_resistance_is_given_by_the_time_of_its_reading(tmp_path: Path, interval_s: float) -> None:
    time_s = np.arange(0.0, 200.0, interval_s)
    after_s = time_s - 50.0
    current_a = np.where(after_s >= -1e-9, 100.0, 20.0)
    voltage_v = 13.016 - 80.0 * _step_response(np.round(after_s, 9))
    said = _log(tmp_path, time_s, voltage_v, current_a).to_json()
    (step,) = said["steps"]
    assert (step["start_s"], step["from_A"], step["to_A"]) == pytest.approx((50.0, 20.0, 100.0), abs=1e-9)
    assert step["from_V"] == pytest.approx(13.016, abs=1e-9) and step["after_s"] == 10.0
    for wait, told in step["resistance_mohm"].items():
        if float(wait) < interval_s:
            assert told is None  # no sample by then: unknown, not guessed
        else:
            # Nine digits of a voltage over 80 A: 1e-10 ohm.
            assert told == pytest.approx(1e3 * float(_step_response(np.array(float(wait)))), abs=1e-6)
    assert step["from_V"] - step["to_V"] == pytest.approx(
        80 * float(_step_response(np.array(10.0))), abs=1e-7
    )


def test_a_reading_after_the_next_step_is_not_given(tmp_path: Path) -> None:
    time_s = np.arange(0.0, 40.0, 0.5)
    current_a = np.where((time_s >= 10.0) & (time_s < 15.0), 50.0, 0.0)
    said = _log(tmp_path, time_s, 13.2 - 0.003 * current_a, current_a).to_json()
    first, second = said["steps"]
    assert first["resistance_mohm"] == {"0.1": None, "1": pytest.approx(3.0), "10": None, "60": None}
    assert second["resistance_mohm"]["10"] == pytest.approx(3.0, abs=1e-6)


def _pulse(folder: Path, sign: float = 1.0, rest_s: float = 120.0) -> LogSummary:
    time_s = np.arange(0.0, 70.0 + rest_s, 1.0)
    current_a = np.where((time_s >= 5.0) & (time_s < 65.0), 150.0, 0.0)
    voltage_v = 13.16 - 150.0 * (_step_response(time_s - 5.0) - _step_response(time_s - 65.0))
    return _log(folder, time_s, voltage_v, sign * current_a)


def test_sag_recovery_and_time_constants_of_a_pulse(tmp_path: Path) -> None:
    said = _pulse(tmp_path, rest_s=600.0).to_json()
    assert said["ended_by"] == "clock" and said["ending"]["held_s"] == pytest.approx(60.0)
    early = {r["after_s"]: r["V"] for r in said["recovery"]["readings"]}
    back = 13.16 - 150.0 * (float(_step_response(np.array(120.0))) - float(_step_response(np.array(60.0))))
    assert early[60.0] == pytest.approx(back, abs=1e-6) and early[60.0] < 13.16
    rest = said["time_constants"][0]
    assert rest["at_rest"] and rest["tau_s"] == pytest.approx(
        [5.0, 150.0], rel=1e-3
    )  # the search's own tolerance
    # After 60 s of load the pairs hold Ri (1 − e^(−60/τi)).
    held = [1e3 * r * (1.0 - np.exp(-60.0 / tau)) for r, tau in PAIRS]
    assert rest["resistance_mohm"] == pytest.approx(held, rel=1e-3)


def test_a_short_rest_is_said_to_be_still_rising(tmp_path: Path) -> None:
    assert _pulse(tmp_path, rest_s=30.0).to_json()["recovery"]["still_rising"] is True
    assert _pulse(tmp_path, rest_s=1800.0).to_json()["recovery"]["still_rising"] is False


def test_the_sign_of_the_current_is_settled_by_the_direction_of_energy(tmp_path: Path) -> None:
    plain, turned = _pulse(tmp_path).to_json(), _pulse(tmp_path, sign=-1.0).to_json()
    for key in ("charge_Ah", "energy_Wh", "mean_voltage_V", "ended_by", "steps"):
        assert turned[key] == plain[key]
    assert any("sign turned" in warning for warning in turned["warnings"])
    assert not any("sign" in warning for warning in plain["warnings"])


def test_a_steady_discharge_logged_as_negative_is_known_by_its_falling_voltage(tmp_path: Path) -> None:
    time_s = np.arange(0.0, 3600.0, 10.0)
    falling = 13.2 - time_s / 3600.0
    down = _log(tmp_path, time_s, falling, np.full(time_s.size, -20.0)).to_json()
    assert down["charge_Ah"] == pytest.approx(20.0 * 3590 / 3600) and down["charged_Ah"] == 0.0
    up = _log(tmp_path, time_s, falling[::-1], np.full(time_s.size, -20.0)).to_json()
    assert up["charge_Ah"] == 0.0 and up["charged_Ah"] == pytest.approx(20.0 * 3590 / 3600)
    assert any("charge of" in warning for warning in up["warnings"])
    with pytest.raises(InputRefused, match="negative throughout"):
        _log(tmp_path, time_s, np.full(time_s.size, 13.2), np.full(time_s.size, -20.0))


def test_charge_put_back_is_kept_apart(tmp_path: Path) -> None:
    time_s = np.arange(0.0, 7201.0, 1.0)
    current_a = np.select([time_s < 3600.0, time_s < 5400.0], [30.0, 0.0], -10.0)
    said = _log(tmp_path, time_s, 13.2 - 0.004 * current_a, current_a).to_json()
    # 30 A for 3599.5 s and 10 A for 1800.5 s: the trapezoid shares the second of each change.
    assert said["charge_Ah"] == pytest.approx(30.0 * 3599.5 / 3600)
    assert said["charged_Ah"] == pytest.approx(10.0 * 1800.5 / 3600)
    turned = _log(tmp_path, time_s, 13.2 - 0.004 * current_a, -current_a).to_json()
    assert turned["charge_Ah"] == pytest.approx(said["charge_Ah"])
    assert any("Sign turned" in warning for warning in turned["warnings"])


@pytest.mark.parametrize(
    ("rest_v", "knee", "expected"),
    [(12.4, True, "cutoff"), (0.02, True, "undervoltage"), (0.0, False, "trip")],
)
def test_the_end_of_a_discharge_is_told_by_its_last_voltages(
    tmp_path: Path, rest_v: float, knee: bool, expected: str
) -> None:
    time_s = np.arange(0.0, 3700.0, 1.0)
    loaded = time_s < 3607.0
    fall = np.where(time_s > 3450.0, (time_s - 3450.0) / 157.0 * 2.6, 0.0) if knee else 0.0
    voltage_v = np.where(loaded, 13.0 - time_s / 20_000.0 - fall, rest_v)
    said = _log(tmp_path, time_s, voltage_v, np.where(loaded, 100.0, 0.0)).to_json()
    assert said["ended_by"] == expected and said["ending"]["certain"]
    assert f"{said['ending']['last_V']:.2f}" in said["ending"]["evidence"]


def test_a_stop_at_an_odd_time_with_the_voltage_back_is_not_taken_for_certain(tmp_path: Path) -> None:
    time_s = np.arange(0.0, 60.0, 1.0)
    current_a = np.where((time_s >= 5.0) & (time_s < 16.0), 180.0, 0.0)
    summary = _log(tmp_path, time_s, 13.2 - 0.004 * current_a, current_a)
    assert summary.ending is not None and not summary.ending.certain
    assert any("Confirm ended_by" in warning for warning in summary.warnings)
    # Only a tester may call it a trip: the line waits as a comment.
    assert "ended_by" not in tomllib.loads(summary.to_toml())["current_test"][0]


def _stopped_after(folder: Path, held_s: float, interval_s: float) -> LogSummary:
    """A load that stops after held_s with the voltage back, as by a clock or by a protection that closes again."""
    time_s = np.arange(0.0, held_s + 30.0, interval_s)
    current_a = np.where((time_s >= 5.0 - 1e-9) & (time_s < 5.0 + held_s - 1e-9), 150.0, 0.0)
    return _log(folder, time_s, 13.2 - 0.004 * current_a, current_a)


@pytest.mark.parametrize(
    ("held_s", "interval_s", "certain"),
    [(10.0, 0.1, True), (60.0, 1.0, True), (600.0, 10.0, True), (10.0, 1.0, False), (50.0, 1.0, False), (60.0, 5.0, False)],
)
def test_a_clock_is_certain_only_where_few_other_times_would_look_as_round(
    tmp_path: Path, held_s: float, interval_s: float, certain: bool
) -> None:
    summary = _stopped_after(tmp_path, held_s, interval_s)
    assert summary.ending is not None
    assert (summary.ending.kind, summary.ending.certain) == ("clock", certain)
    (test,) = tomllib.loads(summary.to_toml())["current_test"]
    assert ("ended_by" in test) == certain  # what is not certain waits for the tester as a comment


def test_a_trip_that_closes_again_is_seldom_taken_for_a_clock(tmp_path: Path) -> None:
    endings = [_stopped_after(tmp_path, float(held_s), 1.0).ending for held_s in range(6, 126)]
    sure = [one for one in endings if one is not None and one.kind == "clock" and one.certain]
    assert len(endings) == 120 and 0 < len(sure) <= 0.1 * len(endings)


@pytest.mark.parametrize(("rest_v", "expected"), [(13.15, "operator"), (0.02, "trip")])
def test_a_load_turned_down_in_steps_was_turned_down_by_a_hand_unless_the_unit_opened(
    tmp_path: Path, rest_v: float, expected: str
) -> None:
    time_s = np.arange(0.0, 80.0, 1.0)
    current_a = np.where((time_s >= 5.0) & (time_s < 42.0), 120.0, 0.0)
    current_a[42:46] = [95.0, 70.0, 40.0, 15.0]
    voltage_v = np.where(time_s < 46.0, 13.2 - 0.004 * current_a, rest_v)
    ending = _log(tmp_path, time_s, voltage_v, current_a).ending
    assert ending is not None
    assert (ending.kind, ending.certain) == (expected, True)
    if expected == "operator":
        assert ending.held_s == pytest.approx(36.0, abs=1.0)  # from 5 s to the last reading of the full load
        assert ending.current_a == 120.0


def test_a_load_that_falls_in_two_levels_and_stops_was_not_turned_down(tmp_path: Path) -> None:
    time_s = np.arange(0.0, 200.0, 1.0)
    current_a = np.select([time_s < 5.0, time_s < 90.0, time_s < 163.0], [0.0, 120.0, 40.0], 0.0)
    ending = _log(tmp_path, time_s, 13.2 - 0.004 * current_a, current_a).ending
    assert ending is not None
    assert ending.kind != "operator"


def test_a_log_that_ends_under_load_was_ended_by_its_meter(tmp_path: Path) -> None:
    time_s = np.arange(0.0, 48.0, 1.0)
    current_a = np.where(time_s >= 5.0, 120.0, 0.0)
    summary = _log(tmp_path, time_s, 13.2 - 0.004 * current_a, current_a)
    assert summary.ending is not None
    assert (summary.ending.kind, summary.ending.certain) == ("meter", False)
    assert "looks like meter" in summary.to_toml()  # the tester says so, the log alone does not


def test_a_ramp_that_stays_at_one_reading_met_the_top_of_a_range(tmp_path: Path) -> None:
    time_s = np.arange(0.0, 20.0, 0.1)
    rise = np.minimum(20.0 * (time_s - 2.0), 200.0)
    current_a = np.where((time_s > 1.95) & (time_s < 13.37), rise, 0.0)
    ending = _log(tmp_path, time_s, 13.2 - 0.003 * current_a, current_a).ending
    assert ending is not None
    assert (ending.kind, ending.certain) == ("meter", False)
    assert "exactly 200 A" in ending.evidence


def test_a_ramp_gives_its_rate_and_the_current_it_ended_at(tmp_path: Path) -> None:
    time_s = np.arange(0.0, 20.0, 0.1)
    current_a = np.where((time_s > 1.95) & (time_s < 15.41), 20.0 * (time_s - 2.0), 0.0)
    voltage_v = np.where(time_s < 15.41, 13.2 - 0.003 * current_a, 0.0)
    summary = _log(tmp_path, time_s, voltage_v, current_a)
    said = summary.to_json()
    assert said["ended_by"] == "trip"
    assert said["ramp"]["rate_A_per_s"] == pytest.approx(20.0, rel=1e-6)
    assert said["ramp"]["end_A"] == pytest.approx(268.0, abs=1e-6)  # 20 A/s for 13.4 s
    (test,) = tomllib.loads(summary.to_toml())["current_test"]
    assert (test["kind"], test["current"], test["rate"], test["ended_by"]) == (
        "ramp",
        "268 A",
        "20 A/s",
        "trip",
    )
    # Opened terminals tell no resistance.
    assert all(value is None for value in said["steps"][-1]["resistance_mohm"].values())


def test_three_terminal_readings_give_the_thermal_time_constant(tmp_path: Path) -> None:
    rows = [0, 300, 600, 900]
    said = _log(tmp_path, rows, [13.2, 13.1, 13.0, 12.9], [100.0] * 4, ["", 39.7, 48.1, 52.9]).to_json()[
        "thermal"
    ]
    # q = 4.8/8.4; τ = −300 s/ln q = 536 s; end 39.7 + 8.4/(1 − q) = 59.3 degC. With 53.4 last: q = 5.3/8.4.
    assert said["tau_s"] == pytest.approx(-300.0 / np.log(4.8 / 8.4), rel=1e-3)
    assert said["tau_high_s"] == pytest.approx(-300.0 / np.log(5.3 / 8.4), rel=1e-3)
    assert said["end_degC"] == pytest.approx(39.7 + 8.4 / (1.0 - 4.8 / 8.4), abs=0.02)
    growing = _log(tmp_path, rows, [13.2, 13.1, 13.0, 12.9], [100.0] * 4, ["", 30, 35, 42]).to_json()[
        "thermal"
    ]
    assert growing["tau_s"] is None  # q = 7/5 ≥ 1: nothing settles


def test_a_flat_top_among_scattered_readings_is_a_warning_and_a_steady_load_is_not(tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    time_s = np.arange(0.0, 600.0)
    true_a = 60.0 + 50.0 * np.sin(time_s / 40.0) + rng.normal(0.0, 0.5, time_s.size)
    clipped = _log(tmp_path, time_s, np.full(time_s.size, 13.0), np.minimum(true_a, 100.0))
    assert any("Flat top" in w and "100 A" in w for w in clipped.warnings)
    assert not any("Flat top" in w for w in _log(tmp_path, time_s, np.full(600, 13.0), true_a).warnings)
    assert not any("Flat top" in w for w in _pulse(tmp_path).warnings)


def test_an_event_as_short_as_the_interval_makes_peaks_lower_bounds(tmp_path: Path) -> None:
    time_s = np.arange(0.0, 100.0, 1.0)
    current_a = np.where(time_s == 50.0, 90.0, 10.0)
    said = _log(tmp_path, time_s, 13.2 - 0.003 * current_a, current_a).to_json()
    assert said["samples"]["shortest_event_s"] == 1.0
    assert any("lower bounds" in warning for warning in said["warnings"])


def test_the_printed_tables_are_toml_with_the_numbers_of_the_log(tmp_path: Path) -> None:
    record = tomllib.loads(_constant_discharge(tmp_path).to_toml())
    (test,) = record["capacity_test"]
    assert (test["current"], test["duration"], test["charge"]) == ("20.02 A", "18600 s", "103.4367 Ah")
    assert (test["cutoff_voltage"], test["ended_by"]) == ("10.000 V", "cutoff")
    charges = [float(charge.split()[0]) for charge, _ in test["curve"]]
    assert charges == sorted(set(charges)) and test["curve"][-1][1] == "10.0000 V"
    steps = tomllib.loads(_pulse(tmp_path).to_toml())["step_test"]
    assert (steps[0]["from_current"], steps[0]["to_current"], steps[0]["after"]) == ("0 A", "150 A", "10 s")


def test_what_only_the_tester_knows_is_asked_for_with_what_the_log_suggests(tmp_path: Path) -> None:
    # 50 A for an hour with a step to 100 A half way in time: 25 Ah out of 75 before it, by hand
    time_s = np.arange(0.0, 3601.0, 1.0)
    current_a = np.where(time_s <= 1800.0, 50.0, 100.0)
    fall = np.maximum(time_s - 3500.0, 0.0) / 100.0 * 2.5
    summary = _log(tmp_path, time_s, 13.2 - 0.003 * current_a - fall, current_a, [f"{21.5 + t / 3600:.2f}" for t in time_s])
    assert summary.ending is not None and summary.ending.kind == "cutoff"
    step = next(test for test in found_tests(summary) if test.kind == "step_test")
    asked = {line.key: line.value for line in step.lines if line.asked}
    assert asked == {"state_of_charge": "67 %", "temperature": "22.0 degC"}
    assert "state_of_charge" not in step.values()
    pasted = tomllib.loads(summary.to_toml())["step_test"][0]
    assert pasted == step.values()  # a suggestion is a comment there
    assert '# state_of_charge = "67 %"   # if the log began' in summary.to_toml()


def test_the_text_keeps_to_eighty_columns_and_the_json_to_finite_numbers(tmp_path: Path) -> None:
    for summary in (_constant_discharge(tmp_path), _pulse(tmp_path)):
        assert max(len(line) for line in summary.to_text().splitlines()) <= 80
        json.dumps(summary.to_json(), allow_nan=False)


def test_steps_are_found_across_the_blocks_of_a_long_log(tmp_path: Path) -> None:
    time_s = np.round(np.arange(0.0, 40_000.0, 0.1), 1)
    current_a = np.where((time_s // 500.0) % 2 == 0, 20.0, 100.0)
    phase = time_s % 500.0
    direction = np.where(current_a > 50.0, 1.0, -1.0)
    voltage_v = 13.0 - 0.003 * current_a - direction * 80.0 * 0.5e-3 * (1.0 - np.exp(-phase / 5.0))
    summary = _log(tmp_path, time_s, voltage_v, current_a)
    assert [step.start_s for step in summary.steps] == pytest.approx(np.arange(500.0, 40_000.0, 500.0))
    assert summary.step_count == 79
    # By hand, over 80 A: 0.24 V of the 3 mohm, 0.04 V of the settled part let go, 0.04 (1 − e^(−10/5)) V built up.
    expected = 3.0 + 0.5 + 0.5 * (1.0 - np.exp(-10.0 / 5.0))
    for step in summary.steps:
        assert 1e3 * step.resistance_ohm[2] == pytest.approx(expected, abs=1e-5)  # nine digits of a voltage


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    start_s=st.floats(0.0, 1e6).map(lambda x: round(x, 1)),
    factor=st.sampled_from([("Time (s)", 1.0), ("Time (min)", 60.0), ("Time (h)", 3600.0)]),
    milli=st.booleans(),
)
def test_another_clock_start_or_unit_changes_no_result(
    tmp_path: Path, start_s: float, factor: tuple[str, float], milli: bool
) -> None:
    heading, seconds = factor
    time_s = np.arange(0.0, 120.0, 1.0)
    current_a = np.where((time_s >= 10.0) & (time_s < 70.0), 40.0, 2.0)
    voltage_v = 13.2 - 0.003 * current_a
    scale, unit = (1e3, "mA") if milli else (1.0, "A")
    lines = [f"{heading},Current ({unit}),Voltage (V)"]
    columns = ((time_s + start_s) / seconds).tolist(), (current_a * scale).tolist(), voltage_v.tolist()
    lines += [f"{t!r},{i!r},{v!r}" for t, i, v in zip(*columns, strict=True)]
    path = tmp_path / "shifted.csv"
    path.write_text("\n".join(lines))
    said = summarise_log(path).to_json()
    # 40 A for 60 s, 2 A for 59 s, by hand; 1e6 s in double precision keeps 1e-10 s.
    assert said["charge_Ah"] == pytest.approx((40 * 60 + 2 * 59) / 3600, rel=1e-7)
    assert [step["resistance_mohm"]["10"] for step in said["steps"]] == pytest.approx([3.0, 3.0], rel=1e-6)
