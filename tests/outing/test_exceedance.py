import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.outing.build import build_timeline
from planner.outing.exceedance import (
    GRID_STEP,
    MANY_VALUES,
    Trace,
    levels,
    longest_run_s,
    mean_a,
    points,
    rms_a,
    rolling_rms_a,
    trace_at,
)
from planner.outing.schema import Use
from tests.outing.needs import held, joined, load, outing

# An invented day of a small boat, seconds and amperes.
PULLS = held((120, 25), (8, 140), (40, 60), (300, 25), (35, 110), (20, 90), (600, 12), (4, 190), (30, 110))
# Invented log of one outing, each value held.
LOGGED = held(
    (600, 3), (20, 62), (900, 18), (6, 96), (45, 55), (1200, 9), (15, 62), (1800, 14), (4, 118), (30, 48),
    (2400, 6), (25, 70), (900, 22),
)  # fmt: skip


def split_in_two(trace):
    """The same trace with every piece cut in the middle."""
    middle_s = 0.5 * (trace.edges_s[:-1] + trace.edges_s[1:])
    middle_a = 0.5 * (trace.start_a + trace.end_a)
    return Trace(
        np.append(np.column_stack([trace.edges_s[:-1], middle_s]).ravel(), trace.edges_s[-1]),
        np.column_stack([trace.start_a, middle_a]).ravel(),
        np.column_stack([middle_a, trace.end_a]).ravel(),
    )


@pytest.mark.parametrize(("level", "seconds"), [(25, 523), (60, 55), (100, 35), (140, 8), (190, 4)])
def test_longest_run_joins_neighbouring_pieces(level, seconds):
    # Counted by hand: 25 A and more for 120 + 8 + 40 + 300 + 35 + 20 = 523 s; 60 A for 35 + 20 s.
    assert longest_run_s(PULLS, level)[0] == seconds


def test_mean_says_nothing_of_the_pulls():
    # Hand calculation: 30930 A s / 1157 s = 26.73 A.
    assert mean_a(PULLS) == pytest.approx(30930 / 1157, rel=1e-12)


@pytest.mark.parametrize(("level", "seconds"), [(48, 51), (55, 51), (62, 25), (70, 25), (96, 6), (118, 4)])
def test_runs_of_a_recorded_outing(level, seconds):
    # Counted by hand: 48 A and more for 6 + 45 s; 62 A for 25 s (the 70 A pull); the rest single pieces.
    assert longest_run_s(LOGGED, level)[0] == seconds


def test_charge_and_mean_of_a_recorded_outing():
    # Hand calculation: 97083 A s over 7945 s = 26.97 Ah, 2.21 h, 12.22 A.
    assert LOGGED.edges_s[-1] / 3600 == pytest.approx(2.21, abs=0.005)
    assert mean_a(LOGGED) * LOGGED.edges_s[-1] / 3600 == pytest.approx(26.97, abs=0.005)
    assert mean_a(LOGGED) == pytest.approx(12.22, abs=0.005)


def test_ten_second_averages_hide_the_short_pull():
    # Hand calculation: 4 s at 118 A and 6 s at 48 A average to 76 A in one 10 s sample.
    blurred = held((1800, 14), (10, (4 * 118 + 6 * 48) / 10), (24, 48))
    assert levels(blurred)[1][-1] == pytest.approx(76.0, abs=0.5)
    assert longest_run_s(blurred, 96)[0] == 0.0


def test_every_constant_current_is_a_level_of_its_own():
    threshold_a, current_a = levels(PULLS)
    assert current_a.tolist() == [12.0, 25.0, 60.0, 90.0, 110.0, 140.0, 190.0]
    assert threshold_a.tolist() == current_a.tolist()


def test_pulsing_is_seen_by_the_rolling_rms_and_not_by_the_run():
    pulsing = held(*[(10, 120), (5, 20)] * 20)
    assert longest_run_s(pulsing, 120)[0] == 10.0
    # Hand calculation: mean (1200 + 100)/15 = 86.7 A; RMS of whole cycles sqrt(146000/15) = 98.66 A.
    assert mean_a(pulsing) == pytest.approx(1300 / 15, rel=1e-12)
    assert rolling_rms_a(pulsing, 300.0)[0] == pytest.approx(np.sqrt(146000 / 15), rel=1e-12)
    # Over 10 s the window holds one pulse: exactly 120 A. Over 60 s: four whole cycles.
    assert rolling_rms_a(pulsing, 10.0)[0] == pytest.approx(120.0, rel=1e-12)
    assert rolling_rms_a(pulsing, 60.0)[0] == pytest.approx(np.sqrt(146000 / 15), rel=1e-12)


def test_a_cycling_load_has_mean_and_rms_of_its_cycle():
    # Hand calculation: (120x30 + 30x90)/120 = 52.5 A; sqrt((14400x30 + 900x90)/120) = 65.4 A.
    cycling = held(*[(30, 120), (90, 30)] * 10)
    assert mean_a(cycling) == pytest.approx(52.5, rel=1e-12)
    assert rms_a(cycling) == pytest.approx(65.4, abs=0.05)


def test_windows_longer_than_the_trace_are_left_out():
    found = [(point.basis, point.duration_s) for point in points(held((100, 5), (20, 30)))]
    assert found == [("run", 120.0), ("run", 20.0), ("rms", 10.0), ("rms", 60.0)]
    with pytest.raises(ValueError, match="does not fit"):
        rolling_rms_a(held((100, 5)), 100.5)


def test_crossing_in_a_moving_piece_is_on_its_line():
    # 0 to 100 A in 100 s and back in 50 s: at or above 40 A from 40 s to 130 s.
    ramp = joined([0, 100, 150], [0, 100, 0])
    assert longest_run_s(ramp, 40.0)[0] == pytest.approx(90.0, rel=1e-12)
    assert longest_run_s(ramp, 100.0)[0] == pytest.approx(0.0, abs=1e-6)  # only touched; level noise 1e-9
    assert longest_run_s(ramp, 101.0)[0] == 0.0


def test_rolling_rms_of_a_ramp_is_its_last_window():
    # Hand calculation: 0.5 A/s, last 10 s of 0 to 50 A: (50^3 - 45^3)/(3 x 0.5 x 10) = 2258.33 A2.
    assert rolling_rms_a(joined([0, 100], [0, 50]), 10.0)[0] == pytest.approx(np.sqrt(33875 / 15), rel=1e-12)


def test_rolling_rms_of_a_peak_lies_where_both_ends_are_equal():
    # Rising 1 A/s to 100 A at 100 s, falling 3 A/s: the best 40 s begin 30 s before the peak and end
    # 10 s after it, at 70 A both.
    rms, start_s = rolling_rms_a(joined([0, 100, 130], [0, 100, 10]), 40.0)
    assert start_s == pytest.approx(70.0, rel=1e-12)
    # Hand calculation: mean square of a line from 70 to 100 A is (4900 + 7000 + 10000)/3 = 7300 A2, twice.
    assert rms == pytest.approx(np.sqrt(7300.0), rel=1e-12)


def test_two_loads_whose_sum_is_the_same_make_one_level():
    # 0.1 + 0.2 is not 0.3 in binary; it is one current to the buyer.
    need = outing(
        20.0,
        load("current", Use(0.0, 10.0), current_a=0.1),
        load("current", Use(0.0, 10.0), current_a=0.2),
        load("current", Use(10.0, 10.0), current_a=0.3),
    )
    runs = [point for point in points(trace_at(build_timeline(need), 12.8)) if point.basis == "run"]
    assert [(point.duration_s, round(point.current_a, 9)) for point in runs] == [(20.0, 0.3)]


def test_power_and_resistance_become_current_at_the_voltage_asked():
    need = outing(
        60.0,
        load("power", Use(0.0, 60.0), power_w=120.0),
        load("resistive", Use(0.0, 60.0), resistance_ohm=6.0),
    )
    # Hand calculation: 120 W / 12 V + 12 V / 6 ohm = 12 A.
    assert mean_a(trace_at(build_timeline(need), 12.0)) == pytest.approx(12.0, rel=1e-12)


def test_nothing_drawn_makes_no_point():
    assert points(held((2000, 0.0))) == ()
    assert points(held((2000, -5.0))) == ()


def test_a_many_valued_log_is_thinned_and_keeps_its_largest_current():
    rng = np.random.default_rng(1)
    noisy = held(*[(1.0, float(a)) for a in rng.uniform(5.0, 50.0, 5000)])
    threshold_a, current_a = levels(noisy)
    # Cells of 0.5 % from 5 to 50 A: ln(10)/ln(1.005) = 462, and one more for the ends.
    assert MANY_VALUES < current_a.size <= 463
    assert current_a[-1] == noisy.start_a.max()
    assert (current_a / threshold_a).max() <= GRID_STEP * (1 + 1e-9)  # rounding at the cell's edge


def test_points_tell_where_the_run_and_the_window_begin():
    found = {(point.basis, point.duration_s): point.start_s for point in points(PULLS)}
    assert found["run", 4.0] == 120 + 8 + 40 + 300 + 35 + 20 + 600
    # The hottest 10 s: 4 s at 190 A and 6 s at 110 A after it.
    assert found["rms", 10.0] == 1123.0


amperes = st.integers(0, 200).map(float)
traces = st.one_of(
    st.lists(st.tuples(st.integers(1, 500).map(float), amperes), min_size=1, max_size=25).map(
        lambda s: held(*s)
    ),
    st.lists(st.tuples(st.integers(1, 500).map(float), amperes), min_size=2, max_size=25).map(
        lambda s: joined(np.cumsum([length for length, _ in s]), [current for _, current in s])
    ),
)


@given(traces, st.lists(st.floats(0.5, 250.0), min_size=2, max_size=8))
def test_longest_run_never_grows_with_the_level(trace, level_a):
    duration_s = longest_run_s(trace, np.sort(level_a))
    assert (np.diff(duration_s) <= 1e-9).all()  # rounding of a crossing


@given(traces, st.floats(0.5, 250.0))
def test_the_longest_run_is_that_of_a_fine_sampling(trace, level):
    begin_s, end_s = trace.edges_s[:-1], trace.edges_s[1:]
    step_s = (end_s[-1] - begin_s[0]) / 20_000
    time_s, current_a = [], []
    for begin, end, first_a, last_a in zip(begin_s, end_s, trace.start_a, trace.end_a, strict=True):
        share = np.linspace(0.0, 1.0, int((end - begin) / step_s) + 2)  # both ends: no dip or peak is missed
        time_s.append(begin + share * (end - begin))
        current_a.append(first_a + share * (last_a - first_a))
    time_s, above = np.concatenate(time_s), np.concatenate(current_a) >= level
    change = np.flatnonzero(np.diff(np.concatenate([[False], above, [False]])))
    sampled_s = max((time_s[end - 1] - time_s[first] for first, end in change.reshape(-1, 2)), default=0.0)
    # Each end of a run can fall one sample step wrong.
    assert longest_run_s(trace, level)[0] == pytest.approx(sampled_s, abs=2.0 * step_s)


@given(traces, st.floats(1.0, 400.0))
def test_rolling_rms_is_not_below_any_window_tried(trace, window_s):
    total_s = trace.edges_s[-1] - trace.edges_s[0]
    if window_s > total_s:
        return
    best, _ = rolling_rms_a(trace, window_s)
    for begin_s in trace.edges_s[0] + np.linspace(0.0, total_s - window_s, 23):
        edges_s = np.unique(
            np.clip(np.append(trace.edges_s, [begin_s, begin_s + window_s]), begin_s, begin_s + window_s)
        )
        middle_s = 0.5 * (edges_s[:-1] + edges_s[1:])
        place = np.clip(np.searchsorted(trace.edges_s, middle_s, side="right") - 1, 0, trace.start_a.size - 1)
        slope = (trace.end_a - trace.start_a) / np.diff(trace.edges_s)
        current_a = trace.start_a[place] + slope[place] * (middle_s - trace.edges_s[place])
        # Simpson's rule is exact for the square of a line: middle squared plus a twelfth of the rise squared.
        square = current_a**2 + (slope[place] * np.diff(edges_s)) ** 2 / 12.0
        tried = np.sqrt(np.sum(square * np.diff(edges_s)) / window_s)
        assert tried <= best + 1e-6 * (1.0 + best)  # differences of integrals of up to 5e8 A2 s


@given(traces)
def test_rms_is_never_below_the_mean(trace):
    assert rms_a(trace) >= mean_a(trace) * (1 - 1e-12)  # rounding


@given(traces)
def test_cutting_every_piece_in_two_changes_no_point(trace):
    whole, cut = points(trace), points(split_in_two(trace))
    assert [point.basis for point in cut] == [point.basis for point in whole]
    for one, other in zip(cut, whole, strict=True):
        # Level noise of 1e-9 x 200 A over the flattest slope, 1 A in 500 s, moves a crossing by 1e-4 s.
        assert one.current_a == pytest.approx(other.current_a, rel=1e-6)
        assert one.duration_s == pytest.approx(other.duration_s, rel=1e-6, abs=1e-3)


@given(traces, st.floats(0.0, 1.0))
def test_no_current_of_the_trace_is_milder_than_a_point(trace, share):
    runs = [point for point in points(trace) if point.basis == "run"]
    low, high = np.minimum(trace.start_a, trace.end_a), np.maximum(trace.start_a, trace.end_a)
    largest = high.max()
    level = float((low + share * (high - low))[int(share * (low.size - 1))])
    if level < 0.01 * largest or level <= 0.0:
        return
    seconds = longest_run_s(trace, level)[0]
    # Some point is at least as high and at least as long, up to rounding of the crossing.
    assert any(point.current_a >= level * (1 - 1e-9) and point.duration_s >= seconds - 1e-3 for point in runs)
