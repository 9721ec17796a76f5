"""The charge gate: brackets of both thresholds and the hours it lets charge through. Data invented."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from planner.battery.gate import allowed, build_gate
from planner.record.schema import ColdChargeTest, Instrument, Record, TestConditions

PROBE = Instrument("probe", temperature_k=1.0)
C = 273.15


def cold(direction, charging, celsius, instrument=PROBE, soak_s=86400.0):
    at = TestConditions("cold_charge_test.1", instrument, C + celsius)
    return ColdChargeTest(at, direction, charging, soak_s)


def gate(*tests, tau_s=None):
    return build_gate(Record("x", cold_charge_tests=tests), tau_s)


BOTH_LEGS = (
    cold("cooling", "blocked", -2.0),
    cold("cooling", "accepted", 1.0),
    cold("warming", "blocked", 3.0),
    cold("warming", "accepted", 5.0),
)


def ends_c(found):
    ends = (found.block_low_k, found.block_high_k, found.resume_low_k, found.resume_high_k)
    return tuple(end - C for end in ends)


def test_both_legs_bracket_both_thresholds_by_the_probe_error():
    # By hand: -2 - 1, 1 + 1, 3 - 1, 5 + 1 degC; 1e-9 for the kelvin offset
    found = gate(*BOTH_LEGS)
    assert ends_c(found) == pytest.approx((-3.0, 2.0, 2.0, 6.0), abs=1e-9)
    assert found.evidence == "measured" and found.missing == ()


def test_the_nearest_readings_make_the_bracket():
    found = gate(*BOTH_LEGS, cold("cooling", "blocked", -8.0), cold("cooling", "accepted", 10.0))
    assert ends_c(found) == pytest.approx((-3.0, 2.0, 2.0, 6.0), abs=1e-9)


def test_hysteresis_gives_the_hours_counted_by_hand():
    cells = C + np.array([6, 4, 2, 0, -3, -4, -1, 2, 3, 4, 5, 6], dtype=float)
    # By hand: with (-3, 2) shut at -4 and -1 only; with (2, 6) open at 6, 4, 2 and the last 6
    assert allowed(cells, C - 3.0, C + 2.0).sum() == 10
    assert allowed(cells, C + 2.0, C + 6.0).sum() == 4


def test_an_untested_unit_runs_from_never_blocking_to_the_prior():
    found = gate()
    assert found.block_low_k == -math.inf and found.resume_low_k == -math.inf
    assert (found.block_high_k - C, found.resume_high_k - C) == pytest.approx((5.0, 8.0))
    assert found.evidence == "unknown"
    assert found.missing == ("block_low", "block_high", "resume_low", "resume_high")
    assert allowed(np.array([250.0, 300.0]), found.block_low_k, found.resume_low_k).all()


def test_a_cooling_leg_alone_resumes_from_the_threshold_in_use_to_the_prior():
    found = gate(*BOTH_LEGS[:2])
    # By hand: resume from the block threshold -3; up to max(8, 2 + 3) = 8 degC
    assert ends_c(found) == pytest.approx((-3.0, 2.0, -3.0, 8.0), abs=1e-9)
    assert found.missing == ("resume_low", "resume_high") and found.evidence == "handbook"


def test_a_high_block_pushes_the_prior_of_the_resume_up():
    found = gate(cold("cooling", "blocked", 4.0), cold("cooling", "accepted", 6.0))
    # By hand: block to 7, resume to max(8, 7 + 3) = 10 degC
    assert ends_c(found) == pytest.approx((3.0, 7.0, 3.0, 10.0), abs=1e-9)


def test_a_blocked_reading_above_the_prior_moves_the_missing_end():
    found = gate(cold("cooling", "blocked", 9.0))
    assert found.block_high_k >= found.block_low_k == pytest.approx(C + 8.0)
    assert found.resume_high_k == pytest.approx(C + 11.0)


def test_contradictory_readings_are_asked_about_and_both_ends_kept():
    found = gate(cold("cooling", "blocked", 6.0), cold("cooling", "accepted", 1.0))
    assert len(found.questions) == 1
    assert (found.block_low_k - C, found.block_high_k - C) == pytest.approx((2.0, 5.0), abs=1e-9)


def test_readings_within_the_probe_error_are_no_contradiction():
    assert gate(cold("cooling", "blocked", 1.5), cold("cooling", "accepted", 0.0)).questions == ()


def test_a_gate_never_opens_colder_than_it_shuts():
    # By hand: block 3 to 7 degC; the warming leg alone would say 1 to 3 degC
    found = gate(
        cold("cooling", "blocked", 4.0),
        cold("cooling", "accepted", 6.0),
        cold("warming", "blocked", 2.0),
        cold("warming", "accepted", 2.0),
    )
    assert ends_c(found) == pytest.approx((3.0, 7.0, 3.0, 7.0), abs=1e-9)
    # Nor when the thresholds are handed over so: 4 degC lies below the block of 5
    assert not allowed(np.array([C + 4.0]), C + 5.0, C + 3.0).any()


def test_an_unstated_probe_counts_a_kelvin_and_warns():
    found = gate(*(cold(t.direction, t.charging, t.at.cell_k - C, None) for t in BOTH_LEGS))
    assert ends_c(found) == pytest.approx((-3.0, 2.0, 2.0, 6.0), abs=1e-9)
    assert len(found.warnings) == 4 and all("handbook" in warning for warning in found.warnings)


def test_a_short_soak_reads_the_air():
    # By hand: three time constants of 5 h are 15 h
    assert gate(cold("cooling", "blocked", -2.0, soak_s=15.1 * 3600), tau_s=18000.0).warnings == ()
    short = gate(cold("cooling", "blocked", -2.0, soak_s=14.9 * 3600), tau_s=18000.0).warnings
    assert len(short) == 1 and "air" in short[0]
    unstated = gate(cold("cooling", "blocked", -2.0, soak_s=None), tau_s=18000.0).warnings
    assert len(unstated) == 1 and "soak" in unstated[0]


def test_it_starts_shut_between_the_thresholds():
    # Starts open only at or above resume
    assert not allowed(np.array([C + 3.0, C + 3.0]), C, C + 5.0).any()


def test_blocking_is_strict_and_resuming_is_not():
    cells = np.array([C + 5.0, C, C - 0.001, C + 4.999, C + 5.0])
    assert allowed(cells, C, C + 5.0).tolist() == [True, True, False, False, True]


def by_hand(cells, block, resume):
    """The gate hour by hour, written the plain way."""
    is_open = cells[0] >= resume
    states = []
    for cell in cells:
        if is_open and cell < block:
            is_open = False
        elif not is_open and cell >= resume:
            is_open = True
        states.append(is_open)
    return states


CELLS = hnp.arrays(np.float64, st.tuples(st.integers(1, 4), st.integers(1, 40)), elements=st.floats(260, 290))


@given(CELLS, st.floats(262, 288), st.floats(0, 8))
def test_the_vector_gate_is_the_plain_one(cells, block, hysteresis):
    expected = [by_hand(row, block, block + hysteresis) for row in cells]
    assert allowed(cells, block, block + hysteresis).tolist() == expected


@given(CELLS, st.data())
def test_every_scenario_may_have_its_own_thresholds(cells, data):
    block = data.draw(hnp.arrays(np.float64, cells.shape[0], elements=st.floats(262, 288)))
    together = allowed(cells, block, block + 3.0)
    apart = [allowed(row, b, b + 3.0).tolist() for row, b in zip(cells, block, strict=True)]
    assert together.tolist() == apart


@given(CELLS, st.floats(262, 288), st.floats(0, 8), st.floats(0, 5), st.floats(0, 5))
def test_higher_thresholds_never_let_more_hours_through(cells, block, hysteresis, up, further):
    low = allowed(cells, block, block + hysteresis)
    high = allowed(cells, block + up, block + up + hysteresis + further)
    assert (high <= low).all()


def test_a_soaked_battery_that_refuses_just_under_minus_one_gives_a_block_and_no_resume():
    # Common practice, no source: soaked 24 h at about 0 degC its surface reads -1.1 degC and it refuses a charger. The
    # block lies at or above that reading less the probe's error; nothing is learnt of where charging resumes.
    found = gate(cold("cooling", "blocked", -1.1))
    assert ends_c(found)[0] == pytest.approx(-2.1, abs=1e-9)
    assert {"resume_low", "resume_high", "block_high"} <= set(found.missing)
    assert "block_low" not in found.missing
    assert found.evidence == "handbook"
