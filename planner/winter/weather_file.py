"""Reads weather files: EPW, TMY3 (.csv) and TMY2 (.tm2), through pvlib's readers.

Sources: EnergyPlus Auxiliary Programs, weather data dictionary (EPW: 35 fields, missing values);
Wilcox & Marion, NREL/TP-581-43156 (TMY3: missing -9900); Marion & Urban, NREL 1995 (TMY2: dry bulb and
wind in tenths). Missing direct or diffuse sun is set to 0, as the EnergyPlus reference program does.
pvlib and pandas are imported where they are used: a year of monthly means needs neither.
"""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from planner.constants import ZERO_CELSIUS_K
from planner.errors import InputRefused, Problem
from planner.log_file.replaced import unchanged
from planner.winter.calendar_year import DAYS_IN_MONTH, HOURS, HOURS_PER_DAY
from planner.winter.weather import Hourly, Sun, Weather

if TYPE_CHECKING:
    import pandas as pd

LARGEST_FILE = 20_000_000  # bytes; a year of EPW is about 1.6 MB
LEAP_HOURS = HOURS + HOURS_PER_DAY
LEAP_DAY_FIRST_HOUR = 59 * HOURS_PER_DAY  # 31 days of January and 28 of February before it
LONGEST_GAP_HOURS = 6  # bridged by a straight line; a longer one hides a night or a day (common practice, no source)
MOST_SUN_MISSING = 0.05  # share of hours; above it the year's sun is not usable (common practice, no source)
# Dry bulb -70 to 70 degC (EPW data dictionary); the missing marks 99.9 and -9900 lie outside.
AIR_RANGE_C = (-70.0, 70.0)
SUN_RANGE_W_M2 = (0.0, 2000.0)  # the solar constant is 1361; missing marks 9999 and -9900 lie outside
NIGHT_OFFSET_W_M2 = -100.0  # far below any sensor offset, far above the missing mark -9900
WIND_RANGE_M_PER_S = (0.0, 60.0)  # missing marks 999 and -9900 lie outside
FARTHEST_ZONE_H = 14.0  # from UTC, of any place (time zone database, from memory)
EPW_FIELDS = 35
EPW_HEADER_LINES = 8
TMY3_COLUMNS = ("Dry-bulb (C)", "GHI (W/m^2)", "DNI (W/m^2)", "DHI (W/m^2)")
TMY3_WIND = "Wspd (m/s)"
TMY3_TIME_COLUMNS = ("Date (MM/DD/YYYY)", "Time (HH:MM)")


def read_weather(path: Path) -> Weather:
    """The weather file at `path`, its kind told by its ending: .epw, .csv (TMY3) or .tm2.

    Raises InputRefused naming what is wrong: wrong ending, not such a file, too few or too many rows,
    rows out of calendar order, missing columns, dry bulb missing for more than 6 hours on end.
    """
    path = Path(path)
    readers = {".epw": _read_epw, ".csv": _read_tmy3, ".tm2": _read_tm2}
    reader = readers.get(path.suffix.lower())
    if reader is None:
        raise _refused(path.name, "(file)", path.suffix or "no ending", ".epw, .csv or .tm2", "Rename it.")
    try:
        with unchanged(path):  # one of the readers opens it again
            return reader(path, _text(path))
    except OSError as error:
        fix = "Check the path and its permissions."
        raise _refused(path.name, "(file)", error.strerror or "unreadable", "a readable file", fix) from error


def _text(path: Path) -> str:
    size = path.stat().st_size
    text = path.read_text(encoding="utf-8", errors="replace") if size <= LARGEST_FILE else ""
    if not text.strip() or "\0" in text:
        found = f"{size:,} bytes" if size > LARGEST_FILE else "not text" if text.strip() else "empty"
        allowed = f"a text file of at most {LARGEST_FILE // 1_000_000} MB"
        raise _refused(path.name, "(file)", found, allowed, "Choose a weather file.")
    return text.lstrip("\ufeff")


def _refused(file: str, key: str, value: str, allowed: str, fix: str) -> InputRefused:
    return InputRefused([Problem(file, key, value, allowed, fix)])


def _parsed(
    file: str, kind: str, read: Any, source: Any, **options: Any
) -> tuple[pd.DataFrame, dict[str, Any]]:
    """pvlib's reader on the source; what it trips over becomes a refusal naming the file."""
    try:
        table, meta = read(source, **options)
    except (ValueError, KeyError, IndexError, TypeError, AttributeError, OverflowError) as error:
        # TypeError and AttributeError: pvlib does arithmetic on columns that hold text in a broken file.
        # OverflowError: an infinite time zone.
        # What Python says of a line that is too short helps nobody.
        why = "a line is too short" if isinstance(error, IndexError) else str(error)[:120]
        fix = f"It is not a usable {kind} file: {why}."
        raise _refused(file, "(file)", "not readable", f"a complete {kind} file", fix) from error
    return table, meta


def _read_epw(path: Path, text: str) -> Weather:
    import pvlib

    lines = [line for line in text.splitlines() if line.strip()]
    head, rows = lines[:EPW_HEADER_LINES], lines[EPW_HEADER_LINES:]
    if not head[0].upper().startswith("LOCATION") or len(head) < EPW_HEADER_LINES:
        allowed = "8 header lines, the first LOCATION"
        raise _refused(path.name, "LOCATION", head[0][:40], allowed, "Choose an EPW file.")
    _check_row_count(path.name, len(rows))
    short = next((i for i, row in enumerate(rows, 1) if row.count(",") < EPW_FIELDS - 1), None)
    if short is not None:
        found = f"{rows[short - 1].count(',') + 1} columns in row {short}"
        fix = "Columns are missing; fetch the file again."
        raise _refused(path.name, "columns", found, f"{EPW_FIELDS} columns", fix)
    rows, warnings = _hours_1_to_24(path.name, rows)
    # A leap year for the stamps, which are not used, so that a 29 February can be read and dropped.
    source = io.StringIO("\n".join([*head, *rows]) + "\n")
    table, meta = _parsed(path.name, "EPW", pvlib.iotools.read_epw, source, coerce_year=2000)
    numbers = {name: _numbers(table[name]) for name in ("temp_air", "ghi", "dni", "dhi", "wind_speed")}
    days = np.column_stack([_numbers(table["month"]), _numbers(table["day"])])
    return _weather(path.name, numbers, days, meta, warnings)


def _hours_1_to_24(file: str, rows: list[str]) -> tuple[list[str], list[str]]:
    """Rows with the hour field running 1 to 24. Some writers stamp the beginning of the hour, 0 to 23."""
    hours = [row.split(",", 4)[3].strip() for row in rows]
    if not all(hour.isdecimal() for hour in hours):
        bad = next(i for i, hour in enumerate(hours) if not hour.isdecimal())
        raise _refused(file, f"row {bad + 1}, hour", hours[bad][:20], "1 to 24", "Mend or replace the file.")
    values = np.array([int(hour) for hour in hours])
    first = min(int(values[0]), 1)
    wrong = np.flatnonzero(values != np.arange(len(rows)) % HOURS_PER_DAY + first)
    if wrong.size:
        at = int(wrong[0])
        found = f"{values[at]} in row {at + 1}"
        allowed = f"{at % HOURS_PER_DAY + first} there, 1 to 24 every day in order"
        raise _refused(file, "hour", found, allowed, "Rows are missing, doubled or out of order.")
    if first == 1:
        return rows, []
    shifted = []
    for row, value in zip(rows, values, strict=True):
        year, month, day, _, rest = row.split(",", 4)
        shifted.append(f"{year},{month},{day},{value + 1},{rest}")
    return shifted, [f"{file}: hours run 0 to 23, not 1 to 24: taken as the beginning of each hour."]


def _read_tmy3(path: Path, text: str) -> Weather:
    import pvlib

    lines = text.splitlines()
    titles = lines[1].split(",") if len(lines) > 1 else []
    missing = [name for name in (*TMY3_TIME_COLUMNS, *TMY3_COLUMNS) if name not in titles]
    if missing:
        fix = "Choose a TMY3 .csv file with its two header lines, or an EPW file."
        raise _refused(path.name, "columns", f"no {', '.join(missing)}", "the columns of TMY3", fix)
    _check_row_count(path.name, sum(1 for line in lines[2:] if line.strip()))
    source = io.StringIO(text)
    table, meta = _parsed(path.name, "TMY3", pvlib.iotools.read_tmy3, source, map_variables=False)
    numbers = {
        "temp_air": _numbers(table["Dry-bulb (C)"]),
        "ghi": _numbers(table["GHI (W/m^2)"]),
        "dni": _numbers(table["DNI (W/m^2)"]),
        "dhi": _numbers(table["DHI (W/m^2)"]),
    }
    if TMY3_WIND in titles:
        numbers["wind_speed"] = _numbers(table[TMY3_WIND])
    stamps = [str(day) for day in table[TMY3_TIME_COLUMNS[0]]]
    days = np.array([_month_and_day(path.name, stamp) for stamp in stamps], dtype=np.float64)
    clock = [str(time) for time in table[TMY3_TIME_COLUMNS[1]]]
    _check_clock(path.name, clock)
    warnings = []
    if clock[0].startswith("00"):
        warnings.append(f"{path.name}: the first stamp is 00:00: taken as the beginning of each hour.")
    years = sorted({stamp[-4:] for stamp in stamps})
    if len(years) > 1:
        text_years = f"{years[0]} to {years[-1]}"
        warnings.append(f"{path.name}: a typical year, its months from {text_years}; not the coldest year.")
    return _weather(path.name, numbers, days, meta, warnings)


def _check_clock(file: str, clock: list[str]) -> None:
    """Stamps run through every hour of the day, from 0 or from 1; 24:00 may be written 00:00."""
    first = 0 if clock[0].startswith("00") else 1
    for row, stamp in enumerate(clock):
        hour = (row + first) % HOURS_PER_DAY
        head = stamp.strip().partition(":")[0]
        if not head.isdecimal() or int(head) > HOURS_PER_DAY or int(head) % HOURS_PER_DAY != hour:
            found, allowed = f"{stamp[:20]} in row {row + 1}", f"hour {hour or HOURS_PER_DAY * first} there"
            raise _refused(file, TMY3_TIME_COLUMNS[1], found, allowed, "Rows are missing, doubled or out of order.")


def _month_and_day(file: str, stamp: str) -> tuple[int, int]:
    match = re.fullmatch(r"(\d{1,2})/(\d{1,2})/\d{4}", stamp)
    if match is None:
        raise _refused(file, TMY3_TIME_COLUMNS[0], stamp[:20], "MM/DD/YYYY", "Mend or replace the file.")
    return int(match[1]), int(match[2])


def _read_tm2(path: Path, text: str) -> Weather:
    import pvlib

    _check_row_count(path.name, sum(1 for line in text.splitlines()[1:] if line.strip()))
    table, meta = _parsed(path.name, "TMY2", pvlib.iotools.read_tmy2, str(path))
    # The reader hands out dry bulb and wind as written: in tenths.
    numbers = {
        "temp_air": _numbers(table["DryBulb"]) / 10.0,
        "wind_speed": _numbers(table["Wspd"]) / 10.0,
        "ghi": _numbers(table["GHI"]),
        "dni": _numbers(table["DNI"]),
        "dhi": _numbers(table["DHI"]),
    }
    days = np.column_stack([_numbers(table["month"]), _numbers(table["day"])])
    return _weather(path.name, numbers, days, meta, [])


def _numbers(column: pd.Series[Any]) -> Hourly:
    """A column as floats; text that is no number becomes NaN, which counts as missing."""
    import pandas as pd

    return np.asarray(pd.to_numeric(column, errors="coerce"), dtype=np.float64)


def _check_row_count(file: str, rows: int) -> None:
    if rows not in (HOURS, LEAP_HOURS):
        fix = "The year is short or long; choose a file with one whole year of hours."
        raise _refused(file, "rows", str(rows), f"{HOURS} hours, or {LEAP_HOURS} in a leap year", fix)


def _weather(
    file: str, numbers: dict[str, Hourly], days: Hourly, meta: dict[str, Any], warnings: list[str]
) -> Weather:
    """Columns to a Weather: leap day dropped, order checked, missing values handled."""
    _check_row_count(file, len(days))  # again: a quotation mark without its fellow joins lines to one row
    latitude_deg = _of_place(file, "latitude", meta["latitude"], 90.0)
    longitude_deg = _of_place(file, "longitude", meta["longitude"], 180.0)
    utc_offset_h = _of_place(file, "time zone", meta["TZ"], FARTHEST_ZONE_H)
    if len(days) == LEAP_HOURS:
        warnings.append(f"{file}: 29 February dropped, as a year here has 365 days.")
        keep = np.ones(LEAP_HOURS, dtype=bool)
        keep[LEAP_DAY_FIRST_HOUR : LEAP_DAY_FIRST_HOUR + HOURS_PER_DAY] = False
        numbers, days = {name: values[keep] for name, values in numbers.items()}, days[keep]
    _check_calendar(file, days)
    air_c = _bridged(file, numbers["temp_air"], warnings)
    wind = numbers.get("wind_speed")
    return Weather(
        source=file,
        air_k=air_c + ZERO_CELSIUS_K,
        sun=_sun(file, numbers, warnings),
        wind_m_per_s=None if wind is None else np.where(_inside(wind, WIND_RANGE_M_PER_S), wind, 0.0),
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        utc_offset_h=utc_offset_h,
        warnings=tuple(warnings),
    )


def _of_place(file: str, key: str, value: Any, limit: float) -> float:
    """A number of the header's place; not a number and what lies beyond the limit, either way, is refused."""
    number = float(value)
    if not abs(number) <= limit:
        fix = "Correct the header's line of the place, or fetch the file again."
        raise _refused(file, key, f"{number:g}", f"a number from {-limit:g} to {limit:g}", fix)
    return number


def _check_calendar(file: str, days: Hourly) -> None:
    """Rows run 1 January to 31 December, 24 to a day; a last hour stamped with the next day passes."""
    month = np.repeat(np.repeat(np.arange(1, 13), DAYS_IN_MONTH), HOURS_PER_DAY)
    day = np.repeat(np.concatenate([np.arange(1, n + 1) for n in DAYS_IN_MONTH]), HOURS_PER_DAY)
    wrong = (days[:, 0] != month) | (days[:, 1] != day)
    wrong[HOURS_PER_DAY - 1 :: HOURS_PER_DAY] = False
    if wrong.any():
        row = int(np.argmax(wrong))
        found = f"month {days[row, 0]:.0f}, day {days[row, 1]:.0f} in row {row + 1}"
        allowed = f"month {month[row]}, day {day[row]}"
        raise _refused(file, "date", found, allowed, "Rows are missing, doubled or out of order.")


def _inside(values: Hourly, limits: tuple[float, float]) -> npt.NDArray[np.bool_]:
    """Which values are usable; NaN is not, as it fails both comparisons."""
    return (values >= limits[0]) & (values <= limits[1])


def _bridged(file: str, air_c: Hourly, warnings: list[str]) -> Hourly:
    """Dry bulb with gaps of up to 6 hours bridged by a straight line; a longer one is refused."""
    usable = _inside(air_c, AIR_RANGE_C)
    if usable.all():
        return air_c
    padded = np.concatenate(([True], usable, [True]))
    edges = np.flatnonzero(np.diff(padded.astype(np.int8)))
    first, last = edges[::2], edges[1::2]  # gaps are rows first .. last - 1
    longest = int(np.argmax(last - first))
    if last[longest] - first[longest] > LONGEST_GAP_HOURS:
        found = f"missing in rows {first[longest] + 1} to {last[longest]}"
        allowed = f"gaps of at most {LONGEST_GAP_HOURS} hours"
        raise _refused(file, "dry bulb", found, allowed, "Choose another file or fill the gap.")
    row = np.arange(HOURS)
    warnings.append(f"{file}: dry bulb missing in {int((~usable).sum())} hours, bridged by straight lines.")
    return np.interp(row, row[usable], air_c[usable], period=HOURS)


def _sun(file: str, numbers: dict[str, Hourly], warnings: list[str]) -> Sun | None:
    """Irradiance with missing hours set to 0; None when too many hours of any component are missing."""
    # Instruments read a few watts below zero at night; that is darkness, not a missing value.
    parts = {name: _dark_at_night(numbers[name]) for name in ("ghi", "dni", "dhi")}
    usable = {name: _inside(values, SUN_RANGE_W_M2) for name, values in parts.items()}
    missing = max(int((~good).sum()) for good in usable.values())
    if missing > MOST_SUN_MISSING * HOURS:
        warnings.append(f"{file}: no usable irradiance ({missing} hours missing).")
        return None
    if missing:
        warnings.append(f"{file}: irradiance missing in {missing} hours, taken as none.")
    filled = {name: np.where(usable[name], values, 0.0) for name, values in parts.items()}
    return Sun(filled["ghi"], filled["dni"], filled["dhi"])


def _dark_at_night(values: Hourly) -> Hourly:
    return np.where((values < 0.0) & (values > NIGHT_OFFSET_W_M2), 0.0, values)
