"""Swings of single inputs against single runs, and shares of variance against hand calculation. Data invented."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planner.battery.fit import fit_record
from planner.explain.sensitivity_answer import sensitivity_json, sensitivity_text
from planner.outing.build import build_timeline
from planner.outing.change import scale_outing
from planner.outing.schema import Bank, Load, Use, Wiring
from planner.verdict.assess import assess
from planner.verdict.sensitivity import find_sensitivity
from planner.verdict.uncertain_inputs import P90_Z, uncertain_inputs
from planner.verdict.variance_share import variance_share
from tests.outing.needs import EVERY_KIND
from tests.verdict.invented_records import UNIT, need

DRAWS = 200
STEP = 2e-3  # another current is another step of the engine: halving it moves runtime less than the printed digits


def swing(found, name):
    return next(one for one in found.swings if one.input.id == name)


@pytest.fixture(scope="module")
def five_hours():
    return find_sensitivity(UNIT, need(19.0, 5.0, spread=0.12), draws=DRAWS)


def test_the_swing_of_a_load_is_that_of_two_outings_with_that_load(five_hours):
    load = swing(five_hours, "load.1")
    for sign, runtime in zip((-1.0, 1.0), load.runtime_s, strict=True):
        factor = float(np.exp(sign * P90_Z * 0.12))
        alone = assess(UNIT, scale_outing(need(19.0, 5.0), factor), draws=1).runtime
        assert runtime == pytest.approx(alone.nominal_s, rel=STEP)


def test_the_verdict_at_an_end_is_that_of_an_outing_with_that_load(five_hours):
    """101.5 Ah at 19 A last 5.3 h; at 1.17 times that 4.6 h, less than the 5 h wanted (hand calculation)."""
    load = swing(five_hours, "load.1")
    assert five_hours.centre_verdict == "fits"
    assert load.verdicts == ("fits", "does not fit")
    assert five_hours.moves(load)


def test_more_charge_in_the_buyers_unit_lasts_longer_in_proportion(five_hours):
    """The tested and the buyer's own unit each spread by 2.5 %: 3.54 % together, ± 4.5 % at P10 and P90."""
    low, high = swing(five_hours, "unit_charge").runtime_s
    assert high / low == pytest.approx(np.exp(2.0 * P90_Z * 0.025 * np.sqrt(2.0)), rel=5e-3)


def test_the_largest_swing_comes_first_and_an_unmoved_input_last(five_hours):
    sizes = [one.swing_s for one in five_hours.swings]
    assert sizes == sorted(sizes, reverse=True)
    assert five_hours.swings[0].input.id == "load.1"
    assert sizes[-1] < 60.0


def test_the_assumption_that_matters_most_is_no_measured_one(five_hours):
    """The load is measured; next to it stands the spread between units, which is an assumption."""
    assert five_hours.most.input.id in {"unit_charge", "start"}
    stated = find_sensitivity(UNIT, need(19.0, 5.0, spread=0.12, evidence="stated"), draws=DRAWS)
    assert stated.most.input.id == "load.1"
    assert "how much steady really draws" in sensitivity_json(stated)["sentence"]
    assert "“does not fit”" in sensitivity_text(stated).replace("\n  ", " ")


def test_nothing_that_is_moved_but_a_load_changes_what_the_loads_ask():
    """All ends run in one call on the answer's own timeline: a load that follows the air needs its own there."""
    base = replace(EVERY_KIND, wiring=Wiring("AWG 4", 21.2e-6, 2.0, 1e-3, 378.15))
    line = build_timeline(base)
    moved = [end.outing for one in uncertain_inputs(base, line, fit_record(UNIT), False) for end in one.ends]
    assert any(outing.ambient_k != base.ambient_k for outing in moved)
    for outing in moved:
        other = build_timeline(outing)
        for name in ("edges_s", "current_start_a", "current_end_a", "power_w", "conductance_s"):
            assert np.array_equal(getattr(other, name), getattr(line, name))


def test_a_need_far_below_the_battery_moves_no_verdict():
    found = find_sensitivity(UNIT, need(5.0, 2.0), draws=DRAWS)
    assert not any(found.moves(one) for one in found.swings)
    assert all(one.verdicts == (found.centre_verdict,) * 2 for one in found.swings)


def test_shares_of_independent_inputs_are_the_parts_of_the_sum_of_squares(five_hours):
    """Runtime goes as charge over current: 12 % of load and 3.54 % of charge share as their squares, 92 to 8.

    With 200 draws in 14 groups chance moves a share by about 4 % (sqrt(2 * 13) / 200, hand calculation); three of
    them, and the little that other inputs take.
    """
    assert swing(five_hours, "load.1").share == pytest.approx(0.92, abs=0.12)
    assert swing(five_hours, "unit_charge").share == pytest.approx(0.08, abs=0.12)


def test_joints_are_moved_where_there_is_a_cable_and_start_and_temperature_always():
    outing = replace(need(19.0, 5.0), wiring=Wiring("AWG 4", 21.2e-6, 2.0, 1e-3, 378.15))
    ids = {one.input.id for one in find_sensitivity(UNIT, outing, draws=DRAWS).swings}
    assert {"contact", "start", "temperature"} <= ids
    assert "contact" not in {
        one.input.id for one in find_sensitivity(UNIT, need(19.0, 5.0), draws=DRAWS).swings
    }


def test_an_inverter_near_its_cut_out_hangs_on_the_joints():
    """What one loose joint does on a flat plateau: the cut-out comes hours earlier, the battery being the same."""
    load = Load("hot plate", "inverter", (Use(0.0, 2400.0),), "measured", 0.02, power_w=900.0, efficiency=0.88,
                cutout_v=11.5, cutout_delay_s=2.0)  # fmt: skip
    outing = replace(need(1.0, 1.0), duration_s=2400.0, loads=(load,),
                     wiring=Wiring("AWG 6", 13.3e-6, 5.0, 1e-3, 378.15))  # fmt: skip
    found = find_sensitivity(UNIT, outing, draws=DRAWS)
    better, worse = swing(found, "contact").runtime_s
    assert worse < 0.8 * better


def test_a_bank_is_judged_only_where_it_moves_most():
    outing = replace(need(38.0, 5.0, spread=0.12), bank=Bank(2, 1, (1e-3, 1e-3)))
    found = find_sensitivity(UNIT, outing, draws=DRAWS)
    assert [one.verdicts is not None for one in found.swings[:4]] == [True, True, True, False]
    load = swing(found, "load.1")
    assert load.verdicts[1] == "does not fit"
    single = find_sensitivity(UNIT, need(19.0, 5.0, spread=0.12), draws=DRAWS)
    # two units share the load; their own spreads average, so a bank's swing of charge is the smaller
    assert swing(found, "unit_charge").swing_s < swing(single, "unit_charge").swing_s


def test_too_few_draws_or_a_result_that_does_not_vary_have_no_share():
    values = np.linspace(0.0, 1.0, 30)
    assert variance_share(values, values) is None
    many = np.linspace(0.0, 1.0, 300)
    assert variance_share(many, np.full(300, 7.0)) is None
    assert variance_share(many, np.where(many > 0.5, np.inf, 1.0)) is None


def test_an_input_without_effect_has_a_share_near_nothing_and_the_only_one_nearly_all():
    rng = np.random.default_rng(3)
    values = rng.normal(size=2000)
    assert variance_share(values, 3.0 - 2.0 * values) == pytest.approx(1.0, abs=0.02)
    assert variance_share(values, rng.normal(size=2000)) == pytest.approx(0.0, abs=0.02)


def test_the_fit_at_hand_changes_nothing():
    outing = need(19.0, 5.0)
    one, other = (
        find_sensitivity(UNIT, outing, draws=60, fitted=fitted) for fitted in (None, fit_record(UNIT))
    )
    assert [a.runtime_s for a in one.swings] == [b.runtime_s for b in other.swings]
