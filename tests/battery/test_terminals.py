"""Terminal rise: fit, propagation of the probe's error, and the rise through an outing. Data invented."""

from __future__ import annotations

import dataclasses
import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from planner.battery.envelope import build_envelope
from planner.battery.terminals import (
    TerminalModel,
    fit_terminals,
    fits_by_bound,
    peak_rise,
    repeat_to_steady,
    rms_current_a,
    steady_rise_k,
    three_point_fit,
)
from planner.record.schema import CurrentTest, Instrument, Record, TerminalTest, TestConditions

PROBE = Instrument("probe", temperature_k=1.0)
AMBIENT_K = 298.15


def terminal(rises, current_a=100.0, instrument=PROBE):
    at = TestConditions("terminal_test.1", instrument)
    readings = tuple((60.0 * minutes, AMBIENT_K + rise) for minutes, rise in rises)
    return TerminalTest(at, current_a, AMBIENT_K, readings)


def fit(*tests, holds=()):
    model = fit_terminals(Record("x", terminal_tests=tests, current_tests=holds))
    assert model is not None
    return model


ONE = terminal([(15, 28.0)])
THREE = terminal([(5, 14.7), (10, 23.1), (15, 27.9)])


def from_cold(edges, start, end, model):
    """The rise from none, through the function that repeats: after a rest of 50 time constants none is left."""
    edges = np.append(edges, edges[-1] + 50.0 * model.tau_s)
    return repeat_to_steady(edges, np.append(start, 0.0), np.append(end, 0.0), model)[:-1]


def test_fifteen_minutes_are_four_fifths_of_the_steady_rise():
    # Hand calculation: 28.0 K / (1 - exp(-15/9)) = 34.52 K with the prior of 9 min
    model = fit(ONE)
    assert model.rise_ss_k == pytest.approx(34.52, abs=0.005)
    assert model.tau_s == 540.0 and any("prior of 9 min" in text for text in model.warnings)
    # I^2: 150 A 77.7 K, 112.7 degC in 35 degC air; 40 K of room allow 107.6 A
    assert float(steady_rise_k(model, 150.0)) == pytest.approx(77.7, abs=0.05)
    assert 35.0 + float(steady_rise_k(model, 150.0)) == pytest.approx(112.7, abs=0.05)
    assert float(steady_rise_k(model, 107.6)) == pytest.approx(40.0, abs=0.05)
    # 60 s at 150 A add 8.17 K only
    assert from_cold([0.0, 60.0], [150.0], [150.0], model)[-1] == pytest.approx(8.17, abs=0.005)


def test_the_priors_spread_reaches_the_steady_rise():
    # Hand calculation: x e^-x / (1 - e^-x) at x = 15/9 is 0.388, times 30 %: 11.6 %;
    # probe sqrt 2 x 1 K / sqrt 3 = 0.816 K in 28 K: 2.9 %; together 12.0 %
    model = fit(ONE)
    assert model.u_tau_rel == pytest.approx(0.30)
    assert model.u_rise_rel == pytest.approx(0.120, abs=0.001)
    # A slower terminal would rise further: they go together
    assert model.correlation == pytest.approx(0.116 / 0.120, abs=0.01)


def test_three_equal_readings_tell_time_constant_and_steady_rise():
    # Hand calculation: q = 4.8/8.4, tau = -5/ln q = 8.93 min, steady 14.7 + 8.4/(1 - q) = 34.3 K
    tau_s, steady_k = three_point_fit(300.0, (14.7, 23.1, 27.9))
    assert tau_s / 60.0 == pytest.approx(8.93, abs=0.005)
    assert steady_k == pytest.approx(34.3, abs=0.05)
    # Half a kelvin more in the last: 10.86 min, 37.5 K
    tau_s, steady_k = three_point_fit(300.0, (14.7, 23.1, 28.4))
    assert tau_s / 60.0 == pytest.approx(10.86, abs=0.005)
    assert steady_k == pytest.approx(37.5, abs=0.05)


@pytest.mark.parametrize(
    "rises", [(10.0, 15.0, 20.0), (10.0, 12.0, 20.0), (10.0, 10.0, 12.0), (20.0, 10.0, 5.0)]
)
def test_three_readings_that_do_not_bend_give_no_time_constant(rises):
    assert three_point_fit(300.0, rises) is None


def test_the_fit_of_three_readings_is_the_hand_calculation():
    model = fit(THREE)
    # The readings lie on one exponential through the origin to their last digit
    assert model.tau_s / 60.0 == pytest.approx(8.93, abs=0.01)
    assert model.rise_ss_k == pytest.approx(34.3, abs=0.05)
    assert model.warnings == ()


def test_half_a_kelvin_in_one_reading_stays_inside_the_stated_uncertainty():
    moved = fit(terminal([(5, 14.7), (10, 23.1), (15, 28.4)]))
    # The two ways of reading the same three figures differ by 5 %: it must be within one standard one
    assert abs(37.46 / moved.rise_ss_k - 1.0) <= moved.u_rise_rel
    fine = Instrument("fine probe", temperature_k=0.05)
    sure = fit(terminal([(5, 14.7), (10, 23.1), (15, 28.4)], instrument=fine))
    assert abs(37.46 / sure.rise_ss_k - 1.0) <= sure.u_rise_rel + 1e-3


def test_the_delta_method_agrees_with_sampling_the_probe():
    # Oracle: refit of 400 noisy copies. Standard error of a standard deviation at 400 is 3.5 %, and the
    # fit is a little curved: 15 % is allowed.
    fine = Instrument("probe", temperature_k=0.3)
    model = fit(terminal([(5, 14.7), (10, 23.1), (15, 27.9)], instrument=fine))
    rng = np.random.default_rng(5)
    noise = rng.normal(0.0, 2**0.5 * 0.3 / 3**0.5, (400, 3))
    rises = np.array([14.7, 23.1, 27.9]) + noise
    fits = [fit(terminal(list(zip((5, 10, 15), row, strict=True)), instrument=fine)) for row in rises]
    steady = np.array([found.rise_ss_k for found in fits if not found.warnings])
    assert len(steady) > 390
    assert steady.std() / steady.mean() == pytest.approx(model.u_rise_rel, rel=0.15)


def test_readings_that_scatter_beyond_the_probe_are_less_sure():
    fine = Instrument("fine probe", temperature_k=0.2)
    # By hand, 34.3 K and 8.93 min: 9.8, 16.8, 21.9, 25.4 K; the second list scatters by 1 K
    smooth = fit(terminal([(3, 9.8), (6, 16.8), (9.1, 22.0), (12, 25.4)], instrument=fine))
    rough = fit(terminal([(3, 10.8), (6, 15.8), (9.1, 23.0), (12, 24.9)], instrument=fine))
    assert not smooth.warnings and not rough.warnings
    assert rough.u_rise_rel > 2.0 * smooth.u_rise_rel


def test_two_readings_and_the_origin_tell_both():
    # Hand calculation: theta2 / theta1 = 1 + exp(-t/tau) for t2 = 2 t1: 23.1/14.7 - 1 = 4/7, tau 8.93 min
    model = fit(terminal([(5, 14.7), (10, 23.1)], instrument=Instrument("p", temperature_k=0.2)))
    assert model.tau_s / 60.0 == pytest.approx(8.93, abs=0.01)
    assert not model.warnings


@pytest.mark.parametrize(
    "rises",
    [[(5, 10.0), (10, 20.0)], [(5, 10.0), (10, 21.0), (15, 33.0)], [(5, 8.0), (10, 11.0), (15, 16.0)]],
)
def test_readings_that_do_not_bend_fall_back_on_the_prior_with_a_warning(rises):
    model = fit(terminal(rises))
    assert model.tau_s == 540.0
    assert any("prior" in warning for warning in model.warnings)


def test_a_hold_with_both_terminal_temperatures_is_a_reading():
    at = TestConditions("current_test.1", PROBE)
    hold = CurrentTest(at, "hold", 150.0, 60.0, None, "clock", AMBIENT_K, AMBIENT_K + 8.17)
    model = fit(holds=(hold,))
    # Hand calculation: 8.17 K / (1 - exp(-1/9)) = 77.7 K at 150 A
    assert model.current_a == 150.0
    assert model.rise_ss_k == pytest.approx(77.7, abs=0.05)


def test_readings_at_two_currents_are_scaled_by_the_square():
    both = fit(ONE, terminal([(15, 7.0)], current_a=50.0))
    assert both.rise_ss_k == pytest.approx(34.52, abs=0.005)


def test_an_unstated_probe_is_warned_about():
    assert any("handbook" in warning for warning in fit(terminal([(15, 28.0)], instrument=None)).warnings)


def test_without_a_reading_there_is_no_model():
    assert fit_terminals(Record("x")) is None
    assert fit_terminals(Record("x", terminal_tests=(terminal([(15, 0.0)]),))) is None


MODEL = TerminalModel(100.0, 34.52, 540.0, 0.1, 0.2, 0.9)


def test_a_cycling_load_heats_by_its_rms():
    # Hand calculation: 120 A 30 s, 30 A 90 s: mean 52.5 A, RMS 65.4 A; steady 14.8 K by RMS, 9.51 by mean
    edges, current = [0.0, 30.0, 120.0], [120.0, 30.0]
    rms_a = float(rms_current_a(edges, current, current))
    assert rms_a == pytest.approx(65.4, abs=0.05)
    assert float(steady_rise_k(MODEL, rms_a)) == pytest.approx(14.8, abs=0.05)
    assert float(steady_rise_k(MODEL, 52.5)) == pytest.approx(9.51, abs=0.005)
    swing = repeat_to_steady(edges, current, current, MODEL)
    assert swing.min() < float(steady_rise_k(MODEL, rms_a)) < swing.max()
    assert swing[0] == pytest.approx(swing[-1], rel=1e-12)


def test_the_steady_swing_is_the_end_of_many_repeats():
    edges, current = np.array([0.0, 30.0, 120.0]), [120.0, 30.0]
    # 200 x 120 s are 44 time constants: exp(-44) is below rounding
    many = np.append(0.0, np.cumsum(np.tile(np.diff(edges), 200)))
    start = from_cold(many, np.tile(current, 200), np.tile(current, 200), MODEL)[-1]
    assert repeat_to_steady(edges, current, current, MODEL)[0] == pytest.approx(start, rel=1e-12)


def test_the_rise_is_that_of_an_ode_solver():
    edges = np.array([0.0, 60.0, 400.0, 1000.0])
    current = np.array([150.0, 20.0, 90.0])

    def slope(t, rise):
        level = current[min(np.searchsorted(edges, t, side="right") - 1, 2)]
        return (34.52 * (level / 100.0) ** 2 - rise) / 540.0

    oracle, start = [0.0], 0.0
    for begin, end in itertools.pairwise(edges):
        found = solve_ivp(slope, (begin, np.nextafter(end, 0)), [start], rtol=1e-10, atol=1e-12)
        start = found.y[0, -1]
        oracle.append(start)
    # 1e-7: the solver's tolerance, three pieces
    assert from_cold(edges, current, current, MODEL) == pytest.approx(oracle, rel=1e-7)


def test_a_short_moving_piece_heats_by_its_mean_square():
    fine = np.linspace(0.0, 20.0, 2001)
    level = np.interp((fine[1:] + fine[:-1]) / 2, [0.0, 20.0], [20.0, 120.0])
    cut = from_cold(fine, level, level, MODEL)[-1]
    # 1 %: the piece is 1/27 of the time constant, so what is late in it has cooled by less than that
    assert from_cold([0.0, 20.0], [20.0], [120.0], MODEL)[-1] == pytest.approx(cut, rel=0.01)


def test_several_traces_run_together_as_they_would_apart():
    current = np.random.default_rng(3).uniform(0.0, 150.0, (7, 5))
    edges = np.cumsum([0.0, 60.0, 5.0, 700.0, 30.0, 90.0])
    together = repeat_to_steady(edges, current, current, MODEL)
    assert together.shape == (7, 6)
    apart = [repeat_to_steady(edges, row, row, MODEL) for row in current]
    assert together == pytest.approx(np.array(apart), rel=1e-12)


def sampled_spread(edges, current, model):
    """Oracle: relative standard deviation of the largest rise over 4000 pairs of steady rise and time constant."""
    rng = np.random.default_rng(1)
    first, other = rng.standard_normal((2, 4000))
    second = model.correlation * first + np.sqrt(1.0 - model.correlation**2) * other
    peaks = [
        repeat_to_steady(edges, current, current, dataclasses.replace(model, rise_ss_k=top, tau_s=slow)).max()
        for top, slow in zip(
            model.rise_ss_k * np.exp(model.u_rise_rel * first),
            model.tau_s * np.exp(model.u_tau_rel * second),
            strict=True,
        )
    ]
    return float(np.std(np.log(peaks)))


@pytest.mark.parametrize("correlation", [0.0, 0.3, -0.5])
@pytest.mark.parametrize("on_s", [30.0, 300.0, 3000.0])
def test_the_peaks_doubt_is_that_of_sampling_rise_and_time_constant(correlation, on_s):
    model = dataclasses.replace(MODEL, u_rise_rel=0.05, u_tau_rel=0.1, correlation=correlation)
    edges, current = [0.0, on_s, on_s + 40_000.0], [120.0, 0.0]
    peak, ours = peak_rise(edges, current, current, model)
    assert peak == repeat_to_steady(edges, current, current, model).max()
    # 5 %: standard error of a standard deviation at 4000 is 1.1 %, and the second order of 10 % is left out
    assert ours == pytest.approx(max(sampled_spread(edges, current, model), 0.05), rel=0.05)


def test_a_short_load_is_less_sure_than_a_long_one_where_nothing_tells_the_time_constant():
    # Hand calculation: a burst far below tau rises by R t / tau. One reading at 15/9 tau: u_R 12.0 %, of which 11.6 %
    # goes with tau's 30 %; so 30 - 11.6 = 18.4 %, and the probe's 2.9 % beside it: 18.6 %
    model = fit(ONE)
    _, burst = peak_rise([0.0, 1.0, 40_000.0], [150.0, 0.0], [150.0, 0.0], model)
    assert burst == pytest.approx(0.186, abs=0.002)
    # Held for long the time constant says nothing: the steady rise's own
    _, held = peak_rise([0.0, 40_000.0], [150.0], [150.0], model)
    assert held == pytest.approx(model.u_rise_rel, rel=1e-9)
    # Held as long as the reading took, the reading tells it to 2.9 %; the steady rise's own is kept
    _, same = peak_rise([0.0, 900.0, 40_000.0], [150.0, 0.0], [150.0, 0.0], model)
    assert same == model.u_rise_rel


def test_nothing_drawn_has_the_steady_rises_doubt():
    assert peak_rise([0.0, 60.0], [0.0], [0.0], MODEL) == (0.0, MODEL.u_rise_rel)


# off, or a current that a meter could show: squares of 1e-160 A leave the range of floats, not of terminals
AMPERES = st.one_of(st.just(0.0), st.floats(1e-3, 200.0))


@given(st.lists(AMPERES, min_size=1, max_size=6), st.floats(1, 1.5))
def test_more_current_never_cools(currents, factor):
    edges = np.arange(len(currents) + 1) * 100.0
    raised = np.array(currents) * factor
    assert (
        repeat_to_steady(edges, raised, raised, MODEL) >= repeat_to_steady(edges, currents, currents, MODEL)
    ).all()


@given(st.lists(AMPERES, min_size=1, max_size=6))
def test_no_rise_passes_the_steady_one_of_the_largest_current(currents):
    edges = np.arange(len(currents) + 1) * 100.0
    ceiling = float(steady_rise_k(MODEL, max(currents))) * (1 + 1e-12)
    assert repeat_to_steady(edges, currents, currents, MODEL).max() <= ceiling * (1 + 1e-9)


def test_half_the_current_shown_for_a_quarter_hour_fits_by_bound():
    clamp = Instrument("clamp", current_gain=0.02, current_floor_a=0.5, time_s=0.5)
    hold = CurrentTest(TestConditions("current_test.1", clamp), "hold", 105.0, 900.0, None, "clock")
    envelope = build_envelope(Record("x", current_tests=(hold,)))
    # By hand: (105 - 2.6) / 2 = 51.2 A
    assert fits_by_bound(51.2, envelope)
    assert not fits_by_bound(51.3, envelope)
    short = dataclasses.replace(hold, duration_s=899.0)
    assert not fits_by_bound(1.0, build_envelope(Record("x", current_tests=(short,))))
