"""What the tables of a file are called to a reader, where only the file itself needs their keys."""

from __future__ import annotations

import re

ENTRY_NAMES = {
    "capacity_test": "full discharge",
    "current_test": "current held",
    "step_test": "current step",
    "terminal_test": "terminal readings",
    "cold_charge_test": "charging in the cold",
    "charge_test": "charge",
    "load": "load",
    "get_home": "way home",
    "wiring": "cable and fuse",
    "bank": "several units",
    "reserve": "reserve",
    "climate": "the climate",
}
_NUMBERED = re.compile(rf"\b({'|'.join(ENTRY_NAMES)})\.(\d+)((?:\.[a-z_]+)?)\b")
_KEY = re.compile(r" \([a-z]+(?:_[a-z]+)+\)")  # a file's key beside what it means


def entry_named(text: str) -> str:
    """A text with names in place of a file's keys: "full discharge 1" for "capacity_test.1"."""
    return _KEY.sub("", _NUMBERED.sub(_name, text)).replace("get_home", ENTRY_NAMES["get_home"])


def _name(found: re.Match[str]) -> str:
    key = found[3].removeprefix(".").replace("_", " ")
    return f"{ENTRY_NAMES[found[1]]} {found[2]}" + (f", {key}" if key else "")
