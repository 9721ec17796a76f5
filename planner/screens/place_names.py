"""What the tables of a file are called on a page, and which editor holds them."""

from __future__ import annotations

import re

from planner.screens.state import BATTERY, CLIMATE, OUTING

PLACES = {
    "capacity_test": (BATTERY, "full discharge"),
    "current_test": (BATTERY, "current held"),
    "step_test": (BATTERY, "current step"),
    "terminal_test": (BATTERY, "terminal readings"),
    "cold_charge_test": (BATTERY, "charging in the cold"),
    "charge_test": (BATTERY, "charge"),
    "load": (OUTING, "what runs"),
    "get_home": (OUTING, "way home"),
    "wiring": (OUTING, "cable and fuse"),
    "bank": (OUTING, "several units"),
    "reserve": (OUTING, "reserve"),
    "climate": (CLIMATE, "the climate"),
}
_NUMBERED = re.compile(rf"\b({'|'.join(PLACES)})\.(\d+)\b")
_KEY = re.compile(r" \([a-z]+(?:_[a-z]+)+\)")  # a file's key beside what it means: the page has a field for it


def named(text: str) -> str:
    """A sentence with the names of the page in place of those of the file: "full discharge 1" for "capacity_test.1"."""
    return _KEY.sub("", _NUMBERED.sub(lambda found: f"{PLACES[found[1]][1]} {found[2]}", text))
