"""The meters of a record, and what every kind of test may state about itself."""

from __future__ import annotations

from planner.constants import ZERO_CELSIUS_K
from planner.other_scale import other_scale
from planner.record.schema import Instrument, TestConditions
from planner.toml_table import Table

COLDEST_K = ZERO_CELSIUS_K - 60.0  # below any bench and any outing
HOTTEST_K = ZERO_CELSIUS_K + 100.0  # cells hotter than this are a fire, not a test
TERMINAL_HOTTEST_K = ZERO_CELSIUS_K + 300.0  # solder has melted
ROOM_K = ZERO_CELSIUS_K + 25.0  # taken when a test states no temperature, with a warning

HIGHEST_UNIT_V = 20.0  # a 12 V unit with its charger; above this another battery or a slip of the point
LOWEST_UNIT_V = 5.0  # four cells below 1.3 V each: opened or dead
MAX_CURRENT_A = 10_000.0  # a short circuit of the largest unit
MAX_TIME_S = 366.0 * 86_400.0
WORST_GAIN = 0.5  # an instrument wrong by half measures nothing

# What a test needs of its meter: the field of Instrument, its name, and the prior taken without it.
METER_NEEDS = {
    "current": ("current_gain", "limits of error taken as 3 % + 1 A, handbook"),
    "voltage": ("voltage_gain", "limit of error taken as 0.5 % of the voltage, handbook"),
    "temperature": ("temperature_k", "limit of error taken as 1 K, handbook"),
}


def read_instruments(top: Table) -> dict[str, Instrument]:
    """The meters under [instruments.NAME], by name. Limits of error, rectangular."""
    return {
        name: Instrument(
            name=name,
            current_gain=table.quantity("current", "fraction", low=0.0, high=WORST_GAIN),
            current_floor_a=table.quantity("current_floor", "current", low=0.0, high=1_000.0, default=0.0),
            voltage_gain=table.quantity("voltage", "fraction", low=0.0, high=WORST_GAIN),
            voltage_floor_v=table.quantity(
                "voltage_floor", "voltage", low=0.0, high=HIGHEST_UNIT_V, default=0.0
            ),
            time_s=table.quantity("time", "duration", low=0.0, high=3_600.0),
            temperature_k=table.quantity("temperature", "temperature_difference", low=0.0, high=30.0),
        )
        for name, table in top.named_tables("instruments").items()
    }


def read_conditions(
    table: Table,
    instruments: dict[str, Instrument],
    meter: str,
    *,
    temperature_key: str = "temperature",
    cell_k: float | None = None,
) -> TestConditions:
    """What a test states about meter, cells and charge.

    meter : the quantity its meter must be good at, a key of METER_NEEDS.
    cell_k : temperature of the cells known from elsewhere [K]; taken as stated where the test has none.
    Adds a warning for a meter or a temperature that has to be assumed.
    """
    stated_k = table.quantity(temperature_key, "temperature", low=COLDEST_K, high=HOTTEST_K)
    if stated_k is not None:
        table.warn_if(other_scale(temperature_key, stated_k))
    else:
        stated_k = cell_k
    if stated_k is None and not table.has(temperature_key):
        table.warn("no temperature of the cells stated: taken as 25 °C")
    return TestConditions(
        place=table.place,
        instrument=_instrument(table, instruments, meter),
        cell_k=ROOM_K if stated_k is None else stated_k,
        cell_k_stated=stated_k is not None,
        state_of_charge=table.quantity("state_of_charge", "fraction", low=0.0, high=1.0),
        # Zero is allowed: it is what a meter reads once the unit has opened.
        start_v=table.quantity("start_voltage", "voltage", low=0.0, high=HIGHEST_UNIT_V),
        end_v=table.quantity("end_voltage", "voltage", low=0.0, high=HIGHEST_UNIT_V),
        rest_s=table.quantity("rest", "duration", low=0.0, high=MAX_TIME_S),
        cell_voltages_v=table.quantity_list("cell_voltages", "voltage", low=0.0, high=5.0),
    )


def _instrument(table: Table, instruments: dict[str, Instrument], meter: str) -> Instrument | None:
    """The meter named, or None with a warning saying which prior stands in for it."""
    field, _ = METER_NEEDS[meter]
    if not table.has("instrument"):
        table.warn(assumed_of(None, meter))
        return None
    if not instruments:
        name = table.text("instrument")
        if name is not None:
            fix = f"Add [instruments.{name}] with its limits of error, or leave the key out."
            table.problem("instrument", name, "the name of a meter of this file", fix)
        return None
    found = table.choice("instrument", tuple(instruments))
    if found is None:
        return None
    if getattr(instruments[found], field) is None:
        table.warn(assumed_of(instruments[found], meter))
    return instruments[found]


def assumed_of(instrument: Instrument | None, meter: str) -> str:
    """What is taken for a meter that states no limit of error of that quantity; the same words wherever it is told."""
    prior = METER_NEEDS[meter][1]
    if instrument is None:
        return f"no meter named: {prior}"
    return f'the meter "{instrument.name}" states no limit of error of {meter}: {prior}'
