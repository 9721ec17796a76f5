"""Which column is the time, the voltage, the current, the temperature: by the unit its heading carries.

A heading without a unit, or two headings for one quantity, is a choice for the user and never guessed.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from planner.constants import SECONDS_PER_HOUR, SECONDS_PER_MINUTE, ZERO_CELSIUS_K
from planner.log_file.clock import ACCEPTED, MENDING, are_dates, clock_cell, clock_kind, unread_clock
from planner.log_file.columns import QUANTITIES, Column, Faults, LogChoices, Selection

FEWEST_HEADINGS = 2  # time and current, the least that a log has
LONGEST_QUOTED, MOST_QUOTED = 60, 40  # letters of a heading and headings that a message repeats
# unit -> (quantity, scale, offset): SI value = number·scale + offset. Fahrenheit: NIST SP 811 appendix B.8.
UNITS: dict[str, tuple[str, float, float]] = {
    "s": ("time", 1.0, 0.0),
    "ms": ("time", 1e-3, 0.0),
    "min": ("time", SECONDS_PER_MINUTE, 0.0),
    "h": ("time", SECONDS_PER_HOUR, 0.0),
    "V": ("voltage", 1.0, 0.0),
    "mV": ("voltage", 1e-3, 0.0),
    "A": ("current", 1.0, 0.0),
    "mA": ("current", 1e-3, 0.0),
    "°C": ("temperature", 1.0, ZERO_CELSIUS_K),
    "°F": ("temperature", 5.0 / 9.0, ZERO_CELSIUS_K - 32.0 * 5.0 / 9.0),
}
_BRACKETED = re.compile(r"^(.*?)\s*(?:\(([^()\[\]]*)\)|\[([^()\[\]]*)\])$", re.DOTALL)
_NUMBER = re.compile(r"^\s*[+-]?[\d.,]*\d[\d.,]*\s*$")
_DEGREE = re.compile(r"^(?:°|º|˚|deg\.?)\s*([CF])$")
_NAMES = {
    "time": re.compile(
        r"\b(time|timestamp|date|datetime|clock|elapsed|seconds|minutes|hours)\b|^(t|s|min|h|ms)$",
        re.IGNORECASE,
    ),
    "voltage": re.compile(r"\b(voltage|volts?|vbat)\b|^(u|v|mv)$", re.IGNORECASE),
    "current": re.compile(r"\b(current|amps?|amperes?|ibat)\b|^(i|a|ma)$", re.IGNORECASE),
    "temperature": re.compile(r"\b(temperature|temp)\b|^(t|°c|°f|degc|degf)$", re.IGNORECASE),
}


@dataclass(frozen=True, slots=True)
class _Heading:
    """One heading taken apart: what it says in words (named) and what its unit says (unit)."""

    place: int
    text: str
    named: frozenset[str]
    unit: str | None

    @property
    def quantity(self) -> str | None:
        """The quantity of its unit, unless the name contradicts it."""
        if self.unit not in UNITS:
            return None
        quantity = UNITS[self.unit][0]
        return quantity if not self.named or quantity in self.named else None

    def column(self) -> Column:
        """The column it heads, by its unit."""
        _, scale, offset = UNITS[self.unit or ""]
        return Column(self.place, self.text, scale, offset)


def normal_unit(text: str) -> str:
    """A unit in the spelling of UNITS: "deg C", "degC" and the look-alikes of the degree sign become "°C"."""
    text = text.strip().replace("℃", "°C").replace("℉", "°F")
    match = _DEGREE.match(text)
    return f"°{match.group(1)}" if match else text


def split_heading(text: str) -> tuple[str, str | None]:
    """Name and unit of a heading such as "Time (s)" or "Current [mA]"; unit None when there is no bracket."""
    match = _BRACKETED.match(text.strip())
    if not match:
        return text.strip(), None
    return match.group(1).strip(), normal_unit(match.group(2) or match.group(3) or "")


def is_unit_row(cells: Sequence[object]) -> bool:
    """Whether a row holds units only: at least one known unit, and no number among the rest."""
    texts = [str(cell).strip() for cell in cells if cell is not None and str(cell).strip()]
    units = [normal_unit(text.strip("()[] ")) for text in texts]
    return any(unit in UNITS for unit in units) and not any(any(c.isdigit() for c in text) for text in texts)


def heading_row(rows: Sequence[Sequence[str]]) -> int:
    """Which of the first rows holds the headings: the one that speaks of most quantities.

    A logger may write a title, its settings and its serial number above them. The first row, unless another speaks of
    two quantities at least and holds no number: a setting such as "Start time" is not taken for them, nor a row of data
    with a remark.
    """
    told = [0 if at and (is_unit_row(row) or any(map(_NUMBER.match, row))) else recognised(row)
            for at, row in enumerate(rows)]  # fmt: skip
    most = max(told, default=0)
    return told.index(most) if most >= FEWEST_HEADINGS else 0


def recognised(headings: Sequence[str]) -> int:
    """How many headings speak of a quantity of a log: the measure for finding the delimiter."""
    return sum(bool(h.quantity or h.named) for h in _taken_apart(headings, ()))


def _taken_apart(headings: Sequence[str], units: Sequence[object]) -> list[_Heading]:
    parts = []
    for place, text in enumerate(headings):
        name, unit = split_heading(text)
        if unit is None and place < len(units) and units[place] is not None:
            unit = normal_unit(str(units[place]).strip("()[] ")) or None
        named = frozenset(q for q, pattern in _NAMES.items() if pattern.search(name))
        parts.append(_Heading(place, text.strip(), named, unit))
    return parts


def select_columns(
    path: Path,
    headings: Sequence[str],
    units: Sequence[object],
    sample: Sequence[Sequence[object]],
    choices: LogChoices,
) -> Selection:
    """The column of each quantity.

    headings : as in the file. units : the cells of a row of units, empty when there is none.
    sample : the first rows of data, from which a clock time is known.
    Raises InputRefused with every choice that is left to the user.
    """
    parts = _taken_apart(headings, units)
    faults = Faults(path)
    chosen: dict[str, Column] = {}
    warnings: list[str] = []
    for quantity in choices.columns:
        if quantity not in QUANTITIES:
            faults.add("columns", f'"{quantity}"', ", ".join(QUANTITIES), "Name one of these quantities.")
    for quantity in QUANTITIES:
        column = _one_column(quantity, parts, sample, choices, faults, warnings)
        if column is not None:
            chosen[quantity] = column
    if faults.count:
        faults.stop()
    return Selection(chosen, tuple(warnings))


def _one_column(
    quantity: str,
    parts: list[_Heading],
    sample: Sequence[Sequence[object]],
    choices: LogChoices,
    faults: Faults,
    warnings: list[str],
) -> Column | None:
    """The column of one quantity, None when there is none; faults and warnings are added to."""
    if quantity in choices.columns:
        return _as_told(quantity, choices.columns[quantity], parts, sample, choices, faults)
    good = [part for part in parts if part.quantity == quantity]
    doubtful = [part for part in parts if quantity in part.named and part.quantity is None]
    if quantity == "time" and choices.interval_s is not None:
        if good:
            either = "a time column or an interval, not both"
            faults.add("time", _quoted(good), either, "Leave the interval out.")
        return None
    if len(good) > 1:
        which = f'Say which one: {quantity} = "{good[0].text}", for instance.'
        faults.add(quantity, f"headed by {len(good)} columns: {_quoted(good)}", "one column", which)
        return None
    if good:
        if doubtful and quantity != "time":
            warnings.append(
                f"{_quoted(doubtful)} gives no usable unit and was left out; "
                f'"{good[0].text}" is the {quantity}.'
            )
        return good[0].column()
    if quantity == "time":
        clocks = _clocks(doubtful, sample)
        if len(clocks) == 1:
            return _of_a_clock(clocks[0], doubtful, sample, choices, faults)
        doubtful = clocks or doubtful
    if quantity in choices.required:
        unread = doubtful if quantity == "time" else []
        if not _unread_told([part for part in unread if not _is_date(part, sample)] or unread, sample, faults):
            _unsettled(quantity, doubtful, parts, faults)
    elif doubtful:
        warnings.append(f"{_quoted(doubtful)} gives no usable unit and was left out.")
    return None


def _clocks(doubtful: list[_Heading], sample: Sequence[Sequence[object]]) -> list[_Heading]:
    """Columns without a unit whose cells are times of day, and not only dates."""
    bare = [part for part in doubtful if part.unit is None]
    return [part for part in bare if not _is_date(part, sample) and _clock_of(part, sample)]


def _of_a_clock(
    clock: _Heading,
    doubtful: list[_Heading],
    sample: Sequence[Sequence[object]],
    choices: LogChoices,
    faults: Faults,
) -> Column | None:
    """The column of the one clock there is, beside the one column of dates where the clock has none."""
    dates = [part for part in doubtful if part.unit is None and _is_date(part, sample)]
    timed = _clock_of(clock, sample) == "h:m:s"
    date = dates[0] if timed and len(dates) == 1 else None
    return _clock_column(clock, date, sample, choices, faults)


def _as_told(
    quantity: str,
    told: str,
    parts: list[_Heading],
    sample: Sequence[Sequence[object]],
    choices: LogChoices,
    faults: Faults,
) -> Column | None:
    """The column the user named, by its whole heading or by heading and unit."""
    same = [part for part in parts if part.text == told.strip()]
    if not same:
        name, unit = split_heading(told)
        same = [_Heading(p.place, p.text, p.named, unit) for p in parts if p.text == name and p.unit is None]
    if len(same) == 1 and same[0].unit in UNITS and UNITS[same[0].unit or ""][0] == quantity:
        return same[0].column()
    if len(same) == 1 and quantity == "time" and same[0].unit is None and _clock_of(same[0], sample):
        return _clock_column(same[0], None, sample, choices, faults)
    if len(same) == 1 and quantity == "time" and _unread_told(same, sample, faults):
        return None
    if len(same) == 1:
        faults.add(
            quantity,
            f'"{told}"',
            f"a column in {_units_of(quantity)}",
            f"Give the unit with the heading: "
            f'{quantity} = "{split_heading(told)[0]} [{_first_unit(quantity)}]".',
        )
    elif same:
        faults.add(
            quantity,
            f'"{told}", which heads {len(same)} columns',
            "a heading that stands once",
            "Rename one of the columns in the file.",
        )
    else:
        faults.add(quantity, f'"{told}"', f"one of {_quoted(parts)}", "Spell the heading as the file does.")
    return None


def _unread_told(
    doubtful: Sequence[_Heading], sample: Sequence[Sequence[object]], faults: Faults
) -> bool:
    """Say which of these columns without a unit hold clock times that are not read; whether there was one."""
    unread = [(part, _unread(part, sample)) for part in doubtful if part.unit is None]
    for part, cell in unread:
        if cell is not None:
            faults.add("time", f'"{part.text}", which begins with "{cell[:40]}"', ACCEPTED, MENDING)
    return any(cell is not None for _, cell in unread)


def _unread(part: _Heading, sample: Sequence[Sequence[object]]) -> str | None:
    return unread_clock([row[part.place] for row in sample if part.place < len(row)])


def _unsettled(quantity: str, doubtful: list[_Heading], parts: list[_Heading], faults: Faults) -> None:
    """Say that a quantity cannot be settled: the candidates when there are any, all headings when not."""
    example = f"{quantity.capitalize()} ({_first_unit(quantity)})"
    if not doubtful:
        faults.add(
            quantity,
            f"not among the headings {_quoted(parts)}",
            f'a heading with unit, such as "{example}"',
            f"Give the {quantity} column a heading with its unit: {_units_of(quantity)}.",
        )
        return
    for part in doubtful:
        name = _short(split_heading(part.text)[0])
        if part.unit is None:
            offers = " or ".join(f'"{name} [{unit}]"' for unit, (q, _, _) in UNITS.items() if q == quantity)
            faults.add(
                quantity,
                f'"{part.text}", which gives no unit',
                _units_of(quantity),
                f"Say which is meant: {quantity} = {offers}; or put the unit into the heading.",
            )
        else:
            faults.add(
                quantity,
                f'"{part.text}", whose unit "{part.unit}" is none of a {quantity}',
                _units_of(quantity),
                f'If the heading is wrong, write "{example}"; if the column is '
                f"another quantity, add the {quantity} column.",
            )


def _clock_of(part: _Heading, sample: Sequence[Sequence[object]]) -> str | None:
    """How the first cells of a column write a clock time; None when they are something else."""
    cells = [row[part.place] for row in sample if part.place < len(row)]
    return clock_kind(cells)


def _is_date(part: _Heading, sample: Sequence[Sequence[object]]) -> bool:
    return are_dates([row[part.place] for row in sample if part.place < len(row)])


def _clock_column(
    part: _Heading,
    date: _Heading | None,
    sample: Sequence[Sequence[object]],
    choices: LogChoices,
    faults: Faults,
) -> Column | None:
    """The column of a clock time; date : the column of its date where it has one of its own."""
    place = None if date is None else date.place
    widest = max(part.place, part.place if place is None else place)
    cells = [clock_cell(row, part.place, place) for row in sample if widest < len(row)]
    heading = part.text if date is None else f"{date.text} + {part.text}"
    kind = clock_kind(cells)
    if kind != "either order":
        return Column(part.place, heading, clock=kind, date_place=place)
    if choices.date_order in ("day first", "month first"):
        return Column(part.place, heading, clock=choices.date_order, date_place=place)
    cell = str(cells[0]).strip()
    first, second, rest = re.split(r"[/.-]", cell, maxsplit=2)
    year, _, clock = rest.partition(" ")
    day_first = f"{year}-{second:0>2}-{first:0>2} {clock}"
    month_first = f"{year}-{first:0>2}-{second:0>2} {clock}"
    readings = f"{day_first} (day first) or {month_first} (month first)"
    faults.add(
        f'"{heading}"',
        f'"{cell}", which can be read as {readings}',
        "one reading",
        'Say date_order = "day first" or "month first", or write dates as 2026-03-14.',
    )
    return None


def _quoted(parts: Sequence[_Heading]) -> str:
    told = [f'"{_short(part.text)}" (column {part.place + 1})' for part in parts[:MOST_QUOTED]]
    return ", ".join(told) + (f" and {len(parts) - MOST_QUOTED} more" if len(parts) > MOST_QUOTED else "")


def _short(text: str) -> str:
    """As much of a heading as helps to find it: where a file was not read as it was meant, all of it is one heading."""
    return text if len(text) <= LONGEST_QUOTED else text[:LONGEST_QUOTED] + "…"


def _units_of(quantity: str) -> str:
    return ", ".join(unit for unit, (q, _, _) in UNITS.items() if q == quantity)


def _first_unit(quantity: str) -> str:
    return next(unit for unit, (q, _, _) in UNITS.items() if q == quantity)
