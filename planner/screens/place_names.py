"""Which editor holds a table of a file."""

from __future__ import annotations

from planner.screens.state import BATTERY, CLIMATE, OUTING

EDITORS = {
    "capacity_test": BATTERY,
    "current_test": BATTERY,
    "step_test": BATTERY,
    "terminal_test": BATTERY,
    "cold_charge_test": BATTERY,
    "charge_test": BATTERY,
    "load": OUTING,
    "get_home": OUTING,
    "wiring": OUTING,
    "bank": OUTING,
    "reserve": OUTING,
    "climate": CLIMATE,
}
