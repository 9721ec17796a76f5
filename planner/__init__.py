"""Whether a tested battery fits a need: the public functions. They load on first use, so importing is quick."""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from planner.outing.reader import read_outing
    from planner.record.reader import read_record
    from planner.verdict.assess import assess
    from planner.winter.reader import read_climate

__version__ = "0.1.0"
__all__ = ["assess", "read_climate", "read_outing", "read_record"]

_HOME = {
    "assess": "planner.verdict.assess",
    "read_climate": "planner.winter.reader",
    "read_outing": "planner.outing.reader",
    "read_record": "planner.record.reader",
}


def __getattr__(name: str) -> Any:
    """A public function, from the module that defines it."""
    if name not in _HOME:
        raise AttributeError(f"module 'planner' has no attribute {name!r}")
    return getattr(importlib.import_module(_HOME[name]), name)


def __dir__() -> list[str]:
    return sorted([*globals(), *__all__])
