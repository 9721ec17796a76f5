"""What is told of motors and terminals beside the answer. Invented units and outings."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.errors import InputRefused
from planner.explain.cautions import cautions
from planner.explain.install_notes import install_notes
from planner.verdict.assess import Assessment, assess
from planner.verdict.motor_start import motor_starts, thrust_claims
from tests.verdict.invented_bench import STURDY, read_need, read_unit

MOTOR = """
format = 1
name = "Motor (invented)"
duration = "20 min"
ambient = "20 degC"
[[load]]
name = "bow motor"
kind = "motor"
full_current = "45 A"
use = [{ start = "0 min", length = "20 min", speed = 1.0 }]
"""


@pytest.fixture(scope="module")
def motor(tmp_path_factory) -> Assessment:
    folder = tmp_path_factory.mktemp("motor")
    keys = 'claimed_thrust = "55 lbf"\npropeller_diameter = "0.25 m"\nwinding_resistance = "70 mohm"\nspin_up = "0.35 s"\n'
    return assess(read_unit(folder, STURDY), read_need(folder, MOTOR + keys), draws=20)


def with_load(found: Assessment, **changes) -> Assessment:
    load = replace(found.outing.loads[0], **changes)
    return assess(found.record, replace(found.outing, loads=(load,)), None, 20, fitted=found.fitted)


def test_a_thrust_claim_is_held_against_the_power_at_full_speed(motor):
    (claim,) = thrust_claims(motor.batch)
    # Momentum theory by hand: 55 lbf on 0.25 m takes 386.4 W; 45 A x 12.8 V = 576 W
    assert claim.floor_w == pytest.approx(386.384, abs=0.0005)
    assert claim.input_w == pytest.approx(576.0, rel=1e-12)
    assert claim.possible
    assert any("not impossible" in text for text in install_notes(motor))
    weak = with_load(motor, full_current_a=30.0)  # 384 W: two short
    assert not thrust_claims(weak.batch)[0].possible
    assert any("The claim is impossible" in text for text in install_notes(weak))


def test_a_start_and_a_stall_are_laid_beside_the_tests_of_current(motor):
    (start,) = motor_starts(motor.batch, motor.envelope)
    # some 13.4 V behind 70 mohm and 3 mohm of battery: about 184 A
    assert 180.0 < start.locked_a < 190.0
    assert start.level_a == pytest.approx(99.5, rel=1e-9)  # the discharge at 100 A less its meter's error
    # 0.35 s x ln((locked - 45)/(99.5 - 45)), by hand about 0.33 s
    assert start.above_s == pytest.approx(0.33, abs=0.02)
    assert start.start_zone == "demonstrated"  # 200 A for 5 s, good to 195.5 A
    assert start.stall_zone == "trips"  # 180 A opened it after 11 s
    assert any("A fouled propeller" in text for text in install_notes(motor))


def test_a_motor_brings_the_caution_about_spikes_and_other_loads_do_not(motor):
    assert any("against voltage only" in text for text in cautions(motor))
    plain = with_load(motor, kind="current", current_a=10.0)
    assert not any("against voltage only" in text for text in cautions(plain))


def test_terminals_are_told_beside_a_named_standard_and_the_skin(motor):
    hot = with_load(motor, full_current_a=130.0, thrust_n=None, propeller_m=None)
    notes = " ".join(install_notes(hot))
    heat = next(check for check in hot.checks if check.id == "terminal_heat")
    assert heat.need.value_si - 293.15 > 30.0  # above the least of the published limits
    assert "more than the 30 K that IEC 60694" in notes
    assert "burns the skin" in notes
    assert "burns the skin" not in " ".join(install_notes(motor))


@pytest.mark.parametrize(
    ("line", "key"),
    [
        ('claimed_thrust = "55 lbf"', "load.1.claimed_thrust"),
        ('propeller_diameter = "0.25 m"', "load.1.propeller_diameter"),
        ('spin_up = "0.3 s"', "load.1.spin_up"),
    ],
)
def test_half_a_claim_is_refused(tmp_path, line, key):
    with pytest.raises(InputRefused) as caught:
        read_need(tmp_path, MOTOR + line + "\n")
    assert key in {problem.key for problem in caught.value.problems}


@pytest.mark.parametrize(("rise_k", "told"), [(0.2, "rise by 1 K."), (14.3, "rise by 15 K."), (30.3, "rise by 31 K, more than the 30 K")])
def test_the_rise_of_the_terminals_is_rounded_up_as_their_temperature_is(motor, rise_k, told):
    (heat,) = (check for check in motor.checks if check.id == "terminal_heat")
    need = replace(heat.need, value_si=motor.outing.ambient_k + rise_k)
    checks = tuple(replace(heat, need=need) if check is heat else check for check in motor.checks)
    assert told in " ".join(install_notes(replace(motor, checks=checks)))
