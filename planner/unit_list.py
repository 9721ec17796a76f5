"""The list of units people may write, how each kind is written, and what a wrong unit most likely meant.

Data only. A factor stands here where SI defines it outright; None means pint is asked for it.
"""

from __future__ import annotations

import math

from planner.constants import SECONDS_PER_HOUR

# kind: spelling -> (name in pint, factor to SI; None where the factor is not a plain SI one)
UNITS_OF: dict[str, dict[str, tuple[str, float | None]]] = {
    "current": {"A": ("ampere", 1.0), "mA": ("milliampere", 1e-3), "kA": ("kiloampere", 1e3)},
    "current_rate": {
        "A/s": ("ampere/second", 1.0),
        "mA/s": ("milliampere/second", 1e-3),
        "A/min": ("ampere/minute", 1.0 / 60.0),
    },
    "voltage": {"V": ("volt", 1.0), "mV": ("millivolt", 1e-3), "kV": ("kilovolt", 1e3)},
    "resistance": {
        "mohm": ("milliohm", 1e-3),
        "mOhm": ("milliohm", 1e-3),
        "mΩ": ("milliohm", 1e-3),
        "milliohm": ("milliohm", 1e-3),
        "ohm": ("ohm", 1.0),
        "Ohm": ("ohm", 1.0),
        "Ω": ("ohm", 1.0),
        "uohm": ("microohm", 1e-6),
        "µohm": ("microohm", 1e-6),
        "µΩ": ("microohm", 1e-6),
    },
    "conductance": {"S": ("siemens", 1.0), "mS": ("millisiemens", 1e-3)},
    "power": {
        "W": ("watt", 1.0),
        "mW": ("milliwatt", 1e-3),
        "kW": ("kilowatt", 1e3),
        "hp": ("horsepower", None),
    },
    "energy": {
        "Wh": ("watt_hour", SECONDS_PER_HOUR),
        "mWh": ("milliwatt_hour", 3.6),
        "kWh": ("kilowatt_hour", 1e3 * SECONDS_PER_HOUR),
        "J": ("joule", 1.0),
        "kJ": ("kilojoule", 1e3),
        "MJ": ("megajoule", 1e6),
    },
    "charge": {
        "Ah": ("ampere_hour", SECONDS_PER_HOUR),
        "mAh": ("milliampere_hour", 3.6),
        "kAh": ("kiloampere_hour", 1e3 * SECONDS_PER_HOUR),
        "A*s": ("ampere*second", 1.0),
        "A*h": ("ampere_hour", SECONDS_PER_HOUR),
    },
    "duration": {
        "min": ("minute", 60.0),
        "s": ("second", 1.0),
        "ms": ("millisecond", 1e-3),
        "h": ("hour", SECONDS_PER_HOUR),
        "d": ("day", 24.0 * SECONDS_PER_HOUR),
        "sec": ("second", 1.0),
        "hour": ("hour", SECONDS_PER_HOUR),
        "hours": ("hour", SECONDS_PER_HOUR),
        "day": ("day", 24.0 * SECONDS_PER_HOUR),
        "days": ("day", 24.0 * SECONDS_PER_HOUR),
    },
    # before temperatures, of which F is one too: a range in F is written back in F, whichever of the two it is
    "capacitance": {
        "F": ("farad", 1.0),
        "mF": ("millifarad", 1e-3),
        "uF": ("microfarad", 1e-6),
        "µF": ("microfarad", 1e-6),
    },
    "temperature": {
        "degC": ("degC", 1.0),
        "°C": ("degC", 1.0),
        "degF": ("degF", None),
        "°F": ("degF", None),
        "K": ("kelvin", 1.0),
    },
    "temperature_difference": {
        "delta_degC": ("delta_degC", 1.0),
        "delta_degF": ("delta_degF", None),
    },
    "mass": {
        "kg": ("kilogram", 1.0),
        "g": ("gram", 1e-3),
        "lb": ("pound", None),
        "oz": ("ounce", None),
    },
    "length": {
        "m": ("meter", 1.0),
        "cm": ("centimeter", 1e-2),
        "mm": ("millimeter", 1e-3),
        "km": ("kilometer", 1e3),
        "in": ("inch", None),
        "ft": ("foot", None),
        "mi": ("mile", None),
        "nmi": ("nautical_mile", None),
    },
    "area": {
        "mm^2": ("millimeter**2", 1e-6),
        "mm2": ("millimeter**2", 1e-6),
        "mm²": ("millimeter**2", 1e-6),
        "cm^2": ("centimeter**2", 1e-4),
        "m^2": ("meter**2", 1.0),
        "m2": ("meter**2", 1.0),
        "m²": ("meter**2", 1.0),
    },
    "speed": {
        "m/s": ("meter/second", 1.0),
        "km/h": ("kilometer/hour", 1.0 / 3.6),
        "kn": ("knot", None),
        "knots": ("knot", None),
        "mi/h": ("mile/hour", None),
        "mph": ("mile/hour", None),
    },
    "force": {"N": ("newton", 1.0), "kN": ("kilonewton", 1e3), "lbf": ("force_pound", None)},
    "fraction": {"%": ("percent", 1e-2), "percent": ("percent", 1e-2)},
    "thermal_conductance": {"W/K": ("watt/kelvin", 1.0), "mW/K": ("milliwatt/kelvin", 1e-3)},
    "heat_capacity": {"J/K": ("joule/kelvin", 1.0), "kJ/K": ("kilojoule/kelvin", 1e3)},
    "angle": {"deg": ("degree", math.pi / 180.0), "°": ("degree", math.pi / 180.0), "rad": ("radian", 1.0)},
}
EXAMPLE = {
    "current": "12.5 A",
    "current_rate": "20 A/s",
    "voltage": "12.5 V",
    "resistance": "1.2 mohm",
    "conductance": "50 S",
    "power": "900 W",
    "energy": "1341 Wh",
    "charge": "103.4 Ah",
    "duration": "5 h 10 min",
    "temperature": "-2 degC",
    "temperature_difference": "1 delta_degC",
    "mass": "11.2 kg",
    "length": "2.5 m",
    "area": "25 mm^2 or AWG 4",
    "speed": "3 km/h",
    "force": "245 N",
    "fraction": "2 %",
    "thermal_conductance": "2.24 W/K",
    "heat_capacity": "11200 J/K",
    "angle": "30 deg",
    "capacitance": "4700 uF",
}

# What somebody who typed this unit in this field most likely meant.
LIKELY = {
    (
        "current",
        "Ah",
    ): 'Ah is charge. If {n} A was meant write "{n} A"; if it is a charge it belongs under its own key.',
    ("current", "C"): 'A C-rate is not a current; write amperes, such as "{n} A".',
    (
        "current",
        "W",
    ): 'W is power. If the load is a power, give it under the key power; a current is written "{n} A".',
    ("current", "lbf"): "Thrust is a force; enter a current reading per speed.",
    ("current", "lb"): "Pounds of thrust are a force; enter a current reading per speed.",
    ("current", "N"): "Thrust is a force; enter a current reading per speed.",
    ("charge", "A"): 'A is current. Write "{n} Ah" if the charge is {n} ampere-hours.',
    ("charge", "mA"): 'mA is current. Write "{n} mAh" if the charge is {n} milliampere-hours.',
    (
        "charge",
        "Wh",
    ): 'Wh is energy, Ah is charge; a charge is written "{n} Ah" if {n} ampere-hours were counted.',
    ("charge", "C"): 'Write "{n} A*s" for coulombs or "{n} Ah" for ampere-hours.',
    ("energy", "W"): 'W is power. Write "{n} Wh" if the energy is {n} watt-hours.',
    ("energy", "kW"): 'kW is power. Write "{n} kWh" if the energy is {n} kilowatt-hours.',
    (
        "energy",
        "Ah",
    ): 'Ah is charge, Wh is energy; an energy is written "{n} Wh" if {n} watt-hours were counted.',
    ("power", "Wh"): 'Wh is energy. Write "{n} W" if the power is {n} watts.',
    ("power", "kWh"): 'kWh is energy. Write "{n} kW" if the power is {n} kilowatts.',
    (
        "power",
        "A",
    ): 'A is current. If the load is a current, give it under the key current; a power is written "{n} W".',
    (
        "power",
        "lb",
    ): "Pounds of thrust are a force, not a power: read the current with a meter and give that.",
    ("power", "lbf"): "Thrust is a force, not a power: read the current with a meter and give that.",
    ("power", "VA"): 'VA is apparent power; write the watts, such as "{n} W".',
    ("temperature", "deg"): 'Write "{n} degC" or "{n} degF".',
    ("temperature", "°"): 'Write "{n} degC" or "{n} degF".',
    ("temperature", "delta_degC"): 'That is a difference; a temperature is written "{n} degC".',
    ("temperature", "delta_degF"): 'That is a difference; a temperature is written "{n} degF".',
    ("temperature_difference", "degC"): 'That is a temperature; a difference is written "{n} delta_degC".',
    ("temperature_difference", "°C"): 'That is a temperature; a difference is written "{n} delta_degC".',
    ("temperature_difference", "degF"): 'That is a temperature; a difference is written "{n} delta_degF".',
    ("temperature_difference", "°F"): 'That is a temperature; a difference is written "{n} delta_degF".',
    ("temperature_difference", "C"): 'Write "{n} delta_degC" (C alone is coulomb).',
    ("temperature_difference", "F"): 'Write "{n} delta_degF" (F alone is farad).',
    ("duration", "m"): 'm is metre. Write "{n} min" for minutes.',
    ("length", "min"): 'min is minute. Write "{n} m" for metres.',
    ("mass", "lbf"): 'lbf is force. Write "{n} lb" for a mass.',
    ("force", "lb"): 'lb is mass. Write "{n} lbf" for pounds of thrust.',
    ("force", "kg"): "kg is mass. Write newtons: {n} kg weigh 9.81 times as many N.",
    ("area", "AWG"): 'Write "AWG {n}".',
}
