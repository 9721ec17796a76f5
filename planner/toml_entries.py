"""Raw values of a TOML file to checked ones. What is wrong is noted, not raised."""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from planner import units
from planner.errors import Problem

ABOVE_ZERO = math.ulp(0.0)  # as a lower limit: the smallest float above 0, so zero itself is refused

Limits = tuple[float, float]
NO_LIMITS: Limits = (-math.inf, math.inf)


@dataclass(slots=True)
class Findings:
    """What was found in one file so far.

    file : its name in messages. folder : where relative paths start; None when it names no files.
    files : files named in it, in order of mention. named : what an upload may name, by the last part of the name
    as written; when given, no other file is looked for, so that a stranger's text never reaches into a folder.
    """

    file: str
    folder: Path | None
    problems: list[Problem] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    files: list[Path] = field(default_factory=list)
    named: Mapping[str, Path] | None = None

    def note(self, place: str, value: object, allowed: str, fix: str) -> None:
        """Note a problem of the key at a dotted place ("" for the file); what was refused is not absent too."""
        if value == "absent" and any(place == problem.key for problem in self.problems):
            return
        self.problems.append(Problem(self.file, place or "(file)", shown(value), allowed, fix))

    def quantity(self, place: str, value: object, kind: str, limits: Limits) -> float | None:
        """A quantity text as an SI float inside the limits, or None with a problem noted."""
        if not isinstance(value, str):
            fix = f'Write a text such as "{units.example(kind)}".'
            if isinstance(value, (int, float)) and not isinstance(value, bool):
                fix = units.unit_missing(value, shown(value), kind)
            self.note(place, value, units.accepted_form(kind), fix)
            return None
        try:
            found = units.to_si(value, kind)
        except units.UnitError as error:
            self.note(place, value if value.strip() else '""', error.allowed, error.fix)
            return None
        if not (limits[0] <= found <= limits[1]):
            allowed = _range_text(limits, lambda si: _limit_text(si, value, kind))
            self.note(place, value, allowed, "Check the number and its unit.")
            return None
        return found

    def number(self, place: str, value: object, limits: Limits, whole: bool) -> float | None:
        """A plain number as a float inside the limits, or None with a problem noted."""
        allowed = ("a whole number, " if whole else "a number, ") + _range_text(limits, lambda x: f"{x:g}")
        if isinstance(value, bool) or not isinstance(value, int if whole else (int, float)):
            fix = "Write the number without quotes." if isinstance(value, str) else "Write a number."
            self.note(place, value, allowed, fix)
            return None
        # A whole number of 400 digits is legal TOML and overflows float(); NaN fails the comparison.
        if not (abs(value) < 1e300 and limits[0] <= value <= limits[1]):
            self.note(place, value, allowed, "Check the number.")
            return None
        return float(value)

    def choice(self, place: str, value: object, options: Sequence[str]) -> str | None:
        """One of a few words, or None with a problem noted."""
        if isinstance(value, str) and value in options:
            return value
        near = difflib.get_close_matches(str(value)[:80], options, n=1)
        fix = f'Did you mean "{near[0]}"?' if near else "Write one of these words in quotes."
        self.note(place, value, " | ".join(options), fix)
        return None

    def path(self, place: str, value: object) -> Path | None:
        """An existing file, added to `files`, or None with a problem noted."""
        allowed = "the path of a file, from this file's folder"
        if not isinstance(value, str) or not value.strip():
            self.note(place, value, allowed, "Write the path in quotes.")
            return None
        if self.named is not None:
            return self._uploaded(place, value, self.named)
        if self.folder is None:
            fix = "Save both files in one folder and open them from there."
            self.note(place, value, "no file names in an upload", fix)
            return None
        path = self.folder / value
        if not is_there(path):
            self.note(place, value, allowed, "There is no such file: check the path and its spelling.")
            return None
        self.files.append(path)
        return path

    def _uploaded(self, place: str, value: str, named: Mapping[str, Path]) -> Path | None:
        """The file uploaded under the last part of a name, or None with a problem noted."""
        name = value.replace("\\", "/").rsplit("/", 1)[-1]
        if name not in named:
            self.note(place, value, "a file uploaded beside this one", f"Upload {shown(name)} as well.")
            return None
        self.files.append(named[name])
        return named[name]


def is_there(path: Path) -> bool:
    """Whether a path as people type it leads to a file; one too long for the system leads nowhere."""
    try:
        return path.is_file()
    except OSError:
        return False


def shown(value: object) -> str:
    """A raw TOML value for a message: as typed where it is short, else what it is."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return f"a list of {len(value)} entries"
    if isinstance(value, int) and abs(value) > 10**40:
        return "a number of more than 40 digits"
    text = str(value)
    return text if len(text) <= 60 else text[:60] + "…"


def _limit_text(si: float, typed: str, kind: str) -> str:
    """A limit in the unit the user typed, so that the two can be compared."""
    if si == ABOVE_ZERO:
        si = 0.0
    try:
        unit = units.split_quantity(typed, kind)[1]
    except units.UnitError:  # "5 h 10 min", "AWG 4": several parts, or no number first
        unit = units.accepted_units(kind)[0]
    return f"{units.from_si(si, unit):g} {unit}"


def _range_text(limits: Limits, show: Callable[[float], str]) -> str:
    low, high = limits
    parts = []
    if low == ABOVE_ZERO:
        parts.append(f"above {show(0.0)}")
    elif low > -math.inf:
        parts.append(f"from {show(low)}")
    if high < math.inf:
        parts.append(f"up to {show(high)}")
    return " ".join(parts) or "any finite value"
