"""The editor of a climate: where the battery lives, what the months are like, how it is charged and used."""

from __future__ import annotations

from types import MappingProxyType

from planner.explain.words import MONTHS
from planner.screens.form import CHOICE, FILE, NUMBER, WHOLE, WHOLES, Field, Grid, Group
from planner.winter.schema import CHARGE_KINDS, HEATER_FEEDS, PLACES

KIND_WORDS = MappingProxyType(
    {"shore": "mains charger", "alternator": "from the engine, through a charger", "solar": "solar panel"}
)
SOLAR, NOT_SOLAR = ("kind", ("solar",)), ("kind", ("shore", "alternator"))
HOURS = (
    Field("from", "From (hour of the day)", "duration", "9 h"),
    Field("until", "Until (hour of the day)", "duration", "15 h"),
    Field("months", "In the months", WHOLES, "11, 12, 1; left out: all year"),
)

FORM = (
    Group(
        "",
        "The place",
        (
            Field("name", "Name"),
            Field("place", "Where the battery is", CHOICE, options=PLACES),
            Field("start_charge", "Charge at the start of the year", "fraction", "100 %"),
            Field("use_per_day", "Use per day", "charge", "18 Ah"),
            Field("weather", "Weather file", FILE, folder="weather"),
            Field("sun_hours", "Full-sun hours a day, one a month", "list of duration", "2.5 h, 3 h, …"),
            Field("latitude", "Latitude (degrees, south negative)", NUMBER, "46.0"),
            # no answer depends on it, so it is asked of nobody; a file that holds it keeps it, and shows it
            Field("longitude", "Longitude (no answer depends on it)", NUMBER, when=("longitude", ())),
            Field("thermal_conductance", "Heat that passes per degree", "thermal_conductance", "2.2 W/K"),
            Field("heat_capacity", "Heat the battery holds", "heat_capacity", "11200 J/K"),
        ),
        (
            Grid(
                "monthly",
                "The months (leave out beside a weather file)",
                (
                    Field("0", "Mean", "temperature", "-10 °C"),
                    Field("1", "Coldest to warmest hour", "temperature_difference", "10 delta_degC"),
                ),
                ["10 degC", "10 delta_degC"],
                pairs=True,
                heads=MONTHS,
            ),
        ),
    ),
    Group(
        "charge",
        "What charges it",
        (
            Field("kind", "What it is", CHOICE, options=CHARGE_KINDS, words=KIND_WORDS),
            Field("current", "Current", "current", "10 A", when=NOT_SOLAR),
            Field("peak_power", "Panel’s rated power", "power", "100 W", when=SOLAR),
            Field("tilt", "Tilt from level", "angle", "30 deg", when=SOLAR),
            Field("azimuth", "Faces (from north over east)", "angle", "180 deg", when=SOLAR),
            Field("controller_current", "Controller’s limit", "current", "20 A", when=SOLAR),
            *HOURS,
            Field("days_per_week", "Days a week", WHOLE, "7"),
        ),
        rows="list",
        one="charger",
        first={"kind": "shore", "current": "10 A", "from": "9 h", "until": "15 h"},
    ),
    Group(
        "use",
        "What it feeds",
        (Field("current", "Current", "current", "1 A"), *HOURS),
        rows="list",
        one="use",
        first={"current": "1 A", "from": "0 h", "until": "24 h"},
    ),
    Group(
        "heated",
        "Hours in a warm place",
        (Field("air", "Air at least", "temperature", "18 °C"), *HOURS),
        rows="list",
        one="warm time",
        first={"air": "18 degC", "from": "8 h", "until": "17 h"},
    ),
    Group(
        "standing",
        "Left alone",
        (
            Field("from_charge", "From", "fraction", "60 %"),
            Field("to_charge", "Down to", "fraction", "10 %"),
            Field("parasite", "What stays connected draws", "current", "35 mA"),
        ),
    ),
    Group(
        "indoors",
        "Brought in from the cold",
        (
            Field("air", "Air there", "temperature", "15 °C"),
            Field("humidity", "Its humidity", "fraction", "60 %"),
        ),
    ),
    Group(
        "heater",
        "Heater on the battery",
        (
            Field("power", "Power", "power", "40 W"),
            Field("target", "On below", "temperature", "5 °C"),
            Field("off_above", "Off above", "temperature", "8 °C"),
            Field("fed_by", "Fed by", CHOICE, options=HEATER_FEEDS),
        ),
    ),
)
