"""A log beside one steady discharge: what it adds to the model, and what it cannot tell."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from planner.battery.fit import Fitted, fit_record
from planner.battery.log_fit import LogFit, fit_log
from planner.battery.log_march import MOST_NODES, BenchLog
from planner.record.schema import Record
from tests.oracles.physics_truth import load_cached
from tests.oracles.test_physics_truth_prediction import (
    BENCH,
    ISOTHERMAL_MASS_KG,
    error_of,
    full_discharge,
)

STEADY_ALONE = Record(
    name="One steady discharge (invented)", mass_kg=ISOTHERMAL_MASS_KG,
    capacity_tests=(full_discharge("steady_20A", "capacity_test.1"),),
)  # fmt: skip


def kept_log(name: str, noise_v: float = 1e-3) -> BenchLog:
    """A kept profile of the physics truth as a logger wrote it every two seconds."""
    kept = load_cached(name)
    time_s, volts, amps = (np.array(kept[key]) for key in ("time_s", "voltage_v", "current_a"))
    grid = np.arange(0.0, time_s[-1], 2.0)
    noise = np.random.default_rng(1).normal(0.0, noise_v, grid.size)
    return BenchLog(grid, np.interp(grid, time_s, volts) + noise, np.interp(grid, time_s, amps), instrument=BENCH)


@pytest.fixture(scope="module")
def mixed() -> LogFit:
    return fit_log(STEADY_ALONE, kept_log("mixed_trolling"))


def worst(fitted: Fitted, names: tuple[str, ...]) -> float:
    circuit = fitted.circuit(fitted.centre[np.newaxis])
    return max(abs(error_of(circuit, name)) for name in names)


def test_a_log_of_moving_loads_halves_the_errors_of_the_steady_discharge_alone(mixed: LogFit) -> None:
    held_out = ("steady_50A", "steady_75A", "steady_100A", "power_640W", "power_1000W")
    alone, with_log = worst(fit_record(STEADY_ALONE), held_out), worst(mixed.fitted, held_out)
    print(f"worst of {held_out}: {alone:.2%} alone, {with_log:.2%} with the log")
    # one discharge leaves the diffusion time to its prior; half is what a log is worth reading for
    assert with_log < 0.6 * alone


def test_the_residual_series_is_measured_less_model_less_what_curve_and_meters_explain(mixed: LogFit) -> None:
    assert len(mixed.time_s) <= MOST_NODES
    together = mixed.model_v + mixed.error_v + mixed.residual_v
    assert together == pytest.approx(mixed.measured_v, abs=1e-9)  # rounding only
    # the truth is no circuit: tens of millivolts in the knee, not the volt that a wrong march would leave
    assert 0.0 < mixed.rms_v < 0.05


def test_what_the_log_does_not_touch_keeps_its_prior(mixed: LogFit) -> None:
    share = dict(zip(mixed.fitted.plan.names, mixed.share, strict=True))
    for name in ("activation", "diffusion_activation", "cold_loss_below"):  # one temperature says nothing of cold
        assert share[name] > 0.95
    assert share["diffusion_tau_s"] < 0.3  # pulses are what tells the gap


def test_metal_and_cell_resistance_cannot_be_told_apart_at_one_temperature(mixed: LogFit) -> None:
    names = mixed.fitted.plan.names
    place = [names.index("metal_ohm"), names.index("cell_ohm")]
    deviation = np.sqrt(np.diag(mixed.fitted.covariance))
    correlation = mixed.fitted.covariance[place[0], place[1]] / deviation[place].prod()
    # both act at once and at every current, so only their sum shows
    assert correlation < -0.8


def test_a_pair_is_untold_exactly_where_correlation_and_both_shares_say_so(mixed: LogFit) -> None:
    deviation = np.sqrt(np.diag(mixed.fitted.covariance))
    correlation = mixed.fitted.covariance / np.outer(deviation, deviation)
    names = mixed.fitted.plan.names
    expected = {
        (names[i], names[k])
        for i in range(len(names)) for k in range(i + 1, len(names))
        if abs(correlation[i, k]) > 0.95 and mixed.share[i] > 0.5 and mixed.share[k] > 0.5
    }  # fmt: skip
    assert {(pair.first, pair.second) for pair in mixed.untold} == expected


def test_a_short_steady_log_leaves_two_resistances_untold() -> None:
    time_s = np.arange(0.0, 20.0, 2.0)
    short = BenchLog(time_s, np.full(time_s.size, 13.2), np.full(time_s.size, 20.0), instrument=BENCH)
    found = fit_log(STEADY_ALONE, short)
    share = dict(zip(found.fitted.plan.names, found.share, strict=True))
    assert share["pair_ohm_1"] > 0.5  # ten readings of one load cannot tell a slow pair


def test_a_log_without_a_full_discharge_beside_it_is_not_fitted() -> None:
    only = STEADY_ALONE.capacity_tests[0]
    with pytest.raises(ValueError, match="beside a full discharge"):
        fit_log(STEADY_ALONE, kept_log("mixed_trolling"), of=only)
    with pytest.raises(ValueError, match="beside a full discharge"):
        fit_log(dataclasses.replace(STEADY_ALONE, capacity_tests=()), kept_log("mixed_trolling"))
