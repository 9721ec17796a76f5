"""Texts to begin with. Every figure in them is invented or a round number, to be replaced by the buyer's own."""

from __future__ import annotations

from types import MappingProxyType

_TROLLING = """\
# Template with invented figures: put in your own.
format = 1
name = "Trolling day"
duration = "8 h"
ambient = "18 degC"
cell_temperature = "18 degC"  # of the cells at the start
start_charge = "100 %"
questions = ["energy", "reserve", "peak_current", "terminal_heat"]

[get_home]  # kept for the way back instead of a reserve
distance = "3 km"
speed = "4 km/h"
current = "25 A"  # at that speed, against the wind
factor = 1.25

[[load]]
name = "bow motor"
kind = "motor"
# Read the current at three speeds at least: share of full speed, then current.
table = [[0.3, "3 A"], [0.6, "12 A"], [1.0, "50 A"]]
use = [
  { start = "0 min", length = "30 min", speed = 0.8 },
  { start = "45 min", length = "6 h", speed = 0.5, on = "5 min", off = "5 min" },
]
evidence = "stated"

[[load]]
name = "sounder"
kind = "current"
current = "1 A"
use = [{ start = "0 min", length = "8 h" }]
evidence = "stated"
"""

_TRAILER = """\
# Template with invented figures: put in your own.
format = 1
name = "Trailer weekend"
duration = "48 h"
ambient = "20 degC"
start_charge = "100 %"
reserve = "20 %"

[[load]]
name = "cabin lights"
kind = "current"
current = "1.5 A"
use = [
  { start = "3 h", length = "4 h" },
  { start = "27 h", length = "4 h" },
]
evidence = "stated"

[[load]]
name = "fridge"
kind = "power"
power = "40 W"
use = [{ start = "0 h", length = "48 h", on = "10 min", off = "30 min" }]
start_surge = { current = "10 A", duration = "1 s" }
evidence = "stated"

[[load]]
name = "water pump"
kind = "current"
current = "6 A"
use = [
  { start = "13 h", length = "10 min", on = "30 s", off = "30 s" },
  { start = "37 h", length = "10 min", on = "30 s", off = "30 s" },
]
start_surge = { current = "18 A", duration = "0.4 s" }
evidence = "stated"

[[load]]
name = "breakaway brake"
kind = "current"
current = "12 A"
use = [{ start = "47 h 30 min", length = "15 min" }]
evidence = "handbook"
safety = true  # must never go dark

[wiring]
gauge = "AWG 8"
length = "3 m"  # one way
contact_resistance = "2 mohm"
insulation = "75 degC"
fuse = "40 A"
"""

_ICE = """\
# Template with invented figures: put in your own.
format = 1
name = "Ice shelter day"
duration = "9 h"
ambient = "-8 degC"
cell_temperature = "5 degC"  # as the battery leaves the car; it cools from there
start_charge = "100 %"
reserve = "20 %"

[[load]]
name = "flasher"
kind = "current"
current = "1.2 A"
use = [{ start = "15 min", length = "8 h" }]
evidence = "stated"

[[load]]
name = "heater blower"
kind = "current"
current = "2.5 A"
use = [{ start = "30 min", length = "8 h", on = "10 min", off = "5 min" }]
evidence = "stated"

[[load]]
name = "lamp"
kind = "power"
power = "15 W"
use = [{ start = "6 h", length = "3 h" }]
evidence = "stated"
"""

_CABIN = """\
# Template with invented figures: put in your own. One day off the grid, nothing charging.
format = 1
name = "Off-grid cabin day"
duration = "24 h"
ambient = "15 degC"
start_charge = "90 %"
reserve = "25 %"

[[load]]
name = "lights"
kind = "power"
power = "30 W"
use = [{ start = "10 h", length = "5 h" }]
evidence = "stated"

[[load]]
name = "fridge"
kind = "power"
power = "45 W"
use = [{ start = "0 h", length = "24 h", on = "12 min", off = "28 min" }]
evidence = "stated"

[[load]]
name = "kettle on the inverter"
kind = "inverter"
power = "900 W"  # at its socket
efficiency = "88 %"
idle_power = "10 W"
cutout_voltage = "11.0 V"
cutout_delay = "2 s"
use = [
  { start = "0 h", length = "6 min" },
  { start = "11 h", length = "6 min" },
]
evidence = "stated"

[wiring]
gauge = "AWG 2"
length = "1.5 m"  # one way
contact_resistance = "1 mohm"
insulation = "105 degC"
fuse = "125 A"
"""

_GALLEY = """\
# Template with invented figures: put in your own. A day's cooking on one inverter that stays switched on.
format = 1
name = "Kitchen on an inverter"
duration = "24 h"
ambient = "20 degC"
start_charge = "100 %"
reserve = "20 %"

[[load]]
name = "inverter left on"
kind = "power"
power = "12 W"  # what it draws with nothing plugged in; so the loads below have no idle_power of their own
use = [{ start = "0 h", length = "24 h" }]
evidence = "stated"

[[load]]
name = "kettle"
kind = "inverter"
power = "900 W"  # at its socket, as its plate says; so for the others
efficiency = "88 %"
idle_power = "0 W"
cutout_voltage = "11.0 V"
cutout_delay = "2 s"
rated_power = "1500 W"
use = [
  { start = "15 min", length = "5 min" },
  { start = "11 h", length = "5 min" },
]
evidence = "stated"

[[load]]
name = "microwave oven"
kind = "inverter"
power = "1100 W"  # what it takes, not the cooking power on its front
efficiency = "88 %"
idle_power = "0 W"
cutout_voltage = "11.0 V"
cutout_delay = "2 s"
rated_power = "1500 W"
use = [{ start = "11 h 10 min", length = "6 min" }]
start_surge = { current = "130 A", duration = "0.2 s" }
evidence = "stated"

[[load]]
name = "fridge"
kind = "inverter"
power = "70 W"
efficiency = "80 %"  # less than at much power
idle_power = "0 W"
cutout_voltage = "11.0 V"
cutout_delay = "2 s"
rated_power = "1500 W"
use = [{ start = "0 h", length = "24 h", on = "12 min", off = "33 min" }]
start_surge = { current = "45 A", duration = "0.3 s" }
evidence = "stated"

[wiring]
gauge = "AWG 1/0"
length = "1.5 m"  # one way
contact_resistance = "0.8 mohm"
insulation = "105 degC"
fuse = "175 A"
"""

_WINCH = """\
# Template with invented figures: put in your own.
format = 1
name = "Winch"
duration = "3 h"
ambient = "20 degC"
start_charge = "90 %"
reserve = "20 %"
questions = ["energy", "peak_current", "terminal_heat", "wiring"]

[[load]]
name = "winch"
kind = "current"
current = "80 A"  # under its usual load; read it with a clamp meter
use = [
  { start = "30 min", length = "1 min" },
  { start = "2 h", length = "2 min", on = "20 s", off = "20 s" },
]
start_surge = { current = "200 A", duration = "0.4 s" }
evidence = "stated"

[wiring]
area = "35 mm^2"
length = "4 m"  # one way
contact_resistance = "1 mohm"
insulation = "105 degC"
fuse = "150 A"
"""

_RECORD = """\
# Template, its meters invented: put in what the bench found. What was not tested is left out, never guessed.
format = 1
name = "New battery"
# tag = "…"              the unit that was tested
# mass = "11 kg"

[claims]  # what the label says: shown beside the measurement, never decides
# capacity = "…"

[instruments.load]  # limits of error
current = "0.5 %"
voltage = "0.1 %"
time = "1 s"

[[capacity_test]]  # a result of ours would stand as a test that nobody made
# current = "…"          and charge, or duration: two of the three
# charge = "…"
# ended_by = "…"         cutoff, undervoltage, trip, clock, operator or meter
cutoff_voltage = "10.0 V"
temperature = "25 degC"  # of the cells
instrument = "load"
"""

_CLIMATE = """\
# Template with invented figures: mean of each month and difference between a day's warmest and coldest hour.
format = 1
name = "New place"
place = "outdoors"  # outdoors | box | cabin
start_charge = "100 %"
monthly = [
  ["-5 degC", "8 delta_degC"],
  ["-4 degC", "9 delta_degC"],
  ["1 degC", "10 delta_degC"],
  ["7 degC", "11 delta_degC"],
  ["13 degC", "12 delta_degC"],
  ["18 degC", "12 delta_degC"],
  ["20 degC", "12 delta_degC"],
  ["19 degC", "12 delta_degC"],
  ["14 degC", "11 delta_degC"],
  ["8 degC", "9 delta_degC"],
  ["2 degC", "7 delta_degC"],
  ["-3 degC", "7 delta_degC"],
]

[[charge]]
kind = "shore"
current = "10 A"
from = "9 h"
until = "15 h"
"""

_CASE = """\
format = 1
name = "New buyer"
note = "What the buyer asked, in the buyer's own words."
"""

# kind -> what the choice is called -> the text.
TEMPLATES = MappingProxyType(
    {
        "outings": MappingProxyType(
            {
                "trolling day": _TROLLING,
                "trailer weekend": _TRAILER,
                "ice shelter": _ICE,
                "off-grid cabin": _CABIN,
                "kitchen on an inverter": _GALLEY,
                "winch": _WINCH,
            }
        ),
        "batteries": MappingProxyType({"one discharge": _RECORD}),
        "climates": MappingProxyType({"monthly means": _CLIMATE}),
        "cases": MappingProxyType({"nothing chosen yet": _CASE}),
    }
)
