"""Writes small weather files with invented numbers, for the tests of the readers.

Layout of an EPW row: EnergyPlus Auxiliary Programs, weather data dictionary: 35 fields, 7 dry bulb,
8 dew point, 14 to 16 global, direct and diffuse, 22 wind speed; hours 1 to 24, hour 1 from 0 to 1 o'clock.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable

EPW_HEADER = (
    "LOCATION,Nowhere (invented),-,-,invented,000000,{latitude},{longitude},{zone},120.0\n"
    "DESIGN CONDITIONS,0\nTYPICAL/EXTREME PERIODS,0\nGROUND TEMPERATURES,0\n"
    "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0\nCOMMENTS 1,invented\nCOMMENTS 2,\n"
    "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\n"
)


def stamps(year: int, hours: int) -> list[datetime.datetime]:
    """Beginnings of consecutive hours from 1 January."""
    first = datetime.datetime(year, 1, 1)
    return [first + datetime.timedelta(hours=hour) for hour in range(hours)]


def epw(
    year: int = 2001, hours: int = 8760, air: Callable[[int], float] = lambda row: 10.0, first_hour: int = 1,
    columns: int = 35, latitude: float = 46.0, sun: Callable[[int], float] = lambda row: 0.0, decimals: int = 1,
) -> str:  # fmt: skip
    """An EPW file. air, sun : by row from 0. first_hour : 1, or 0 for stamps of the beginning. decimals : of the air."""
    lines = []
    for row, time in enumerate(stamps(year, hours)):
        fields = ["0"] * 35
        fields[:6] = [str(time.year), str(time.month), str(time.day), str(time.hour + first_hour), "0", "A7"]
        fields[6], fields[7], fields[8], fields[9] = f"{air(row):.{decimals}f}", "2.0", "50", "101325"
        fields[13] = fields[15] = f"{sun(row):.0f}"
        fields[14], fields[21] = "0", "3.0"
        lines.append(",".join(fields[:columns]))
    head = EPW_HEADER.format(latitude=latitude, longitude=8.0, zone=1.0)
    return head + "\n".join(lines) + "\n"


TMY3_TITLES = (
    "Date (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),DNI (W/m^2),DHI (W/m^2),Dry-bulb (C),Dew-point (C),Wspd (m/s)"
)


def tmy3(
    hours: int = 8760, air: Callable[[int], float] = lambda row: 10.0, titles: str = TMY3_TITLES,
    ends_hour: bool = True,
) -> str:  # fmt: skip
    """A TMY3 file. ends_hour : stamps 01:00 to 24:00; else 00:00 to 23:00."""
    lines = ['000000,"NOWHERE (INVENTED)",XX,-5.0,40.0,-80.0,100', titles]
    for row, time in enumerate(stamps(2001, hours)):
        hour = time.hour + (1 if ends_hour else 0)
        lines.append(f"{time.month:02}/{time.day:02}/2001,{hour:02}:00,0,0,0,{air(row):.1f},2.0,3.0")
    return "\n".join(lines) + "\n"
