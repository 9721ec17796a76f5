"""What flows at joining, what a string strands, and the weaker unit of a string not hidden by the stronger."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planner.explain.bank_notes import bank_notes, joining_json
from planner.verdict.assess import Assessment, assess
from planner.verdict.bank_joining import circulating_a, joining_of, stranded_of
from tests.verdict.invented_bench import STURDY, WEAK_LEADS, read_need, read_unit

AH = 3600.0
OUTING = """
format = 1
name = "Joined (invented)"
duration = "10 min"
ambient = "25 degC"
[[load]]
name = "motor"
kind = "current"
current = "LOAD"
evidence = "measured"
[bank]
"""
PAIR = (
    OUTING + 'parallel = 2\nlead_resistances = ["1.2 mohm", "2.6 mohm"]\nstart_charges = ["100 %", "10 %"]\n'
)
STRING = OUTING + "parallel = 1\nseries = 2\n"


@pytest.fixture
def answer(tmp_path):
    def of(need: str, *units: str, load: str = "20 A") -> Assessment:
        records = tuple(read_unit(tmp_path, text, f"unit{k}.toml") for k, text in enumerate(units))
        bank = records if len(records) > 1 else ()
        return assess(records[0], read_need(tmp_path, need.replace("LOAD", load)), draws=8, units=bank)

    return of


def test_the_current_at_joining_is_the_rest_voltages_over_all_ohms_of_the_loop(answer):
    found = answer(PAIR, STURDY)
    joining = joining_of(found.batch)
    assert joining is not None and (joining.giver, joining.taker) == (1, 2)
    circuit = found.fitted.circuit(found.fitted.centre[None])
    rest_v = circuit.curve.volts[0, [-1, 40]]  # at 100 % and, of 400 cells, at 10 %
    first = 2.0 * float((circuit.metal_ohm * (1.0 + 0.00393 * 5.0) + circuit.cell_ohm)[0, 0, 0]) + 3.8e-3
    lasting = first + 2.0 * float(circuit.pair_ohm.sum())
    assert joining.first_a == pytest.approx((rest_v[0] - rest_v[1]) / first, rel=1e-9)
    assert joining.lasting_a == pytest.approx((rest_v[0] - rest_v[1]) / lasting, rel=1e-9)
    assert any("into unit 2" in text and "not recorded" in text for text in bank_notes(found))


def test_two_unlike_batteries_at_rest_circulate_the_difference_over_the_loop():
    # By hand: 13.30 V behind 10 mohm and 13.28 V behind 15 mohm: bus 13.2920 V, 0.800 A
    flows = circulating_a(np.array([13.30, 13.28]), np.array([10e-3, 15e-3]))
    assert flows == pytest.approx([0.800, -0.800], abs=1e-9)


def test_a_maker_who_states_less_than_flows_is_named(answer):
    stated = STURDY.replace('capacity = "100 Ah"', 'capacity = "100 Ah"\ncharge_current = "30 A"')
    assert any("more than the 30 amps its maker states" in text for text in bank_notes(answer(PAIR, stated)))


def test_units_of_like_charge_drive_nothing(answer):
    assert joining_of(answer(PAIR.replace('"10 %"', '"100 %"'), STURDY).batch) is None


def test_a_string_strands_the_charge_of_the_stronger_and_drifts_by_sleep_currents(answer):
    # 103.4 Ah and 93.1 Ah by their own tests to 10.0 V; what is left below it is 2 % at most. 19 mA less 11 mA is
    # 8 mA, 5.76 Ah in 30 days (23.04 Ah in 120)
    asleep = [
        text + f'\n[storage]\nsleep_current = "{s} mA"\n' for text, s in ((STURDY, 11), (WEAK_LEADS, 19))
    ]
    (one,) = stranded_of(answer(STRING, *asleep).batch)
    assert one.weakest_c / AH == pytest.approx(93.1, rel=0.02)
    assert one.strongest_c / AH == pytest.approx(103.4, rel=0.02)
    assert one.drift_c is not None
    assert 4.0 * one.drift_c / AH == pytest.approx(23.04, rel=1e-9)
    unknown = answer(STRING, STURDY, WEAK_LEADS)
    assert joining_json(unknown)["strings"][0]["drift_Ah_per_30_days"] is None
    assert any("sleep current is missing" in text for text in bank_notes(unknown))


def test_the_weaker_of_two_in_series_decides_whichever_stands_first(answer):
    # 110 A: the one opened at 100 A after 580 s; the other carried 100 A for an hour and 150 A for 60 s
    for units in ((STURDY, WEAK_LEADS), (WEAK_LEADS, STURDY)):
        found = answer(STRING, *units, load="110 A")
        assert next(check for check in found.checks if check.id == "peak_current").verdict == "does not fit"


def test_every_unit_of_a_string_needs_its_makers_permission(answer):
    may, must_not = (
        text.replace("[claims]", f"series_allowed = {word}\n[claims]", 1)
        for text, word in ((STURDY, "true"), (STURDY, "false"))
    )
    codes = {
        units: next(check for check in answer(STRING, *units).checks if check.id == "bank").reason.code
        for units in ((may, STURDY), (may, must_not))
    }
    assert codes == {(may, STURDY): "series_unknown", (may, must_not): "series_refused"}


def test_three_share_alike_and_with_one_lost_the_rest_are_beyond_what_was_shown(answer):
    # 270 A on three is 90 A each; on two 135 A: held for 60 s at 150 A, never for 15 minutes
    three = (
        OUTING.replace("10 min", "15 min")
        + 'parallel = 3\nlead_resistances = ["1 mohm", "1 mohm", "1 mohm"]\n'
    )
    bank = answer(three, STURDY, load="270 A").bank
    assert bank is not None
    assert [branch.first_a for branch in bank.branches] == pytest.approx([90.0] * 3, rel=1e-9)
    assert all(branch.zone == "demonstrated" for branch in bank.branches)
    assert [(loss.survivor_a, loss.zone) for loss in bank.losses] == [
        (pytest.approx(135.0, rel=1e-9), "untested")
    ] * 3


def test_a_longer_bank_of_one_record_names_no_stranded_charge(answer):
    found = answer(STRING, STURDY)
    assert stranded_of(found.batch) == ()
    assert replace(found, bank=None) is not None and bank_notes(replace(found, bank=None)) == []
