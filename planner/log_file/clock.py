"""Clock times as loggers write them, in seconds. A date that can be read two ways is never guessed."""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence

from planner.constants import SECONDS_PER_HOUR, SECONDS_PER_MINUTE

_ISO = re.compile(
    r"^\d{4}([-/])\d{2}\1\d{2}[T ]\d{2}:\d{2}(?::\d{2}(?:[.,]\d{1,9})?)?\s?(Z|[+-]\d{2}:?\d{2})?$"
)
_SLASHED = re.compile(r"^(\d{1,2})[/.-](\d{1,2})[/.-](\d{4})[ T](\d{1,2}:\d{2}:\d{2}(?:\.\d{1,6})?)$")
_DATE = re.compile(r"^(\d{4}([-/])\d{2}\2\d{2}|\d{1,2}[/.-]\d{1,2}[/.-]\d{4})$")
_HMS = re.compile(r"^(\d{1,4}):([0-5]\d):([0-5]\d(?:\.\d{1,9})?)$")
_EPOCH = datetime.datetime(1970, 1, 1, tzinfo=datetime.UTC)
_NUMBER = re.compile(r"^[+-]?[\d.,]+([eE][+-]?\d+)?$")
MONTHS_IN_YEAR = 12
ACCEPTED = "seconds, or a clock time such as 2026-03-14 09:58:00, 14/03/2026 09:58:00 or 09:58:00"
MENDING = "Export the log with such times: 24 hours and no AM or PM, with seconds, the year in four digits."


def clock_kind(cells: Sequence[object]) -> str | None:
    """How these cells write a clock time.

    Returns "iso", "iso with zone", "h:m:s", "day first", "month first", "either order" when
    the dates leave both open,
    or None when they are no clock times. Year, month, day (ISO 8601-1:2019, slashes allowed) has one reading.
    """
    texts = [_text(cell) for cell in cells]
    texts = [text for text in texts if text]
    if not texts:
        return None
    iso = [_ISO.match(text) for text in texts]
    if all(iso):
        zones = {bool(match and match.group(2)) for match in iso}
        return "iso with zone" if zones == {True} else "iso"
    if all(_HMS.match(text) for text in texts):
        return "h:m:s"
    dates = [_SLASHED.match(text) for text in texts]
    if not all(dates):
        return None
    firsts = [int(match.group(1)) for match in dates if match]
    seconds = [int(match.group(2)) for match in dates if match]
    if max(firsts) > MONTHS_IN_YEAR >= max(seconds):
        return "day first"
    if max(seconds) > MONTHS_IN_YEAR >= max(firsts):
        return "month first"
    return "either order"


def unread_clock(cells: Sequence[object]) -> str | None:
    """The first of these cells where it is neither a number nor a clock time that is read here; else None."""
    text = next((text for text in map(_text, cells) if text), None)
    return None if text is None or _NUMBER.match(text) or clock_kind(cells) else text


def are_dates(cells: Sequence[object]) -> bool:
    """Whether these cells hold dates without a time, in any order of day and month."""
    texts = [_date_text(cell) for cell in cells if _text(cell)]
    return bool(texts) and all(_DATE.match(text) for text in texts)


def clock_cell(cells: Sequence[object], place: int, date_place: int | None) -> object:
    """The clock time of a row: its cell, or the date of another cell and the time of this one."""
    if date_place is None:
        return cells[place]
    time = _text(cells[place])
    return f"{_date_text(cells[date_place])} {time if time[1:2] != ':' else f'0{time}'}"


def clock_seconds(cell: object, kind: str) -> float:
    """Seconds of one clock time since an origin that is the same for the whole column.

    Raises ValueError for a cell that is not written in this way.
    """
    text = _text(cell)
    if kind.startswith("iso"):
        match = _ISO.match(text)
        if not match or bool(match.group(2)) != (kind == "iso with zone"):
            raise ValueError(text)  # with a zone and without cannot be compared
        # Python 3.11 reads at most six decimals exactly; more are cut by it, and a log does not need them.
        return _since_epoch(datetime.datetime.fromisoformat(text.replace(" Z", "Z").replace("/", "-")))
    if kind == "h:m:s":
        match = _HMS.match(text)
        if not match:
            raise ValueError(text)
        return (
            int(match.group(1)) * SECONDS_PER_HOUR
            + int(match.group(2)) * SECONDS_PER_MINUTE
            + float(match.group(3))
        )
    match = _SLASHED.match(text)
    if not match:
        raise ValueError(text)
    day, month = (1, 2) if kind == "day first" else (2, 1)
    hour, minute, second = match.group(4).split(":")
    whole = datetime.datetime(
        int(match.group(3)), int(match.group(month)), int(match.group(day)), int(hour), int(minute)
    )
    return _since_epoch(whole) + float(second)


def _since_epoch(moment: datetime.datetime) -> float:
    # A clock without a zone is taken as it stands; only differences are used.
    aware = moment if moment.tzinfo else moment.replace(tzinfo=datetime.UTC)
    return (aware - _EPOCH).total_seconds()


def _date_text(cell: object) -> str:
    """A date as text; a spreadsheet holds it as midnight of that day."""
    midnight = isinstance(cell, datetime.datetime) and cell.time() == datetime.time()
    return _text(cell)[:10] if midnight else _text(cell)


def _text(cell: object) -> str:
    """A cell as text; a spreadsheet's own date and time types in the unambiguous spelling."""
    if isinstance(cell, datetime.datetime):
        return cell.isoformat(sep=" ", timespec="microseconds")
    if isinstance(cell, datetime.time):
        return cell.isoformat(timespec="microseconds")
    return "" if cell is None else str(cell).strip()
