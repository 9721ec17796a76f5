"""The editor of an outing: the need first, then loads, way home, cable and bank."""

from __future__ import annotations

from types import MappingProxyType

from planner.explain.check_words import TITLES
from planner.outing.load_reader import KINDS
from planner.outing.recorded import BETWEEN
from planner.outing.schema import QUESTIONS
from planner.screens.form import (
    CHOICE,
    CHOICES,
    EVIDENCE,
    FILE,
    FILES,
    FLAG,
    NUMBER,
    WHOLE,
    Field,
    Grid,
    Group,
)

KIND_WORDS = MappingProxyType(
    {
        "current": "draws steady amps",
        "power": "draws steady watts",
        "resistive": "heater or filament lamp",
        "inverter": "mains device on an inverter",
        "motor": "motor with speeds",
        "recorded": "a log of its current",
    }
)
MOTOR, INVERTER, RECORDED = ("kind", ("motor",)), ("kind", ("inverter",)), ("kind", ("recorded",))
NOT_RECORDED = ("kind", tuple(kind for kind in KINDS if kind != "recorded"))

THE_NEED = Group(
    "",
    "The need",
    (
        Field("name", "Name", hint="what it is called in lists and on the sheet"),
        Field("duration", "How long the outing lasts", "duration", "8 h"),
        Field("ambient", "Air around the battery", "temperature", "17 °C"),
        Field("cell_temperature", "Battery inside, at the start", "temperature", "as the air when left out"),
        Field("start_charge", "Charge at the start", "fraction", "100 %"),
        Field("reserve", "Charge kept in reserve", "fraction", "20 %, or a way home"),
        Field(
            "questions",
            "Questions that matter",
            CHOICES,
            "all of them when none is chosen",
            QUESTIONS,
            TITLES,
        ),
        Field("cutoff_voltage", "The user stops at", "voltage", "left out: until the battery ends"),
        Field("cutoff_delay", "… once it stayed below for", "duration", "1 s"),
        Field("terminal_limit", "Hottest the terminals may get", "temperature", "75 °C"),
    ),
)
LOADS = Group(
    "load",
    "What runs",
    (
        Field("name", "Name"),
        Field("kind", "What it is", CHOICE, options=KINDS, words=KIND_WORDS),
        Field("current", "Current", "current", "2.5 A", when=("kind", ("current",))),
        Field("power", "Power", "power", "40 W", when=("kind", ("power", "resistive"))),
        Field("voltage", "… at", "voltage", "12 V", when=("kind", ("resistive",))),
        Field("resistance", "or its resistance", "resistance", "1.2 ohm", when=("kind", ("resistive",))),
        Field("power", "Power at its socket", "power", "900 W", when=INVERTER),
        Field("efficiency", "Inverter’s efficiency", "fraction", "88 %", when=INVERTER),
        Field("idle_power", "Inverter’s own draw", "power", "10 W", when=INVERTER),
        Field("cutout_voltage", "Inverter cuts out at", "voltage", "11.0 V", when=INVERTER),
        Field("cutout_delay", "… once it stayed below for", "duration", "2 s", when=INVERTER),
        Field("restart_voltage", "Inverter starts again at", "voltage", "12.5 V", when=INVERTER),
        Field("rated_power", "Inverter’s rated power", "power", "1000 W", when=INVERTER),
        Field("surge_power", "Inverter’s surge power", "power", "2000 W", when=INVERTER),
        Field("surge_time", "… for", "duration", "5 s", when=INVERTER),
        Field("input_capacitance", "Inverter’s input capacitors", "capacitance", "4700 uF", when=INVERTER),
        Field("precharge_resistance", "Precharge resistor", "resistance", "25 ohm", when=INVERTER),
        Field("full_current", "Current at full speed", "current", "48 A", when=MOTOR),
        Field("claimed_thrust", "Thrust on the label", "force", "245 N", when=MOTOR),
        Field("propeller_diameter", "Propeller’s diameter", "length", "28 cm", when=MOTOR),
        Field("winding_resistance", "Motor’s winding", "resistance", "70 mohm", when=MOTOR),
        Field("spin_up", "Motor’s spin-up time constant", "duration", "0.35 s", when=MOTOR),
        Field("log", "Log of its current", FILE, folder="logs", when=RECORDED),
        Field("between_samples", "Between two samples", CHOICE, options=tuple(BETWEEN), when=RECORDED),
        EVIDENCE,
        Field("spread", "How far it may be off", "fraction", "10 %"),
        Field("start_surge.current", "At switching on", "current", "9 A", when=NOT_RECORDED),
        Field("start_surge.duration", "… for", "duration", "0.3 s", when=NOT_RECORDED),
        Field("safety", "Must never go dark", FLAG),
    ),
    (
        Grid(
            "use",
            "When it runs",
            (
                Field("start", "From", "duration", "45 min"),
                Field("length", "For", "duration", "2 h"),
                Field("speed", "Speed (1 is full)", NUMBER, "0.6", when=MOTOR),
                Field("on", "On for", "duration", "2 min", when=NOT_RECORDED),
                Field("off", "Off for", "duration", "8 min", when=NOT_RECORDED),
            ),
            {"start": "0 min", "length": "1 h"},
            none="No row: it runs for the whole outing.",
        ),
        Grid(
            "efficiency_points",
            "Inverter’s efficiency at several powers (in place of one figure)",
            (
                Field("0", "Power at its socket", "power", "100 W"),
                Field("1", "Efficiency", "fraction", "84 %"),
            ),
            ["100 W", "84 %"],
            pairs=True,
            when=INVERTER,
        ),
        Grid(
            "table",
            "Current read at each speed",
            (Field("0", "Speed (1 is full)", NUMBER, "0.6"), Field("1", "Current", "current", "12 A")),
            [0.5, "10 A"],
            pairs=True,
            when=MOTOR,
        ),
    ),
    rows="list",
    one="load",
    first={"name": "new load", "kind": "current", "current": "1 A", "evidence": "stated"},
)
WAY_HOME = Group(
    "get_home",
    "Way home",
    (
        Field("distance", "Distance", "length", "3.2 km"),
        Field("speed", "Speed over ground", "speed", "4 km/h"),
        Field("current", "Current at that speed", "current", "28 A"),
        Field("factor", "Times, for wind", NUMBER, "1.2"),
    ),
    help="Kept as the reserve instead of a share of the charge.",
)
CABLE = Group(
    "wiring",
    "Cable and fuse",
    (
        Field("gauge", "Gauge", "area", "AWG 4; or leave it out and give the area"),
        Field("area", "or area", "area", "25 mm^2"),
        Field("length", "Length one way", "length", "2.5 m"),
        Field("contact_resistance", "All joints together", "resistance", "1 mohm"),
        Field("insulation", "Insulation is made for", "temperature", "105 °C"),
        Field("fuse", "Fuse or breaker", "current", "60 A"),
        Field("fuse_class", "Its class", hint="as printed on it"),
        Field("fuse_interrupt", "It can break", "current", "10 kA"),
        Field("allowed_drop", "Allowed loss of volts", "fraction", "10 %"),
        Field("charge_current", "Charge through the same cable", "current", "30 A"),
        Field("alternator_voltage", "or an alternator without a charger, at", "voltage", "14.2 V"),
        Field("alternator_current", "Its rated current", "current", "90 A"),
        Field("bundled", "Conductors in the bundle", WHOLE, "2"),
        Field("engine_space", "Runs through an engine space", FLAG),
    ),
)
BANK = Group(
    "bank",
    "Several units",
    (
        Field("parallel", "Side by side (parallel)", WHOLE, "2"),
        Field("series", "One after the other (series)", WHOLE, "1"),
        Field("lead_resistances", "Lead of each branch", "list of resistance", "0.9 mohm, 1.4 mohm"),
        Field("start_charges", "Charge of each at the start", "list of fraction", "100 %, 97 %"),
        Field("units", "Record of each unit", FILES, folder="batteries"),
    ),
)
FORM = (THE_NEED, LOADS, WAY_HOME, CABLE, BANK)
