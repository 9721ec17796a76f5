import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numba import njit
from scipy.integrate import solve_ivp

from planner.winter.cell_temperature import (
    air_around,
    cell_temperatures,
    hourly_decay,
    time_constant_s,
)
from planner.winter.gate_hours import gate_open
from planner.winter.schema import DayWindow, HeatedHours, Heater
from planner.winter.thermostat import Thermostat, heated_hour
from tests.winter.invented_year import AIR_K, BOXED_TAU_S, HOUR_S, IN_WINDOW, OPEN_TAU_S, ZERO_K


def test_time_constants_of_an_open_and_a_boxed_battery():
    # By hand: 11200 J/K over 2.24 W/K and over 0.55 W/K.
    assert time_constant_s(2.24, 11200.0) / HOUR_S == pytest.approx(1.389, abs=0.0005)
    assert time_constant_s(0.55, 11200.0) / HOUR_S == pytest.approx(5.66, abs=0.005)


@pytest.mark.parametrize(
    ("tau_s", "start_c", "goal_c", "hours"),
    [
        (OPEN_TAU_S, -10.0, 5.0, 1.27),  # by hand: tau ln(25/10)
        (BOXED_TAU_S, -10.0, 5.0, 5.18),
        (OPEN_TAU_S, -9.0, 2.0, 0.85),  # by hand: tau ln(24/13)
        (OPEN_TAU_S, -9.0, 6.0, 1.36),  # by hand: tau ln(24/9)
    ],
)
def test_a_cold_battery_warms_in_a_15_degree_room_by_its_time_constant(tau_s, start_c, goal_c, hours):
    minutes = round(hours * 60.0)
    air = np.full(minutes + 10, ZERO_K + 15.0)
    air[0] = ZERO_K + start_c  # the first minute soaks at the start temperature
    cells = cell_temperatures(air, math.exp(-60.0 / tau_s))
    reached = np.argmax(cells >= ZERO_K + goal_c) - 1
    assert reached / 60.0 == pytest.approx(hours, abs=0.02)  # a step is a minute


def test_step_response_after_one_two_and_three_time_constants():
    # Hand calculation: 1 - exp(-n); 4583.33 s is 11 kg x 1000 J/(kg K) over 8 W/(m2 K) x 0.30 m2.
    tau_s = 4583.33
    air = np.concatenate(([0.0], np.ones(4 * 1000)))
    cells = cell_temperatures(air, math.exp(-tau_s / 1000.0 / tau_s))
    found = [cells[1 + 1000 * n] for n in (1, 2, 3)]
    assert found == pytest.approx([0.632121, 0.864665, 0.950213], abs=1e-6)


@pytest.mark.parametrize(
    ("tau_s", "ratio", "lag_h", "peak_c"), [(OPEN_TAU_S, 0.940, 1.33, 4.58), (BOXED_TAU_S, 0.560, 3.73, 1.92)]
)
def test_a_daily_swing_reaches_the_cells_weakened_and_late(tau_s, ratio, lag_h, peak_c):
    # Hand calculation: 1/sqrt(1 + (w tau)^2) and atan(w tau)/w for air -2 +- 7 degC over a day.
    minute = np.arange(10 * 1440)
    air = -2.0 + 7.0 * np.cos(2.0 * np.pi * (minute + 0.5) / 1440.0)  # held over each minute
    day = cell_temperatures(air, math.exp(-60.0 / tau_s))[-1440:]
    assert (day.max() + 2.0) / 7.0 == pytest.approx(ratio, abs=0.0007)  # half a printed digit
    assert np.argmax(day) / 60.0 == pytest.approx(lag_h, abs=0.02)  # a step is a minute
    assert day.max() == pytest.approx(peak_c, abs=0.006)


def test_the_hourly_step_is_the_exact_solution_with_air_held_by_the_hour():
    air = AIR_K[:48]
    cells = cell_temperatures(air, hourly_decay(OPEN_TAU_S))
    state = air[0]
    for hour in range(47):
        run = solve_ivp(
            lambda _, cell, held=air[hour]: (held - cell) / OPEN_TAU_S, (0.0, HOUR_S), [state],
            rtol=1e-10, atol=1e-10,
        )  # fmt: skip
        state = run.y[0, -1]
        assert cells[hour + 1] == pytest.approx(state, abs=1e-6)  # the solver's own tolerance, 48 times


def test_the_one_step_rule_holds_for_many_years_at_once():
    air = np.stack([AIR_K, AIR_K[::-1]])
    decay = hourly_decay(BOXED_TAU_S)
    cells = cell_temperatures(air, decay)
    assert np.array_equal(cells[:, 0], air[:, 0])
    stepped = air[:, :-1] + (cells[:, :-1] - air[:, :-1]) * decay
    assert np.allclose(cells[:, 1:], stepped, rtol=0.0, atol=1e-9)  # rounding of 300 K


@pytest.mark.parametrize(
    ("block", "resume", "hourly", "fine"), [(-3.0, 2.0, 933, 910), (2.0, 6.0, 1160, 1135)]
)
def test_the_hourly_step_blocks_up_to_three_per_cent_more_than_a_one_minute_run(block, resume, hourly, fine):
    # Computed apart with a plain loop over the same year; the hourly gate errs on the blocked side.
    cells = cell_temperatures(AIR_K, hourly_decay(OPEN_TAU_S))
    coarse_h = int((IN_WINDOW & ~gate_open(cells, block + ZERO_K, resume + ZERO_K)).sum())
    by_minute = cell_temperatures(np.repeat(AIR_K, 60), math.exp(-60.0 / OPEN_TAU_S))
    shut = np.repeat(IN_WINDOW, 60) & ~gate_open(by_minute, block + ZERO_K, resume + ZERO_K)
    assert coarse_h == pytest.approx(hourly, abs=1)
    assert shut.sum() / 60.0 == pytest.approx(fine, abs=1)
    assert 0.0 < coarse_h - shut.sum() / 60.0 < 0.05 * coarse_h


@pytest.mark.parametrize("inner_w_per_k", [4.0, 8.0, 15.0])
def test_a_second_node_for_the_core_changes_the_blocked_hours_by_at_most_two_per_cent(inner_w_per_k):
    # Case 40 % and core 60 % of the heat capacity; 4 to 15 W/K is 1 W/(m K) over 0.2 m2 and 15 to 50 mm.
    case_c, core_c = 0.4 * 11200.0, 0.6 * 11200.0
    rates = np.array(
        [
            [-(2.24 + inner_w_per_k) / case_c, inner_w_per_k / case_c],
            [inner_w_per_k / core_c, -inner_w_per_k / core_c],
        ]
    )
    values, vectors = np.linalg.eig(rates)
    step = (vectors @ np.diag(np.exp(values * HOUR_S)) @ np.linalg.inv(vectors)).real
    core = np.empty(8760)
    state = np.full(2, AIR_K[0])
    for hour in range(8760):
        core[hour] = state[1]
        state = AIR_K[hour] + step @ (state - AIR_K[hour])
    one = cell_temperatures(AIR_K, hourly_decay(OPEN_TAU_S))
    for block, resume in ((-3.0, 2.0), (2.0, 6.0)):
        pair = block + ZERO_K, resume + ZERO_K
        hours = [int((IN_WINDOW & ~gate_open(cells, *pair)).sum()) for cells in (one, core)]
        assert abs(hours[1] - hours[0]) <= 0.02 * hours[0]


def test_a_heated_room_warms_the_air_in_its_hours_and_never_cools_it():
    room = HeatedHours(DayWindow(18 * HOUR_S, 22 * HOUR_S, (1,)), ZERO_K + 15.0)
    air = np.full(8760, ZERO_K - 5.0)
    air[19] = ZERO_K + 20.0
    around = air_around(air, [room])
    assert around[18] == ZERO_K + 15.0
    assert around[19] == ZERO_K + 20.0
    assert around[22] == ZERO_K - 5.0
    assert around[18 + 24 * 40] == ZERO_K - 5.0  # in February


def test_half_an_hour_of_heating_counts_by_half():
    room = HeatedHours(DayWindow(18.5 * HOUR_S, 22 * HOUR_S), ZERO_K + 15.0)
    assert air_around(np.full(8760, ZERO_K - 5.0), [room])[18] == pytest.approx(ZERO_K + 5.0)


# ---- heater ----


@njit
def _heated_hour(cell_k, on, air_k, may_heat, thermostat):
    return heated_hour(cell_k, on, air_k, may_heat, thermostat)


def one_hour(cell_c, air_c, heater, conductance, on=False, may_heat=True):
    thermostat = Thermostat(
        heater.power_w, heater.target_k, heater.off_above_k, conductance, 11200.0 / conductance
    )
    cell_k, energy_j, now_on = _heated_hour(cell_c + ZERO_K, on, air_c + ZERO_K, may_heat, thermostat)
    return cell_k - ZERO_K, energy_j / 3600.0, now_on


def test_60_w_in_a_box_lifts_the_cells_from_minus_12_to_5_in_57_5_wh_and_then_holds():
    # Hand calculation: t = tau ln(1/(1 - 17 x 0.55/60)) = 0.96 h; holding takes 0.55 x 17 = 9.35 W.
    heater = Heater(60.0, ZERO_K + 5.0, ZERO_K + 5.0)
    reach_h = BOXED_TAU_S / 3600.0 * math.log(1.0 / (1.0 - 17.0 * 0.55 / 60.0))
    cell, energy, _ = one_hour(-12.0, -12.0, heater, 0.55)
    assert reach_h == pytest.approx(0.96, abs=0.005)
    assert 60.0 * reach_h == pytest.approx(57.5, abs=0.05)
    assert cell == pytest.approx(5.0, abs=1e-9)
    assert energy == pytest.approx(60.0 * reach_h + 9.35 * (1.0 - reach_h), abs=1e-6)
    cell, energy, _ = one_hour(5.0, -12.0, heater, 0.55)
    assert (cell, energy) == pytest.approx((5.0, 9.35), abs=1e-6)


def test_30_w_on_an_open_battery_gains_13_4_kelvin_and_never_arrives():
    # Hand calculation: 30 W over 2.24 W/K; holding 17 K would take 38.1 W.
    cell, on = -12.0, False
    for _ in range(48):
        cell, energy, on = one_hour(cell, -12.0, Heater(30.0, ZERO_K + 5.0, ZERO_K + 5.0), 2.24, on)
        assert energy == pytest.approx(30.0, abs=1e-9)
    assert cell + 12.0 == pytest.approx(13.4, abs=0.01)
    _, held, _ = one_hour(5.0, -12.0, Heater(60.0, ZERO_K + 5.0, ZERO_K + 5.0), 2.24)
    assert held == pytest.approx(38.1, abs=0.05)


@given(
    st.floats(-20.0, 15.0), st.floats(-20.0, 15.0), st.floats(0.3, 3.0), st.floats(0.5, 4.0),
    st.floats(20.0, 150.0), st.booleans(),
)  # fmt: skip
def test_energy_of_a_heated_hour_closes_with_stored_heat_and_losses(cell, air, g, span, power, on):
    heater = Heater(power, ZERO_K + 5.0, ZERO_K + 5.0 + span)
    end, energy_wh, _ = one_hour(cell, air, heater, g, on)
    # Heat in = heat stored + conductance x integral of (cells - air); a mean between extremes bounds it.
    stored = 11200.0 * (end - cell)
    lost = energy_wh * 3600.0 - stored
    highest = max(cell, end, 5.0 + span) - air
    lowest = min(cell, end, air) - air
    assert g * HOUR_S * lowest - 1e-6 <= lost <= g * HOUR_S * highest + 1e-6
    assert 0.0 <= energy_wh <= power * (1.0 + 1e-9)


def test_a_thermostat_with_a_span_agrees_with_a_run_in_steps_of_a_second():
    heater = Heater(60.0, ZERO_K + 5.0, ZERO_K + 6.0)
    cell, on, energy = -2.0, False, 0.0
    for _ in range(3600):
        on = cell < 6.0 if on else cell < 5.0
        goal = -12.0 + (60.0 / 2.24 if on else 0.0)
        cell = goal + (cell - goal) * math.exp(-2.24 / 11200.0)
        energy += 60.0 / 3600.0 if on else 0.0
    found, taken, now_on = one_hour(-2.0, -12.0, heater, 2.24)
    assert found == pytest.approx(cell, abs=0.02)  # a switching a second late, a few times
    assert taken == pytest.approx(energy, abs=0.2)
    assert now_on == on


def test_a_heater_with_nothing_to_feed_it_stays_off():
    cell, energy, _ = one_hour(-12.0, -12.0, Heater(60.0, ZERO_K + 5.0, ZERO_K + 5.0), 0.55, may_heat=False)
    assert (cell, energy) == (pytest.approx(-12.0), 0.0)


@given(st.floats(0.0, 0.5), st.floats(5.01, 30.0))
def test_cells_held_at_target_go_up_with_air_that_is_warmer(span, air):
    heater = Heater(60.0, ZERO_K + 5.0, ZERO_K + 5.0 + span)
    cell, energy, now_on = one_hour(5.0, air, heater, 2.24)
    assert cell == pytest.approx(air + (5.0 - air) * math.exp(-HOUR_S * 2.24 / 11200.0), abs=1e-9)
    assert (energy, now_on) == (0.0, False)
