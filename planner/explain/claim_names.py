"""What a label or seller claims, by names that a buyer reads."""

from __future__ import annotations

from planner.explain.words import exact_time

_NAMES = {
    "capacity": "Charge",
    "energy": "Energy",
    "continuous_current": "Current without a break",
    "charge_min_temperature": "Coldest cells for charging",
    "charge_max_temperature": "Warmest cells for charging",
    "charge_voltage": "Charging voltage",
    "charge_current": "Charging current",
    "charge_bands": "Charging current in temperature band",
    "discharge_min_temperature": "Coldest cells in use",
    "discharge_max_temperature": "Warmest cells in use",
}


def claim_name(key: str, duration_s: float | None) -> str:
    """Name of a claim by its key in the audit; a short high current by how long it is claimed for [s]."""
    table, _, number = key.partition(".")
    if table == "surges":
        return "Short current" if duration_s is None else f"Current for {exact_time(duration_s)}"
    return f"{_NAMES[table]} {number}".strip()
