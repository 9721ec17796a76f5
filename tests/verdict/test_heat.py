"""Which readings of the terminals would settle their heat. By hand: I²R heat follows the mean square of the current."""

from __future__ import annotations

import math

import numpy as np
import pytest

from planner.outing.exceedance import Trace
from planner.verdict.assess import assess
from planner.verdict.heat import hardest_rms_a
from planner.verdict.peak import recovery_of
from tests.verdict.invented_bench import read_need, read_unit

UNIT = """
format = 1
name = "Fifty (invented)"
[[capacity_test]]
current = "10 A"
charge = "51.2 Ah"
cutoff_voltage = "10.0 V"
temperature = "22 degC"
ended_by = "cutoff"
[[current_test]]
kind = "hold"
current = "60 A"
duration = "10 min"
ended_by = "clock"
temperature = "22 degC"
terminal_start = "22 degC"
terminal_end = "41 degC"
"""
NEED = """
format = 1
name = "One long coffee (invented)"
duration = "24 h"
ambient = "18 degC"
[[load]]
name = "coffee maker"
kind = "current"
current = "98 A"
spread = "5 %"
use = [{ start = "7 h", length = "8 min" }]
"""
READ = """
[[terminal_test]]
current = "72 A"
ambient = "22 degC"
readings = [["5 min", "38 degC"], ["10 min", "46 degC"], ["15 min", "50 degC"]]
"""


def test_the_hardest_quarter_of_an_hour_counts_and_not_the_whole_day():
    """480 s of 98 A within 900 s heat like 98 A times the root of 480/900."""
    day = Trace(np.array([0.0, 480.0, 86_400.0]), np.array([98.0, 0.0]), np.array([98.0, 0.0]))
    assert hardest_rms_a(day) == pytest.approx(98.0 * math.sqrt(480.0 / 900.0), rel=1e-9)
    short = Trace(np.array([0.0, 300.0, 600.0]), np.array([50.0, 0.0]), np.array([50.0, 0.0]))
    assert hardest_rms_a(short) == pytest.approx(50.0 * math.sqrt(0.5), rel=1e-9)


def test_readings_at_the_current_that_is_named_settle_it(tmp_path):
    need = read_need(tmp_path, NEED)
    for text, verdict in ((UNIT, "not proven"), (UNIT + READ, "fits")):
        answer = assess(read_unit(tmp_path, text), need, None, draws=20, seed=1)
        (heat,) = [check for check in answer.checks if check.id == "terminal_heat"]
        assert heat.verdict == verdict
        if verdict == "not proven":
            assert heat.settled_by is not None
            assert heat.settled_by.parts["current_a"] == pytest.approx(71.6, abs=0.1)


def test_each_unit_of_a_bank_is_judged_by_its_own_terminals(tmp_path):
    """Of two alike in charge and leads, one was read and the other was not: what was read says nothing of the other."""
    both = NEED + '[bank]\nparallel = 2\nlead_resistances = ["1 mohm", "1 mohm"]\n'
    need = read_need(tmp_path, both.replace("98 A", "196 A"))
    told, untold = read_unit(tmp_path, UNIT + READ, "told.toml"), read_unit(tmp_path, UNIT, "untold.toml")
    for units, verdict in (((told, told), "fits"), ((told, untold), "not proven"), ((untold, told), "not proven")):
        answer = assess(told, need, None, draws=4, units=units)
        (heat,) = [check for check in answer.checks if check.id == "terminal_heat"]
        assert heat.verdict == verdict


def test_of_units_that_were_read_the_hotter_is_told(tmp_path):
    both = NEED + '[bank]\nparallel = 2\nlead_resistances = ["1 mohm", "1 mohm"]\n'
    need = read_need(tmp_path, both.replace("98 A", "196 A"))
    cool = read_unit(tmp_path, UNIT + READ, "cool.toml")
    hot = read_unit(tmp_path, UNIT + READ.replace("38", "58").replace("46", "76").replace("50 degC", "85 degC"), "hot.toml")
    by_hot, mixed = (
        next(check for check in assess(cool, need, None, draws=4, units=units).checks if check.id == "terminal_heat")
        for units in ((hot, hot), (cool, hot))
    )
    assert mixed.verdict == by_hot.verdict == "does not fit"
    # the branches differ by nothing but their terminals
    assert mixed.need.value_si == pytest.approx(by_hot.need.value_si, abs=0.01)


def test_a_bank_comes_back_as_its_worst_unit_does(tmp_path):
    trip = '[[current_test]]\nkind = "hold"\ncurrent = "130 A"\nduration = "9 s"\nended_by = "trip"\nrecovery = "{}"\n'
    unit = {how: read_unit(tmp_path, UNIT + trip.format(how), f"{how}.toml") for how in ("itself", "charger")}
    silent = read_unit(tmp_path, UNIT, "silent.toml")
    need = read_need(tmp_path, NEED + '[bank]\nparallel = 2\nlead_resistances = ["1 mohm", "1 mohm"]\n')
    for units, told in (
        ((unit["itself"], unit["itself"]), "itself"),
        ((unit["itself"], unit["charger"]), "charger"),
        ((unit["itself"], silent), "unknown"),
    ):
        assert recovery_of(assess(unit["itself"], need, None, draws=4, units=units).batch) == told
