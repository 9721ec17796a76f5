"""Leads inside a battery as conductors of the table, with their own insulation."""

from __future__ import annotations

import pytest

from planner.install.conductor import awg_area_m2
from planner.install.leads import lead_limit

KELVIN = 273.15


def test_the_lead_that_may_carry_less_decides_in_warm_air():
    # 33 CFR 183.425 Table 5: AWG 8 at 80 degC 70 A, engine space x 0.78 = 54.6 A; AWG 4 130 A
    found = lead_limit((("AWG 4", awg_area_m2(4)), ("AWG 8", awg_area_m2(8))), 80.0 + KELVIN)
    assert found is not None and found.size == "AWG 8"
    assert found.ampacity_a == pytest.approx(54.6, rel=1e-12)
    assert found.cool_a == 70.0
    assert "80 degC column" in found.source and "0.78" in found.source


def test_an_insulation_not_recorded_takes_the_lowest_column():
    # AWG 2 at 60 degC 140 A x 0.58
    found = lead_limit((("AWG 2", awg_area_m2(2)),), None)
    assert found is not None and not found.insulation_stated
    assert found.ampacity_a == pytest.approx(81.2, rel=1e-12)


def test_nothing_recorded_or_outside_the_table_is_no_limit():
    assert lead_limit((), None) is None
    assert lead_limit((("AWG 24", awg_area_m2(24)),), None) is None
