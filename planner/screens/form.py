"""What an editor offers for each kind of profile: groups of fields and small tables, in the order they are asked.

Data only: the readers alone decide what is valid.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

# besides the kinds of quantity of planner.units
TEXT, LONG_TEXT, NUMBER, WHOLE, FLAG, DATE = "text", "long text", "number", "whole", "flag", "date"
CHOICE, CHOICES, FILE, FILES, WHOLES = "choice", "choices", "file", "files", "wholes"
# units that people write, for the heads; the readers take more
HEAD_UNITS = MappingProxyType(
    {
        "current": "A",
        "current_rate": "A/s",
        "voltage": "V",
        "resistance": "mΩ or Ω",
        "power": "W",
        "energy": "Wh",
        "charge": "Ah",
        "duration": "h, min, s",
        "temperature": "°C or °F",
        "temperature_difference": "°C or °F apart",
        "mass": "kg or lb",
        "length": "m, ft, km, mi",
        "area": "mm² or AWG",
        "speed": "km/h, mph, kn",
        "fraction": "%",
        "thermal_conductance": "W/K",
        "heat_capacity": "J/K",
        "angle": "deg",
        "force": "N or lbf",
        "capacitance": "uF",
    }
)


@dataclass(frozen=True, slots=True)
class Field:
    """One key. kind : a kind of quantity, "list of" one, or one of the words above.

    key : dotted below its table. options : of a choice. words : what an option is called. folder : where a file is
    looked for. names : of a choice, the tables by name that it chooses among. when : another key of the table and
    the values for which this one is asked.
    """

    key: str
    label: str
    kind: str = TEXT
    hint: str = ""
    options: tuple[str, ...] = ()
    words: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    folder: str = ""
    names: str = ""
    when: tuple[str, tuple[str, ...]] | None = None

    @property
    def head(self) -> str:
        """Label with the units that are accepted."""
        units = HEAD_UNITS.get(self.kind.removeprefix("list of "))
        return self.label if units is None else f"{self.label} ({units})"


@dataclass(frozen=True, slots=True)
class Grid:
    """A list of rows below a table. pairs : each row is a list, not a table. first : a new row."""

    key: str
    title: str
    columns: tuple[Field, ...]
    first: Any
    pairs: bool = False
    when: tuple[str, tuple[str, ...]] | None = None
    heads: tuple[str, ...] = ()  # what each row is, where their number is fixed
    none: str = ""  # what it means that there is no row


@dataclass(frozen=True, slots=True)
class Group:
    """One table of the file, a list of them, or tables by name.

    key : "" for the top. rows : "one" | "list" | "named". first : a new row's values. one : what a row is called.
    """

    key: str
    title: str
    fields: tuple[Field, ...]
    grids: tuple[Grid, ...] = ()
    rows: str = "one"
    one: str = ""
    first: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))
    help: str = ""


def is_asked(entry: Field | Grid, table: Mapping[str, Any]) -> bool:
    """Whether it goes with the table: where its condition holds."""
    return entry.when is None or table.get(entry.when[0]) in entry.when[1]


EVIDENCE_WORDS = MappingProxyType(
    {
        "measured": "measured with a meter",
        "logged": "logged",
        "stated": "told by the buyer",
        "handbook": "from a handbook",
        "claimed": "from a label or seller",
    }
)
EVIDENCE = Field("evidence", "How it is known", CHOICE, options=tuple(EVIDENCE_WORDS), words=EVIDENCE_WORDS)
