"""An invented record to write to a file, whole, and what reading it refuses."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.errors import InputRefused, Problem
from planner.record.reader import read_record

AH = 3600.0

METERS = """
[instruments.load]
current = "0.5 %"
voltage = "0.1 %"
time = "1 s"
[instruments.clamp]
current = "2 %"
current_floor = "0.5 A"
time = "0.5 s"
[instruments.probe]
temperature = "1 delta_degC"
"""
DISCHARGE = """
[[capacity_test]]
current = "20.02 A"
duration = "5 h 10 min"
charge = "103.4 Ah"
energy = "1341 Wh"
cutoff_voltage = "10.0 V"
temperature = "25 degC"
ended_by = "cutoff"
instrument = "load"
"""
FULL = (
    'format = 1\nname = "Unit (invented)"\ntag = "U1"\ntested_on = 2026-03-14\nmass = "11.2 kg"\n'
    'price = 289.0\ncurrency = "USD"\nseries_allowed = true\n'
    + """
[claims]
capacity = "100 Ah"
energy = "1280 Wh"
continuous_current = "100 A"
surges = [{ current = "200 A", duration = "5 s" }]
charge_min_temperature = "0 degC"
charge_max_temperature = "45 degC"
discharge_min_temperature = "-20 degC"
discharge_max_temperature = "55 degC"
charge_voltage = "14.4 V"
charge_current = "50 A"
charge_bands = [["0 degC", "10 degC", "20 A"], ["10 degC", "45 degC", "50 A"]]
"""
    + METERS
    + DISCHARGE
    + """rest = "12 h"
state_of_charge = "100 %"
start_voltage = "13.5 V"
end_voltage = "10.0 V"
cell_voltages = ["2.5 V", "2.4 V", "2.6 V", "2.5 V"]
curve = [["0 Ah", "13.35 V"], ["5.2 Ah", "13.2 V"], ["90 Ah", "12.85 V"], ["103.4 Ah", "10.0 V"]]

[[current_test]]
kind = "hold"
current = "150 A"
duration = "60 s"
ended_by = "clock"
temperature = "25 degC"
instrument = "clamp"
terminal_start = "25 degC"
terminal_end = "33 degC"
recovery = "itself"
[[current_test]]
kind = "ramp"
current = "268 A"
rate = "20 A/s"
ended_by = "trip"
temperature = "25 degC"
instrument = "clamp"

[[step_test]]
from_current = "20 A"
to_current = "100 A"
from_voltage = "13.016 V"
to_voltage = "12.735 V"
after = "10 s"
state_of_charge = "50 %"
temperature = "25 degC"
instrument = "load"

[[cold_charge_test]]
direction = "cooling"
cell_temperature = "-2 degC"
charging = "blocked"
soak = "24 h"
instrument = "probe"

[[terminal_test]]
current = "100 A"
ambient = "25 degC"
readings = [["5 min", "39.7 degC"], ["10 min", "48.1 degC"], ["15 min", "52.9 degC"]]
instrument = "probe"

[[charge_test]]
charger_voltage = "14.4 V"
charge = "101 Ah"
current = "20 A"
ended_by = "full"
temperature = "25 degC"
instrument = "load"

[storage]
sleep_current = "11 mA"
self_discharge = "2 %"

[teardown]
positive_lead = "AWG 3"
negative_lead = "25 mm^2"
insulation = "125 degC"
temperature_sensor = true
surge_suppressor = false
notes = "free text"
"""
)


def problems_of(path: Path) -> dict[str, Problem]:
    """The problems a file is refused for, by key."""
    with pytest.raises(InputRefused) as caught:
        read_record(path)
    return {problem.key: problem for problem in caught.value.problems}
