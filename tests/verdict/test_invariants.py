"""What no answer may do, whatever the record and the need: laws of the verdict by random search."""

from __future__ import annotations

import dataclasses
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.battery.draws import scenarios
from planner.battery.fit import fit_record
from planner.outing.schema import GetHome, Load, Outing, Use, Wiring
from planner.record.schema import Claims, Record
from planner.verdict.assess import Assessment, assess
from planner.verdict.check import GOOD, WORST_FIRST
from tests.verdict.invented_records import AH, CLAMP, LOAD, UNIT, WARM_K, hold, need

DRAWS = 60
few = settings(max_examples=8, suppress_health_check=[HealthCheck.too_slow])

needs = st.builds(
    need, st.floats(1.0, 60.0), st.floats(0.6, 6.0), st.sampled_from([0.0, 60.0, 110.0, 150.0, 190.0]),
    st.sampled_from([1.0, 4.0, 12.0, 40.0]), st.sampled_from([273.15, 283.15, 298.15, 308.15]),
)  # fmt: skip


def judge(record: Record, outing: Outing, seed: int = 1) -> Assessment:
    return assess(record, outing, draws=DRAWS, seed=seed)


def rank(verdict: str) -> int:
    """0 is worst."""
    return WORST_FIRST.index(verdict)


def every(found: Assessment) -> dict[str, str]:
    return {check.id: check.verdict for check in found.checks} | {"overall": found.verdict}


TESTS = [("capacity_tests", k) for k in range(3)] + [("current_tests", k) for k in range(4)] + [
    ("step_tests", 0), ("terminal_tests", 0)]  # fmt: skip


def without(record: Record, kind: str, place: int) -> Record:
    kept = tuple(test for k, test in enumerate(getattr(record, kind)) if k != place)
    return replace(record, **{kind: kept})


@few
@given(outing=needs, removed=st.sampled_from(TESTS))
def test_removing_a_test_never_turns_a_bad_answer_good(outing, removed):
    before, after = judge(UNIT, outing), judge(without(UNIT, *removed), outing)
    for name in ("peak_current", "terminal_heat"):
        if every(before)[name] not in GOOD:
            assert every(after)[name] not in GOOD, name
    if before.verdict == "does not fit":
        assert after.verdict not in GOOD
    if after.verdict in GOOD and before.verdict not in GOOD:
        # only the spread of draws near an edge may do this, and then only in the energy
        assert {c.id for c in before.deciding} <= {"energy", "reserve"}
        assert abs(before.covered.completes - 0.9) < 0.15 or abs(before.covered.completes - after.covered.completes) < 0.15


@few
@given(outing=needs)
def test_a_record_stripped_of_everything_but_its_label_never_passes(outing):
    bare = Record(name="label only", claims=Claims(capacity_c=500.0 * AH, continuous_current_a=500.0, surges=((900.0, 60.0),)),
                  current_tests=(hold(1.0, 1.0, 1),))  # fmt: skip
    found = judge(bare, outing)
    assert found.verdict not in GOOD
    assert every(found)["energy"] not in GOOD


@few
@given(outing=needs, capacity=st.floats(1.0, 5000.0), current=st.floats(1.0, 2000.0))
def test_claims_never_change_a_verdict_where_there_are_tests(outing, capacity, current):
    claimed = Claims(capacity_c=capacity * AH, energy_j=capacity * AH * 13.0, continuous_current_a=current,
                     surges=((3.0 * current, 60.0),), discharge_min_temperature_k=200.0)  # fmt: skip
    plain, boasting = judge(replace(UNIT, claims=Claims()), outing), judge(replace(UNIT, claims=claimed), outing)
    assert every(plain) == every(boasting)
    assert plain.runtime == boasting.runtime


@few
@given(outing=needs, order=st.randoms(use_true_random=False))
def test_order_of_tests_changes_nothing(outing, order):
    mixed = UNIT
    for kind in ("capacity_tests", "current_tests"):
        tests = list(getattr(UNIT, kind))
        order.shuffle(tests)
        mixed = replace(mixed, **{kind: tuple(tests)})
    one, other = judge(UNIT, outing), judge(mixed, outing)
    assert every(one) == every(other)
    # the fit stops within its own tolerance, summed in another order
    assert one.runtime.nominal_s == pytest.approx(other.runtime.nominal_s, rel=1e-5)


@few
@given(outing=needs, seed=st.integers(0, 10**6))
def test_same_inputs_and_seed_give_the_same_answer(outing, seed):
    one, other = judge(UNIT, outing, seed), judge(UNIT, outing, seed)
    assert every(one) == every(other)
    assert one.runtime == other.runtime


@few
@given(outing=needs, seed=st.integers(0, 10**6))
def test_pessimistic_runtime_is_never_above_the_median_nor_that_above_the_optimistic(outing, seed):
    found = judge(UNIT, outing, seed).runtime
    assert found.p10_s <= found.p50_s <= found.p90_s
    assert 0.0 <= found.completes <= 1.0


@few
@given(outing=needs, more=st.floats(1.02, 2.0))
def test_raising_the_need_never_improves_the_answer(outing, more):
    raised = replace(outing, loads=tuple(replace(load, current_a=more * load.current_a) for load in outing.loads))
    before, after = every(judge(UNIT, outing)), every(judge(UNIT, raised))
    for name in before:
        assert rank(after[name]) <= rank(before[name]), name


@few
@given(outing=needs, longer=st.floats(1.05, 3.0))
def test_a_longer_outing_never_improves_energy_or_peak(outing, longer):
    stretched = replace(outing, duration_s=longer * outing.duration_s, loads=(
        replace(outing.loads[0], uses=(Use(0.0, longer * outing.duration_s),)), *outing.loads[1:]))  # fmt: skip
    before, after = every(judge(UNIT, outing)), every(judge(UNIT, stretched))
    for name in ("energy", "peak_current", "terminal_heat"):
        assert rank(after[name]) <= rank(before[name]), name


@few
@given(outing=needs, worse=st.floats(1.2, 6.0))
def test_a_worse_clamp_never_improves_the_peak(outing, worse):
    blunt = replace(CLAMP, current_gain=worse * 0.02, current_floor_a=worse * 0.5)
    record = replace(UNIT, current_tests=tuple(
        replace(test, at=replace(test.at, instrument=blunt)) for test in UNIT.current_tests))  # fmt: skip
    before, after = every(judge(UNIT, outing)), every(judge(record, outing))
    assert rank(after["peak_current"]) <= rank(before["peak_current"])


@few
@given(outing=needs, worse=st.floats(2.0, 8.0))
def test_a_worse_shunt_never_makes_energy_surer(outing, worse):
    blunt = replace(LOAD, current_gain=worse * 0.005)
    record = replace(UNIT, capacity_tests=tuple(
        replace(test, at=replace(test.at, instrument=blunt)) for test in UNIT.capacity_tests))  # fmt: skip
    before, after = judge(UNIT, outing), judge(record, outing)
    if every(before)["energy"] != "fits":
        assert every(after)["energy"] != "fits" or abs(before.covered.completes - 0.9) < 0.1


@settings(max_examples=6)
@given(worse=st.floats(2.0, 8.0))
def test_a_worse_shunt_never_narrows_the_charge_of_the_buyers_unit(worse):
    blunt = replace(LOAD, current_gain=worse * 0.005)
    record = replace(UNIT, capacity_tests=tuple(
        replace(test, at=replace(test.at, instrument=blunt)) for test in UNIT.capacity_tests))  # fmt: skip
    spreads = []
    for one in (UNIT, record):
        found = scenarios(fit_record(one), 3000, 1, 1)
        spreads.append(float(np.log(found.circuit.charge_c[0, 0, found.first_draw :]).std()))
    assert spreads[1] > 0.99 * spreads[0]  # 3000 draws of a hypercube: well under 1 % of a spread


@few
@given(outing=needs, wider=st.floats(1.5, 4.0))
def test_a_wider_load_spread_never_improves_energy(outing, wider):
    vague = replace(outing, loads=tuple(replace(load, spread=wider * load.spread) for load in outing.loads))
    before, after = every(judge(UNIT, outing)), every(judge(UNIT, vague))
    assert rank(after["energy"]) <= rank(before["energy"])


def wired(area_mm2: float, length_m: float) -> Outing:
    load = Load("meal", "inverter", (Use(0.0, 1200.0),), "measured", 0.02, power_w=700.0, efficiency=0.9, cutout_v=10.5,
                cutout_delay_s=2.0)  # fmt: skip
    cable = Wiring(f"{area_mm2} mm^2", area_mm2 * 1e-6, length_m, 0.5e-3, 378.15)
    return Outing("invented meal", 1200.0, WARM_K, WARM_K, (load,), wiring=cable)


def lowest_at_load(found: Assessment) -> float:
    trace = found.batch.run.trace
    assert trace is not None
    ohm = float(np.max(found.batch.setup.wiring_ohm))
    volts = np.minimum(trace.start_v[:, 0] - ohm * trace.start_a[:, 0], trace.end_v[:, 0] - ohm * trace.end_a[:, 0])
    return float(np.nanmin(volts))


@few
@given(area=st.floats(10.0, 50.0), length=st.floats(1.0, 6.0), thicker=st.floats(1.05, 2.0), shorter=st.floats(0.5, 0.95))
def test_thicker_or_shorter_cable_never_lowers_the_load_voltage(area, length, thicker, shorter):
    here = judge(UNIT, wired(area, length))
    for other in (judge(UNIT, wired(thicker * area, length)), judge(UNIT, wired(area, shorter * length))):
        assert lowest_at_load(other) >= lowest_at_load(here)
        assert rank(every(other)["inverter"]) >= rank(every(here)["inverter"])


@few
@given(outing=needs, kept_a=st.floats(1.0, 40.0))
def test_keeping_back_a_way_home_never_improves_the_answer(outing, kept_a):
    home = replace(outing, get_home=GetHome(3000.0, 1.0, kept_a, 1.25))
    assert rank(judge(UNIT, home).verdict) <= rank(judge(UNIT, outing).verdict)


def test_a_question_that_was_asked_without_input_is_never_a_pass():
    asked = replace(need(5.0, 1.0), questions=("reserve", "inverter", "wiring", "winter_charging", "bank"))
    found = judge(UNIT, asked)
    verdicts = every(found)
    for name in asked.questions or ():
        assert verdicts[name] == "not proven"
        check = next(check for check in found.checks if check.id == name)
        assert check.settled_by is not None
    assert found.verdict == "not proven"


def test_every_answer_that_is_not_a_pass_says_why_and_what_would_settle_it():
    for outing in (need(20.0, 1.0, 170.0, 15.0), need(60.0, 6.0), need(5.0, 1.0, air_k=253.15)):
        for check in judge(UNIT, outing).checks:
            assert check.reason.code
            if check.verdict == "not proven":
                assert check.settled_by is not None, check.id
            if check.verdict == "fits with limits":
                assert check.limit is not None, check.id


def test_same_load_normals_for_every_battery():
    """So that a comparison of two batteries is not blurred by different days."""
    small = replace(UNIT, capacity_tests=tuple(
        replace(test, charge_c=0.5 * test.charge_c, duration_s=0.5 * test.duration_s) for test in UNIT.capacity_tests))  # fmt: skip
    one, other = judge(UNIT, need(10.0, 2.0)), judge(small, need(10.0, 2.0))
    factors = [found.batch.setup.load_factor[:, found.batch.draws] for found in (one, other)]
    assert factors[0] == pytest.approx(factors[1], rel=1e-12)
    assert dataclasses.is_dataclass(one)
