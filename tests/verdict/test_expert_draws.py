"""Spread of the runtime and the loss of a unit, against hand calculation. Invented unit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planner.outing.schema import Bank
from planner.verdict.assess import assess
from tests.verdict.invented_records import UNIT, need


def test_the_runtime_of_a_steady_load_spreads_as_a_lognormal_of_its_parts():
    """Time is charge over current: 12 % of load, 3.54 % between two units of a kind, below 1 % of meter: 12.5 %.

    P10 and P90 stand 1.2816 of that below and above the middle. At 2,000 draws a tenth is known to 0.5 % and the ratio to
    the middle to 0.6 % (asymptotic error of a quantile); three of them, and the meter's part.
    """
    runtime = assess(UNIT, need(17.667, 5.0, spread=0.12), draws=2000).runtime
    spread = float(np.hypot(0.12, 0.025 * np.sqrt(2.0)))
    assert runtime.p10_s / runtime.p50_s == pytest.approx(np.exp(-1.2816 * spread), rel=0.02)
    assert runtime.p90_s / runtime.p50_s == pytest.approx(np.exp(1.2816 * spread), rel=0.02)
    assert runtime.p50_s == pytest.approx(runtime.nominal_s, rel=0.02)


def test_three_units_share_alike_and_two_that_are_left_carry_half_as_much_again():
    """270 A on three is 90 A each; one lost, 135 A each, and for 900 s no test covers that (hand calculation)."""
    outing = replace(need(270.0, 0.25), bank=Bank(parallel=3, lead_resistances_ohm=(1e-3, 1e-3, 1e-3)))
    bank = assess(UNIT, outing, draws=20).bank
    assert [branch.first_a for branch in bank.branches] == pytest.approx([90.0] * 3, rel=1e-9)
    assert [loss.survivor_a for loss in bank.losses] == pytest.approx([135.0] * 3, rel=1e-6)
    assert {loss.zone for loss in bank.losses} == {"untested"}
    assert all(loss.verdict == "not proven" for loss in bank.losses)
