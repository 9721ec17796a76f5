from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.outing.build import build_timeline, count_pieces, samples_needed
from planner.outing.exceedance import longest_run_s, mean_a, rms_a, trace_at
from planner.outing.schema import Log, StartSurge, Use
from tests.outing.needs import load, outing


def pieces(need, row=0):
    """(start, end, current at start, current at end) of each piece of one load."""
    line = build_timeline(need)
    columns = (line.edges_s[:-1], line.edges_s[1:], line.current_start_a[row], line.current_end_a[row])
    return [tuple(map(float, piece)) for piece in zip(*columns, strict=True)]


def test_a_use_is_three_pieces_off_on_off():
    need = outing(100.0, load("current", Use(10.0, 30.0), current_a=5.0))
    assert pieces(need) == [(0.0, 10.0, 0.0, 0.0), (10.0, 40.0, 5.0, 5.0), (40.0, 100.0, 0.0, 0.0)]


def test_a_duty_starts_with_on_and_its_last_part_is_cut():
    need = outing(100.0, load("current", Use(0.0, 25.0, None, 5.0, 10.0), current_a=2.0))
    assert [(start, end) for start, end, current, _ in pieces(need) if current] == [(0.0, 5.0), (15.0, 20.0)]
    short = outing(100.0, load("current", Use(0.0, 17.0, None, 5.0, 10.0), current_a=2.0))
    assert [(start, end) for start, end, current, _ in pieces(short) if current] == [(0.0, 5.0), (15.0, 17.0)]


def test_a_duty_of_whole_cycles_has_no_sliver_at_its_end():
    # 20 cycles of 0.1 s on and 0.2 s off end at 6.0 s; sums of decimals miss that by rounding.
    need = outing(6.0, load("current", Use(0.0, 6.0, None, 0.1, 0.2), current_a=2.0))
    line = build_timeline(need)
    assert line.edges_s.size == 41
    assert np.diff(line.edges_s).min() > 0.09


def test_a_start_surge_is_the_whole_current_at_every_switch_on():
    surge = StartSurge(150.0, 0.4)
    need = outing(40.0, load("current", Use(0.0, 30.0, None, 5.0, 10.0), current_a=20.0, surge=surge))
    assert [piece[2] for piece in pieces(need)] == [150.0, 20.0, 0.0, 150.0, 20.0, 0.0]
    assert pieces(need)[0][:2] == (0.0, 0.4)


def test_a_surge_longer_than_the_being_on_is_cut():
    need = outing(20.0, load("current", Use(2.0, 3.0), current_a=20.0, surge=StartSurge(150.0, 10.0)))
    assert [(start, end) for start, end, current, _ in pieces(need) if current] == [(2.0, 5.0)]


def test_abutting_uses_of_a_motor_are_one_switch_on():
    uses = (Use(0.0, 10.0, 1.0), Use(10.0, 10.0, 0.5), Use(30.0, 5.0, 1.0))
    need = outing(40.0, load("motor", *uses, full_current_a=52.0, surge=StartSurge(150.0, 0.4)))
    surges = [start for start, _, current, _ in pieces(need) if current == 150.0]
    assert surges == [0.0, 30.0]


def test_a_surge_runs_over_into_an_abutting_use():
    uses = (Use(0.0, 0.2, 1.0), Use(0.2, 10.0, 0.5))
    need = outing(40.0, load("motor", *uses, full_current_a=52.0, surge=StartSurge(150.0, 0.4)))
    # An edge of the use lies inside the surge; the current is the surge's on both sides of it.
    assert pieces(need)[0][2] == 150.0
    assert sum(end - start for start, end, current, _ in pieces(need) if current == 150.0) == pytest.approx(
        0.4
    )


def test_a_motor_at_speed_zero_is_off_and_its_next_start_is_a_switch_on():
    uses = (Use(0.0, 10.0, 1.0), Use(10.0, 10.0, 0.0), Use(20.0, 10.0, 1.0))
    need = outing(40.0, load("motor", *uses, full_current_a=52.0, surge=StartSurge(150.0, 1.0)))
    assert [start for start, _, current, _ in pieces(need) if current == 150.0] == [0.0, 20.0]


def test_an_inverter_idles_in_the_off_part_of_its_duty_and_not_outside_its_uses():
    kettle = load(
        "inverter",
        Use(10.0, 30.0, None, 5.0, 10.0),
        power_w=900.0,
        efficiency=0.9,
        idle_w=12.0,
        cutout_v=11.0,
        cutout_delay_s=2.0,
    )
    line = build_timeline(outing(60.0, kettle))
    # Hand calculation: 12 W + 900 W / 0.9 = 1012 W while on.
    assert line.power_w[0].tolist() == [0.0, 1012.0, 12.0, 1012.0, 12.0, 0.0]
    assert line.uses_inverter[0].tolist() == [False, True, True, True, True, False]
    assert (line.cutout_v[0], line.cutout_delay_s[0]) == (11.0, 2.0)
    assert np.isnan(line.restart_v[0])


def test_a_load_without_inverter_has_no_cutout():
    line = build_timeline(outing(60.0, load("power", Use(0.0, 30.0), power_w=40.0)))
    assert np.isnan([line.cutout_v[0], line.cutout_delay_s[0], line.restart_v[0]]).all()
    assert not line.uses_inverter.any()
    assert line.power_w[0].tolist() == [40.0, 0.0]


def test_a_resistive_load_is_a_conductance():
    line = build_timeline(outing(60.0, load("resistive", Use(0.0, 60.0), resistance_ohm=0.25)))
    assert line.conductance_s.tolist() == [[4.0]]


def test_a_surge_takes_the_place_of_power_and_idle():
    kettle = load(
        "inverter", Use(0.0, 10.0), power_w=900.0, efficiency=0.9, idle_w=12.0, surge=StartSurge(160.0, 1.0)
    )
    line = build_timeline(outing(10.0, kettle))
    assert line.current_start_a[0].tolist() == [160.0, 0.0]
    assert line.power_w[0].tolist() == [0.0, 1012.0]
    assert line.uses_inverter[0].tolist() == [True, True]


IRREGULAR_S = (0.0, 10.0, 20.0, 30.0, 90.0, 300.0, 310.0, 600.0)
IRREGULAR_A = (5.0, 60.0, 60.0, 20.0, 8.0, 45.0, 8.0, 8.0)


@pytest.mark.parametrize(("between", "mean"), [("hold", 11.50), ("line", 17.19)])
def test_an_irregular_log_means_what_lies_between_its_samples(between, mean):
    # Hand calculation. Held: (50 + 600 + 600 + 1200 + 1680 + 450 + 2320) / 600 = 6900/600 = 11.50 A.
    # Trapezoid: (325 + 600 + 400 + 840 + 5565 + 265 + 2320) / 600 = 10315/600 = 17.19 A.
    log = Log(Path("invented.csv"), IRREGULAR_S, IRREGULAR_A, between)
    line = build_timeline(outing(600.0, load("recorded", Use(0.0, 600.0), log=log)))
    assert mean_a(trace_at(line, 12.8)) == pytest.approx(mean, abs=0.005)  # two decimals printed


def test_equal_held_samples_are_one_piece_and_a_flat_line_too():
    assert samples_needed(np.array(IRREGULAR_A), "hold").tolist() == [
        True,
        True,
        False,
        True,
        True,
        True,
        True,
        True,
    ]
    flat = np.array([1.0, 2.0, 2.0, 2.0, 3.0])
    assert samples_needed(flat, "line").tolist() == [True, True, False, True, True]


def test_a_line_is_cut_where_another_load_switches():
    log = Log(Path("invented.csv"), (0.0, 100.0), (0.0, 50.0), "line")
    need = outing(
        100.0, load("recorded", Use(0.0, 100.0), log=log), load("current", Use(40.0, 60.0), current_a=1.0)
    )
    # Hand calculation: 0.5 A/s x 40 s = 20 A at the cut.
    assert pieces(need) == [(0.0, 40.0, 0.0, 20.0), (40.0, 100.0, 20.0, 50.0)]


def test_a_log_may_start_later_and_be_cut_by_its_use():
    log = Log(Path("invented.csv"), (0.0, 100.0), (0.0, 50.0), "line")
    need = outing(100.0, load("recorded", Use(40.0, 60.0), log=log))
    assert pieces(need) == [(0.0, 40.0, 0.0, 0.0), (40.0, 100.0, 0.0, 30.0)]


def test_two_samples_at_one_time_are_a_jump():
    log = Log(Path("invented.csv"), (0.0, 10.0, 10.0, 20.0), (1.0, 2.0, 5.0, 6.0), "line")
    need = outing(20.0, load("recorded", Use(0.0, 20.0), log=log))
    assert pieces(need) == [(0.0, 10.0, 1.0, 2.0), (10.0, 20.0, 5.0, 6.0)]


def test_the_hour_of_a_reservoir_morning_has_the_mean_and_rms_of_its_parts():
    # Hand calculation: mean 1060/60 = 17.67 A; squares 15680 + 13520 + 2025 + 22.5 = 31247.5,
    # a 60th of it 520.79, its root 22.82 A.
    parts = ((0.0, 20.0, 28.0), (20.0, 5.0, 52.0), (25.0, 25.0, 9.0), (50.0, 10.0, 1.5))
    loads = [load("current", Use(60 * a, 60 * b), current_a=current) for a, b, current in parts]
    trace = trace_at(build_timeline(outing(3600.0, *loads)), 12.8)
    assert mean_a(trace) == pytest.approx((20 * 28 + 5 * 52 + 25 * 9 + 10 * 1.5) / 60, rel=1e-12)
    assert mean_a(trace) == pytest.approx(17.67, abs=0.005)
    assert rms_a(trace) == pytest.approx(22.82, abs=0.005)
    # 92 Ah last 5.21 h at the mean, 1.77 h at the highest part all the time.
    assert 92.0 / mean_a(trace) == pytest.approx(5.21, abs=0.005)


def test_motor_start_from_locked_rotor_lasts_a_third_of_a_second_above_a_hundred_amperes():
    # Hand calculation: locked rotor 13.0 V / 71 mohm = 183.1 A, running 45 A, spin-up constant 0.35 s:
    # above 100 A for 0.35 x ln(138.1 / 55) = 0.322 s. Sampled every 1 ms and joined by lines.
    time_s = np.arange(0.0, 3.0005, 0.001)
    current_a = 45.0 + (13.0 / 0.071 - 45.0) * np.exp(-time_s / 0.35)
    log = Log(Path("invented.csv"), tuple(time_s.tolist()), tuple(current_a.tolist()), "line")
    line = build_timeline(outing(3.0, load("recorded", Use(0.0, 3.0), log=log)))
    # A chord of 1 ms misses the exponential by (1 ms / 0.35 s)^2 / 8 of it: below a microsecond here.
    assert longest_run_s(trace_at(line, 12.8), 100.0)[0] == pytest.approx(
        0.35 * np.log(138.0986 / 55.0), abs=1e-5
    )


def test_a_load_without_uses_draws_nothing():
    line = build_timeline(outing(60.0, load("current", current_a=5.0)))
    assert line.current_start_a.tolist() == [[0.0]]


seconds = st.integers(1, 4000).map(float)


@st.composite
def needs(draw):
    """Outings with up to three loads of up to three uses, duty and surge, in whole seconds."""
    duration_s = draw(st.integers(10, 20_000).map(float))
    loads = []
    for _ in range(draw(st.integers(1, 3))):
        uses, at = [], 0.0
        for _ in range(draw(st.integers(1, 3))):
            start = at + draw(st.sampled_from([0.0, 1.0, 60.0]))
            length = min(draw(seconds), duration_s - start)
            if length <= 0.0:
                break
            duty = draw(st.sampled_from([(None, None), (300.0, 600.0), (7.0, 3.0)]))
            uses.append(Use(start, length, None, *duty))
            at = start + length
        surge = draw(st.sampled_from([None, StartSurge(90.0, 0.5)]))
        loads.append(load("current", *uses, current_a=draw(st.integers(0, 60).map(float)), surge=surge))
    return outing(duration_s, *loads)


def on_seconds(use):
    """Time on inside a use, counted cycle by cycle."""
    if use.on_s is None:
        return use.length_s
    full, rest = divmod(use.length_s, use.on_s + use.off_s)
    return full * use.on_s + min(rest, use.on_s)


@settings(max_examples=80)
@given(needs())
def test_edges_cover_the_outing_and_rise(need):
    edges_s = build_timeline(need).edges_s
    assert edges_s[0] == 0.0
    assert edges_s[-1] == need.duration_s
    assert np.diff(edges_s).min() > 0.0
    assert edges_s.size - 1 <= count_pieces(need.duration_s, need.loads)


@settings(max_examples=80)
@given(needs())
def test_the_charge_of_the_timeline_is_the_sum_by_hand(need):
    line = build_timeline(need)
    for row, one in enumerate(need.loads):
        if one.surge is not None:
            continue
        by_hand = sum(on_seconds(use) for use in one.uses) * one.current_a
        drawn = float(np.sum(line.current_start_a[row] * np.diff(line.edges_s)))
        assert drawn == pytest.approx(by_hand, rel=1e-9, abs=1e-6)  # rounding of some hundred sums


@settings(max_examples=80)
@given(needs())
def test_a_surge_lasts_its_time_once_each_stretch_of_being_on(need):
    line = build_timeline(need)
    for row, one in enumerate(need.loads):
        if one.surge is None or one.current_a == 0.0:
            continue
        on = line.current_start_a[row] > 0.0
        begins = np.flatnonzero(on & ~np.append(False, on[:-1]))
        ends = np.flatnonzero(on & ~np.append(on[1:], False))
        length_s = line.edges_s[ends + 1] - line.edges_s[begins]
        surging = np.isclose(line.current_start_a[row], one.surge.current_a, rtol=1e-12)
        expected = np.minimum(length_s, one.surge.duration_s).sum()
        assert float(np.diff(line.edges_s)[surging].sum()) == pytest.approx(expected, rel=1e-9)
