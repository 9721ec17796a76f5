"""The editor of a battery's record: the unit, its label, the meters, then each kind of test.

A new test begins without a result: figures of ours would stand as a test that nobody made.
"""

from __future__ import annotations

from types import MappingProxyType

from planner.record.capacity_reader import ENDINGS as DISCHARGE_ENDINGS
from planner.record.tests_reader import CHARGE_ENDINGS, ENDINGS, RECOVERIES
from planner.screens.form import (
    CHOICE,
    DATE,
    FILE,
    FILES,
    FLAG,
    LONG_TEXT,
    NUMBER,
    Field,
    Grid,
    Group,
)

ENDED = MappingProxyType(
    {
        "cutoff": "the cut-off voltage was reached",
        "undervoltage": "the unit opened itself when empty",
        "trip": "the unit opened itself under load",
        "clock": "the time was up",
        "operator": "the tester stopped it",
        "meter": "the meter’s own limit",
        "full": "full",
    }
)
CELLS = Field("temperature", "Cells at", "temperature", "25 °C")
INSTRUMENT = Field("instrument", "Meter", CHOICE, names="instruments")
CHARGE_THEN = Field("state_of_charge", "Charge then", "fraction", "50 %")
RESTED = Field("rest", "Rested before", "duration", "12 h")
CELL_VOLTS = Field("cell_voltages", "Each cell then", "list of voltage", "3.31 V, 3.31 V, …")
VOLTS = (
    Field("start_voltage", "Volts at the start", "voltage", "13.3 V"),
    Field("end_voltage", "Volts at the end", "voltage", "12.4 V"),
)

THE_UNIT = Group(
    "",
    "The unit",
    (
        Field("name", "Name"),
        Field("tag", "Tag of the unit tested"),
        Field("tested_on", "Tested on (year-month-day)", DATE, "2026-03-14"),
        Field("mass", "Weight", "mass", "11.2 kg"),
        Field("price", "Price", NUMBER, "289"),
        Field("currency", "Currency"),
        Field("series_allowed", "Maker allows several in series", FLAG),
        Field("repeats", "Records of further units of the kind", FILES, folder="batteries"),
    ),
)
CLAIMS = Group(
    "claims",
    "What the label says",
    (
        Field("capacity", "Capacity", "charge", "100 Ah"),
        Field("energy", "Energy", "energy", "1280 Wh"),
        Field("continuous_current", "Steady current", "current", "100 A"),
        Field("charge_voltage", "Charge voltage", "voltage", "14.4 V"),
        Field("charge_current", "Charge current", "current", "50 A"),
        Field("charge_min_temperature", "Charge no colder than", "temperature", "0 °C"),
        Field("charge_max_temperature", "Charge no hotter than", "temperature", "45 °C"),
        Field("discharge_min_temperature", "Use no colder than", "temperature", "-20 °C"),
        Field("discharge_max_temperature", "Use no hotter than", "temperature", "60 °C"),
    ),
    (
        Grid(
            "surges",
            "Short currents claimed",
            (
                Field("current", "Current", "current", "200 A"),
                Field("duration", "For", "duration", "5 s"),
            ),
            {"current": "200 A", "duration": "3 s"},
        ),
        Grid(
            "charge_bands",
            "Charge current by temperature",
            (
                Field("0", "From", "temperature", "0 °C"),
                Field("1", "Until", "temperature", "10 °C"),
                Field("2", "At most", "current", "10 A"),
            ),
            ["0 degC", "10 degC", "10 A"],
            pairs=True,
        ),
    ),
    help="Shown beside the measurement; it never decides.",
)
METERS = Group(
    "instruments",
    "Meters and how far they may be off",
    (
        Field("current", "Current, of reading", "fraction", "0.5 %"),
        Field("current_floor", "Current, plus", "current", "0.5 A"),
        Field("voltage", "Voltage, of reading", "fraction", "0.1 %"),
        Field("voltage_floor", "Voltage, plus", "voltage", "10 mV"),
        Field("time", "Time", "duration", "1 s"),
        Field("temperature", "Temperature", "temperature_difference", "1 delta_degC"),
    ),
    rows="named",
    one="meter",
    first={"current": "0.5 %"},
)
DISCHARGES = Group(
    "capacity_test",
    "Full discharges",
    (
        Field("log", "From a log", FILE, "instead of the figures", folder="logs"),
        Field("current", "Current", "current", "20 A"),
        Field("power", "or power", "power", "250 W"),
        Field("duration", "Ran for", "duration", "5 h 10 min"),
        Field("charge", "Charge", "charge", "103.4 Ah"),
        Field("energy", "Energy", "energy", "1341 Wh"),
        Field("cutoff_voltage", "Down to", "voltage", "10.0 V"),
        Field("ended_by", "Ended because", CHOICE, options=DISCHARGE_ENDINGS, words=ENDED),
        CELLS,
        INSTRUMENT,
        RESTED,
        CELL_VOLTS,
    ),
    (
        Grid(
            "curve",
            "Volts on the way",
            (Field("0", "Charge taken", "charge", "10 Ah"), Field("1", "Volts", "voltage", "13.1 V")),
            ["0 Ah", "13.3 V"],
            pairs=True,
        ),
    ),
    rows="list",
    one="discharge",
    first={"cutoff_voltage": "10.0 V"},
)
CURRENTS = Group(
    "current_test",
    "Currents held, and where it opened",
    (
        Field("kind", "What was done", CHOICE, options=("hold", "ramp"),
              words=MappingProxyType({"hold": "held a current", "ramp": "raised it until it opened"})),
        Field("current", "Current", "current", "120 A"),
        Field("duration", "Held for", "duration", "25 min", when=("kind", ("hold",))),
        Field("rate", "Raised by", "current_rate", "15 A/s", when=("kind", ("ramp",))),
        Field("ended_by", "Ended because", CHOICE, options=ENDINGS, words=ENDED),
        Field("recovery", "Came back", CHOICE, options=RECOVERIES),
        CELLS,
        CHARGE_THEN,
        INSTRUMENT,
        Field("terminal_start", "Terminals before", "temperature", "25 °C"),
        Field("terminal_end", "Terminals after", "temperature", "61 °C"),
        *VOLTS,
        CELL_VOLTS,
    ),
    rows="list",
    one="test",
    first={"kind": "hold"},
)  # fmt: skip
STEPS = Group(
    "step_test",
    "Current steps (resistance)",
    (
        Field("from_current", "Current before", "current", "15 A"),
        Field("to_current", "Current after", "current", "75 A"),
        Field("from_voltage", "Volts before", "voltage", "13.102 V"),
        Field("to_voltage", "Volts after", "voltage", "12.934 V"),
        Field("after", "Read after", "duration", "10 s"),
        CHARGE_THEN,
        CELLS,
        INSTRUMENT,
    ),
    rows="list",
    one="step",
    first={"after": "10 s"},
)
COLD = Group(
    "cold_charge_test",
    "Charging in the cold",
    (
        Field("direction", "Cells were", CHOICE, options=("cooling", "warming")),
        Field("cell_temperature", "Cells at", "temperature", "-0.5 °C"),
        Field("charging", "Charging was", CHOICE, options=("blocked", "accepted")),
        Field("soak", "Left at that for", "duration", "18 h"),
        INSTRUMENT,
    ),
    rows="list",
    one="test",
    first={"direction": "cooling"},
)
TERMINALS = Group(
    "terminal_test",
    "How warm the terminals get",
    (
        Field("current", "Current", "current", "90 A"),
        Field("ambient", "Air around", "temperature", "25 °C"),
        INSTRUMENT,
    ),
    (
        Grid(
            "readings",
            "Readings",
            (Field("0", "After", "duration", "3 min"), Field("1", "Terminal at", "temperature", "32 °C")),
            ["5 min", "30 degC"],
            pairs=True,
        ),
    ),
    rows="list",
    one="test",
    first={"ambient": "25 degC"},
)
CHARGES = Group(
    "charge_test",
    "Full charges",
    (
        Field("charger_voltage", "Charger set to", "voltage", "14.4 V"),
        Field("current", "Current", "current", "20 A"),
        Field("charge", "Charge taken in", "charge", "102.4 Ah"),
        Field("ended_by", "Ended because", CHOICE, options=CHARGE_ENDINGS, words=ENDED),
        CELLS,
        INSTRUMENT,
    ),
    rows="list",
    one="charge",
    first={"charger_voltage": "14.4 V"},
)
STORAGE = Group(
    "storage",
    "Standing unused",
    (
        Field("sleep_current", "Own draw", "current", "7.5 mA"),
        Field("self_discharge", "Lost in 30 days", "fraction", "2 %"),
    ),
)
TEARDOWN = Group(
    "teardown",
    "Opened up",
    (
        Field("positive_lead", "Lead of the plus pole", "area", "AWG 2"),
        Field("negative_lead", "Lead of the minus pole", "area", "AWG 2"),
        Field("insulation", "Insulation is made for", "temperature", "150 °C"),
        Field("temperature_sensor", "Has a sensor on the cells", FLAG),
        Field("surge_suppressor", "Has a surge suppressor", FLAG),
        Field("notes", "Notes", LONG_TEXT),
    ),
)
FORM = (THE_UNIT, CLAIMS, METERS, DISCHARGES, CURRENTS, STEPS, COLD, TERMINALS, CHARGES, STORAGE, TEARDOWN)
