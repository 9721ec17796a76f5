"""Sentences of the audit: questions to the tester, each with both figures that disagree."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from planner.constants import COULOMB_PER_AH, JOULE_PER_WH, ZERO_CELSIUS_K
from planner.explain.words import exact_time

Parts = Mapping[str, Any]


def _ah(charge_c: float) -> str:
    return f"{charge_c / COULOMB_PER_AH:.1f} Ah"


def _amps(current_a: float) -> str:
    return f"{current_a:.4g} A"


def _celsius(kelvin: float) -> str:
    return f"{kelvin - ZERO_CELSIUS_K:.1f} °C"


QUESTIONS: Mapping[str, Callable[[Parts], str]] = {
    "held_and_tripped": lambda p: (
        f"One test held {_amps(p['held_a'])} for {exact_time(p['held_s'])}, another opened at {_amps(p['trip_a'])} after "
        f"{exact_time(p['trip_s'])}. Both cannot be so of one unit in one state. Which is right, or what was different?"
    ),
    "more_at_higher_current": lambda p: (
        f"{_ah(p['high_c'])} came out at {_amps(p['high_a'])}, only {_ah(p['low_c'])} at {_amps(p['low_a'])} and the same "
        f"temperature; the meters explain {_ah(p['u_c'])}. Was the unit full before the slower test?"
    ),
    "cold_or_fast": lambda p: (
        f"The discharge at {_celsius(p['cold_k'])} ran at {_amps(p['cold_a'])}, the warmer one at {_celsius(p['warm_k'])} at "
        f"{_amps(p['warm_a'])}: what the cold took and what the current took cannot be told apart. Is there a warm "
        "discharge at the cold one's current?"
    ),
    "implausible_voltage": lambda p: (
        f"{p['energy_j'] / JOULE_PER_WH:.1f} Wh from {_ah(p['charge_c'])} is {p['mean_v']:.2f} V on average, not what four "
        "LFP cells give. Which of the two figures is right?"
    ),
    "not_rested": lambda p: (
        f"The test began {exact_time(p['rest_s'])} after the one before it, not rested. Would it read the same after "
        "half an hour?"
    ),
    "still_hot": lambda p: (
        f"The cells were at {_celsius(p['cell_k'])} when the test began. Was the unit still hot from the test before?"
    ),
    "cells_apart": lambda p: (
        f"At the end cell {p['cell']} stood at {p['low_v']:.2f} V and the highest at {p['high_v']:.2f} V: the lowest cell "
        "ended the run, not the pack. Were the cells in balance before?"
    ),
    "cells_do_not_add_up": lambda p: (
        f"The cells add up to {p['sum_v']:.2f} V, the pack ended at {p['end_v']:.2f} V. Were they read at the same moment?"
    ),
}  # fmt: skip
