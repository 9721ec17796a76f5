"""Which readings of the terminals would settle their heat. By hand: I²R heat follows the mean square of the current."""

from __future__ import annotations

import math

import numpy as np
import pytest

from planner.outing.exceedance import Trace
from planner.verdict.assess import assess
from planner.verdict.heat import hardest_rms_a
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
