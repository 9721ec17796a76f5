"""Three invented batteries and a few outings of the tests in this room, as the files a user would write.

No real make stands behind any figure.
"""

from __future__ import annotations

from pathlib import Path

from planner.outing.reader import read_outing
from planner.outing.schema import Outing
from planner.record.reader import read_record
from planner.record.schema import Record

_METERS = """
[instruments.load]
current = "0.5 %"
voltage = "0.1 %"
time = "2 s"
[instruments.clamp]
current = "2 %"
current_floor = "0.5 A"
time = "0.5 s"
[instruments.probe]
temperature = "1 delta_degC"
"""

STURDY = (
    """
format = 1
name = "Sturdy unit (invented)"
tag = "invented-1"
mass = "11.2 kg"
[claims]
capacity = "100 Ah"
continuous_current = "100 A"
"""
    + _METERS
    + """
[[capacity_test]]
current = "20.02 A"
duration = "18600 s"
charge = "103.4 Ah"
energy = "1341 Wh"
cutoff_voltage = "10.0 V"
temperature = "25 degC"
ended_by = "cutoff"
instrument = "load"
[[capacity_test]]
current = "100 A"
duration = "3632 s"
charge = "100.9 Ah"
cutoff_voltage = "10.0 V"
temperature = "25 degC"
ended_by = "cutoff"
instrument = "load"
[[capacity_test]]
current = "20 A"
charge = "86.1 Ah"
cutoff_voltage = "10.0 V"
temperature = "-10 degC"
ended_by = "cutoff"
instrument = "load"
[[step_test]]
from_current = "20 A"
to_current = "100 A"
from_voltage = "13.016 V"
to_voltage = "12.735 V"
after = "10 s"
state_of_charge = "50 %"
temperature = "25 degC"
instrument = "load"
[[current_test]]
kind = "hold"
current = "150 A"
duration = "60 s"
ended_by = "clock"
temperature = "25 degC"
instrument = "clamp"
[[current_test]]
kind = "hold"
current = "200 A"
duration = "5 s"
ended_by = "clock"
temperature = "25 degC"
instrument = "clamp"
[[current_test]]
kind = "hold"
current = "180 A"
duration = "11 s"
ended_by = "trip"
temperature = "25 degC"
instrument = "clamp"
[[current_test]]
kind = "ramp"
current = "268 A"
rate = "20 A/s"
ended_by = "trip"
temperature = "25 degC"
instrument = "clamp"
[[terminal_test]]
current = "100 A"
ambient = "25 degC"
readings = [["15 min", "53 degC"]]
"""
)

WEAK_LEADS = (
    """
format = 1
name = "Thin-leaded unit (invented)"
tag = "invented-2"
mass = "10.1 kg"
[claims]
capacity = "100 Ah"
continuous_current = "100 A"
"""
    + _METERS
    + """
[[capacity_test]]
current = "20 A"
duration = "16758 s"
charge = "93.1 Ah"
energy = "1206 Wh"
cutoff_voltage = "10.0 V"
temperature = "25 degC"
ended_by = "cutoff"
instrument = "load"
[[current_test]]
kind = "hold"
current = "80 A"
duration = "1800 s"
ended_by = "clock"
temperature = "25 degC"
instrument = "clamp"
[[current_test]]
kind = "hold"
current = "150 A"
duration = "3 s"
ended_by = "clock"
temperature = "25 degC"
instrument = "clamp"
[[current_test]]
kind = "hold"
current = "100 A"
duration = "580 s"
ended_by = "trip"
temperature = "25 degC"
instrument = "clamp"
[[current_test]]
kind = "ramp"
current = "176 A"
rate = "20 A/s"
ended_by = "trip"
temperature = "25 degC"
instrument = "clamp"
[[terminal_test]]
current = "80 A"
ambient = "25 degC"
readings = [["15 min", "66 degC"]]
"""
)

HALF_SIZE = (
    """
format = 1
name = "Half-size unit (invented)"
tag = "invented-3"
mass = "5.9 kg"
[claims]
capacity = "50 Ah"
continuous_current = "50 A"
"""
    + _METERS
    + """
[[capacity_test]]
current = "10 A"
duration = "18612 s"
charge = "51.7 Ah"
cutoff_voltage = "10.0 V"
temperature = "25 degC"
ended_by = "cutoff"
instrument = "load"
[[capacity_test]]
current = "50 A"
duration = "3593 s"
charge = "49.9 Ah"
cutoff_voltage = "10.0 V"
temperature = "25 degC"
ended_by = "cutoff"
instrument = "load"
[[current_test]]
kind = "hold"
current = "100 A"
duration = "10 s"
ended_by = "clock"
temperature = "25 degC"
instrument = "clamp"
[[current_test]]
kind = "ramp"
current = "141 A"
rate = "20 A/s"
ended_by = "trip"
temperature = "25 degC"
instrument = "clamp"
"""
)

RESERVOIR_DAY = """
format = 1
name = "Reservoir day with a way home (invented)"
duration = "5 h"
ambient = "18 degC"
[get_home]
distance = "4.2 km"
speed = "3 km/h"
current = "18 A"
factor = 1.25
[[load]]
name = "motor"
kind = "recorded"
log = "motor.csv"
between_samples = "hold"
evidence = "logged"
spread = "12 %"
[[load]]
name = "sounder and pump"
kind = "current"
current = "1.6 A"
evidence = "stated"
spread = "12 %"
use = [{ start = "0 h", length = "5 h" }]
"""

# an hour's use of a small boat's motor, five times over (invented)
MOTOR_HOUR = ((1200, 28.0), (300, 52.0), (1500, 9.0), (600, 1.5))

AGAINST_THE_STREAM = """
format = 1
name = "Twenty minutes against the stream (invented)"
duration = "20 min"
ambient = "25 degC"
[[load]]
name = "motor"
kind = "current"
current = "100 A"
evidence = "measured"
use = [{ start = "0 s", length = "20 min" }]
"""

WINCH = """
format = 1
name = "Winch in short and long pulls (invented)"
duration = "30 min"
ambient = "25 degC"
[[load]]
name = "winch"
kind = "recorded"
log = "winch.csv"
between_samples = "hold"
evidence = "logged"
spread = "5 %"
"""

WINCH_PULLS = ((300, 0.0), (15, 170.0), (285, 0.0), (4, 160.0), (296, 0.0), (15, 170.0), (885, 0.0))
SHORT_PULL_ONLY = ((300, 0.0), (4, 160.0), (1496, 0.0))


def inverter_outing(conductor: str, cutout: str = "11.5 V", length: str = "45 min") -> str:
    """An inverter meal behind a cable, as the file a user would write."""
    return f"""
format = 1
name = "Meal on the inverter (invented)"
duration = "{length}"
ambient = "25 degC"
[wiring]
gauge = "{conductor}"
length = "5 m"
contact_resistance = "1.0 mohm"
insulation = "105 degC"
[[load]]
name = "hot plate on the inverter"
kind = "inverter"
power = "900 W"
efficiency = "88 %"
cutout_voltage = "{cutout}"
cutout_delay = "2 s"
evidence = "measured"
use = [{{ start = "0 s", length = "{length}" }}]
"""


LOGGED_OUTING = """
format = 1
name = "One logged outing (invented)"
duration = "7965 s"
ambient = "25 degC"
[[load]]
name = "the buyer's log"
kind = "recorded"
log = "logged.csv"
between_samples = "hold"
evidence = "logged"
spread = "5 %"
"""

LOGGED = (
    (600, 3.0), (20, 62.0), (900, 18.0), (6, 96.0), (45, 55.0), (1200, 9.0), (15, 62.0), (1800, 14.0), (4, 118.0),
    (30, 48.0), (2400, 6.0), (25, 70.0), (900, 22.0),
)  # fmt: skip


def read_unit(folder: Path, text: str, name: str = "unit.toml") -> Record:
    """The record a file with this text gives."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return read_record(path)


def read_need(folder: Path, text: str, name: str = "need.toml") -> Outing:
    """The outing a file with this text gives; its logs must lie in the folder already."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return read_outing(path)


def write_log(path: Path, segments: tuple[tuple[float, float], ...]) -> None:
    """A held log of (seconds, amperes), its last value repeated at the end."""
    rows, clock = ["time (s),current (A)"], 0.0
    for seconds, amps in segments:
        rows.append(f"{clock:g},{amps:g}")
        clock += seconds
    rows.append(f"{clock:g},{segments[-1][1]:g}")
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
