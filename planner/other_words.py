"""What a reader may have meant by a key that does not exist: the trade's other words first, then the spelling."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

_LONGEST = 80  # of a key that is compared with others

# other words of the trade for the keys of a record and of an outing
OTHER_WORDS = {
    "current_test": ("hold", "hold_test", "surge", "surge_test", "pulse", "pulse_test", "ramp", "ramp_test", "trip",
                     "trip_test", "peak_test"),
    "capacity_test": ("capacity", "discharge", "discharge_test", "full_discharge"),
    "step_test": ("resistance", "resistance_test", "internal_resistance"),
    "cold_charge_test": ("cold_charge", "cold_test", "winter_test"),
    "charge_test": ("charging", "charging_test"),
    "terminal_test": ("heat_test", "terminal", "terminals", "thermal_test"),
    "teardown": ("inspection", "inside", "opened"),
    "instruments": ("meter", "meters"),
    "charge": ("capacity", "ah", "amp_hours", "discharged"),
    "capacity": ("charge", "ah", "amp_hours"),
    "energy": ("wh", "watt_hours"),
    "current": ("amps", "amperes", "draw"),
    "power": ("watts", "wattage"),
    "voltage": ("volts",),
    "duration": ("time", "hours", "minutes", "seconds"),
    "temperature": ("temp", "cell_temperature"),
    "cutoff_voltage": ("cutoff", "cut_off", "end_voltage", "stop_voltage"),
    "ambient": ("temperature", "temp", "air", "air_temperature"),
    "mass": ("weight",),
    "gauge": ("awg", "wire", "cable"),
    "length": ("run", "cable_length", "one_way"),
    "load": ("loads", "appliance", "motor", "device"),
}  # fmt: skip


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known key that a word stands for or is spelt like; None where nothing comes near."""
    keys = tuple(known)
    plain = word.strip().lower().replace("-", "_").replace(" ", "_")[:_LONGEST]
    for key, others in OTHER_WORDS.items():
        if key in keys and plain in others:
            return key
    near = difflib.get_close_matches(word[:_LONGEST], keys, n=1)
    return near[0] if near else None
