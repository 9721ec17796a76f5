"""What an assumption decides is open, whichever way the model leans: never good, and never condemned.

Batteries and outings are invented. The rule that a value nobody measured decides nothing is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planner.outing.schema import Bank, GetHome
from planner.record.schema import Claims
from planner.verdict.assess import assess
from planner.verdict.batch import draw, run_batch
from planner.verdict.check import GOOD, Check
from tests.verdict.invented_bench import STURDY, inverter_outing, read_need, read_unit, write_log
from tests.verdict.invented_records import AH, UNIT, WARM_K, discharge, hold, need

# one slow discharge, and a hold that shows a hard draw without showing what it leaves behind
SLOW_ONLY = replace(UNIT, capacity_tests=(discharge(5.0, 101.5, 1),), current_tests=(hold(100.0, 900.0, 1),), step_tests=())


def checks_of(record, outing, **more) -> dict[str, Check]:
    return {check.id: check for check in assess(record, outing, draws=80, **more).checks}


@pytest.mark.parametrize("hours", [1.0, 1.04])
def test_energy_that_hangs_on_an_assumption_is_open_whether_the_centre_lasts_or_not(hours):
    outing = need(95.0, hours, air_k=WARM_K)
    found = assess(SLOW_ONLY, outing, draws=80)
    moved = found.batch.run.end_s[1 : found.batch.scenarios.first_draw] >= found.batch.duration_s
    assert moved.any() and not moved.all()  # the assumptions do reach from yes to no
    check = next(one for one in found.checks if one.id == "energy")
    assert (check.verdict, check.evidence, check.reason.code) == ("not proven", "handbook", "prior_decides")
    assert check.settled_by is not None and check.settled_by.code == "prior_test"


def test_both_sides_of_the_centre_were_looked_at():
    lasts = [run_batch(SLOW_ONLY, need(95.0, hours, air_k=WARM_K), 1, 1) for hours in (1.0, 1.04)]
    assert [bool(batch.run.end_s[0] >= batch.duration_s) for batch in lasts] == [True, False]


def test_without_a_full_discharge_even_far_too_much_is_open():
    bare = replace(UNIT, capacity_tests=(), claims=Claims(capacity_c=100.0 * AH))
    outing = replace(need(50.0, 10.0), get_home=GetHome(7200.0, 1.0, 100.0, 1.25))  # 500 Ah, and 250 more to come home
    checks = checks_of(bare, outing)
    for name in ("energy", "reserve"):
        assert (checks[name].verdict, checks[name].reason.code) == ("not proven", "no_capacity"), name


@pytest.mark.parametrize(("hours", "verdict", "code"), [(0.83, "not proven", "beyond_rate"),  # 99.6 Ah
                                                        (0.90, "does not fit", "energy_does_not_fit")])  # 108 Ah
def test_beyond_the_tested_rates_only_more_than_was_ever_measured_does_not_fit(hours, verdict, code):
    record = replace(UNIT, capacity_tests=UNIT.capacity_tests[:2])  # 101.5 Ah at 20 A, 99.2 Ah at 100 A
    found = assess(record, need(120.0, hours, air_k=WARM_K), draws=80)
    assert not found.covered.centre_completes
    check = next(one for one in found.checks if one.id == "energy")
    assert (check.verdict, check.reason.code) == (verdict, code)


def test_a_battery_that_starts_half_full_has_half_of_what_was_measured():
    record = replace(UNIT, capacity_tests=UNIT.capacity_tests[:2])
    half = replace(need(120.0, 0.5, air_k=WARM_K), start_soc=0.5)  # 60 Ah of some 51
    assert checks_of(record, half)["energy"].verdict == "does not fit"


def test_in_the_cold_a_rate_that_nobody_tested_is_open_too():
    record = replace(UNIT, capacity_tests=UNIT.capacity_tests[:2])
    check = checks_of(record, need(120.0, 0.05, air_k=263.15))["energy"]
    assert (check.verdict, check.reason.code) == ("not proven", "beyond_rate")


def test_a_claimed_load_condemns_nothing():
    check = checks_of(UNIT, need(30.0, 10.0, evidence="claimed"))["energy"]
    assert (check.verdict, check.reason.code) == ("not proven", "claimed_load")


def test_a_way_home_that_takes_more_than_was_measured_does_not_fit_though_the_plan_is_open():
    far = replace(need(120.0, 0.3, air_k=WARM_K), get_home=GetHome(7200.0, 1.0, 50.0, 1.25))  # 2 h x 50 A x 1.25: 125 Ah
    near = replace(far, get_home=GetHome(3600.0, 1.0, 20.0, 1.0))
    record = replace(UNIT, capacity_tests=UNIT.capacity_tests[:2])
    assert checks_of(record, far)["reserve"].verdict == "does not fit"
    assert checks_of(record, near)["reserve"].verdict == "not proven"


# --- banks of different units ---------------------------------------------------------------------------


def test_a_bank_with_a_unit_that_was_never_run_empty_has_no_known_charge():
    untested = replace(UNIT, name="Never run empty", capacity_tests=())
    pair = replace(need(10.0, 2.0), bank=Bank(parallel=2))
    assert checks_of(UNIT, pair, units=(UNIT, untested))["energy"].reason.code == "no_capacity"
    assert checks_of(UNIT, pair, units=(UNIT, UNIT))["energy"].verdict in GOOD


def test_an_assumption_is_moved_in_every_unit_of_a_bank_that_makes_it():
    fitted = run_batch(UNIT, need(5.0, 1.0), 1, 1).fitted
    pair = replace(need(5.0, 1.0), bank=Bank(parallel=2))
    found = draw(pair, fitted, 4, 1, (UNIT, SLOW_ONLY))
    assert found.first_draw == 1 + 2 * len(found.moved)
    assert found.circuit.charge_c.shape[-1] == len(found.theta) == found.load_normal.shape[1] == found.first_draw + 4
    place = found.moved.index("diffusion_tau_s")  # of the second alone: two rates tell the first
    first, second = found.circuit.diffusion_tau_s[:, 0, [0, 1 + 2 * place, 2 + 2 * place]]
    assert np.ptp(first) == 0.0
    assert second[1] < second[0] < second[2]


# --- the inverter ---------------------------------------------------------------------------------------


@pytest.fixture
def meal(tmp_path):
    write_log(tmp_path / "any.csv", [(10.0, 1.0)])
    unit = read_unit(tmp_path, STURDY)
    return lambda length: checks_of(unit, read_need(tmp_path, inverter_outing("AWG 6", length=length)))["inverter"]


def test_an_inverter_that_stays_on_by_an_assumption_alone_is_open(meal):
    check = meal("40 min")  # in the middle of what is expected it cuts out after some 43 minutes, else from 21 to 46
    assert (check.verdict, check.evidence, check.reason.code) == ("not proven", "handbook", "inverter_prior")
    assert check.settled_by is not None and check.settled_by.code == "prior_test"


def test_an_inverter_that_cuts_out_as_wired_is_told_so_with_its_cure_and_with_what_was_assumed(meal):
    check = meal("45 min")
    assert (check.verdict, check.evidence, check.reason.code) == ("does not fit", "handbook", "inverter_cuts_out")
    assert check.limit is not None and check.limit.code == "inverter_cure"
    assert check.settled_by is not None and check.settled_by.parts["name"] == check.reason.parts["name"]


def test_where_no_assumption_reaches_the_cut_out_it_is_derived_as_before(meal):
    short, long = meal("15 min"), meal("55 min")
    assert (short.verdict, long.verdict) == ("fits", "does not fit")
    assert short.evidence == long.evidence == "derived"
    assert short.settled_by is None and long.settled_by is None


# --- a power that cannot be served ----------------------------------------------------------------------

PUMP = """
format = 1
name = "Pump behind a long wire (invented)"
duration = "2 h"
ambient = "25 degC"
[wiring]
gauge = "AWG 14"
length = "LENGTH"
contact_resistance = "1 mohm"
[[load]]
name = "pump"
kind = "power"
power = "800 W"
evidence = "measured"
use = [{ start = "30 min", length = "20 min" }]
"""


def test_a_power_that_a_long_wire_cannot_carry_does_not_fit_and_is_told_where_it_stops(tmp_path):
    # AWG 14 is 2.08 mm2: 12 m of it are 0.0995 ohm; 13.3^2 / (4 x 0.105) is 421 W at most. 1 m: 0.0166 ohm, 2.0 kW
    write_log(tmp_path / "any.csv", [(10.0, 1.0)])
    unit = read_unit(tmp_path, STURDY)
    found = assess(unit, read_need(tmp_path, PUMP.replace("LENGTH", "6 m")), draws=80)
    check = next(one for one in found.checks if one.id == "energy")
    assert (check.verdict, check.reason.code) == ("does not fit", "unserved")
    assert check.reason.parts == {"time_s": pytest.approx(1800.0), "wired": True}
    assert (found.runtime.ended_by, found.runtime.nominal_s) == ("unserved", pytest.approx(1800.0))
    served = assess(unit, read_need(tmp_path, PUMP.replace("LENGTH", "1 m")), draws=80)
    assert next(one for one in served.checks if one.id == "energy").verdict == "fits"
