"""Numbers as a buyer reads them: rounded to the side that protects, units spelled out.

Directions: "down" for what the battery can do, "up" for what is needed, "near" for a middle value.
"""

from __future__ import annotations

import math

from planner.constants import (
    COULOMB_PER_AH,
    SECONDS_PER_DAY,
    SECONDS_PER_HOUR,
    SECONDS_PER_MINUTE,
    ZERO_CELSIUS_K,
)

FIVE_MINUTES_S = 300.0
LONG_S = 600.0  # from here on minutes go by fives
INSTANT_S = 10.0  # below it tenths of a second are told
SMALL_AH = 10.0  # below it amp-hours keep one decimal
SLACK = 1e-9  # relative: 54.0 A that came out of a sum as 54.0000001 is not 55 A
MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
          "November", "December")  # fmt: skip
# (at least, words) of a share of charge
_FRACTIONS = ((0.95, "full"), (0.85, "nine-tenths full"), (0.775, "four-fifths full"), (0.71, "three-quarters full"),
              (0.58, "two-thirds full"), (0.42, "half full"), (0.29, "a third full"), (0.225, "a quarter full"),
              (0.15, "a fifth full"), (0.0, "nearly empty"))  # fmt: skip


def rounded(value: float, step: float, way: str) -> float:
    """The value on a grid of `step`. way : down | up | near."""
    steps = value / step
    slack = SLACK * max(1.0, abs(steps))
    if way == "down":
        return math.floor(steps + slack) * step
    if way == "up":
        return math.ceil(steps - slack) * step
    return math.floor(steps + 0.5) * step


def amps(current_a: float, way: str) -> str:
    """Whole amps."""
    whole = int(rounded(current_a, 1.0, way))
    if whole == 0:
        return "less than 1 amp"
    return "1 amp" if whole == 1 else f"{whole:,} amps"


def amps_beside(need_a: float, able_a: float) -> tuple[str, str]:
    """A need rounded up beside the at least as large current that was shown, rounded down.

    Whole amps, or one decimal where whole ones would cross; closer than that they are told as one and the same.
    """
    if rounded(need_a, 1.0, "up") <= rounded(able_a, 1.0, "down"):
        return amps(need_a, "up"), amps(able_a, "down")
    need, able = rounded(need_a, 0.1, "up"), rounded(able_a, 0.1, "down")
    if need > able:
        need = able = rounded(need_a, 0.1, "near")
    return f"{need:,.1f} amps", f"{able:,.1f} amps"


def hours_at_least(hours: float | None) -> float | None:
    """Hours that are lasted at least, for a table: rounded down to tenths; None where they are not known."""
    return None if hours is None or not math.isfinite(hours) else round(rounded(hours, 0.1, "down"), 1)


def amp_hours(charge_c: float, way: str) -> str:
    """Whole amp-hours, one decimal when few."""
    charge_ah = charge_c / COULOMB_PER_AH
    if not math.isfinite(charge_ah):
        return "more amp-hours than the plan can use"
    if abs(charge_ah) < SMALL_AH:
        return f"{rounded(charge_ah, 0.1, way):.1f} amp-hours"
    return f"{int(rounded(charge_ah, 1.0, way)):,} amp-hours"


def volts(voltage_v: float, way: str, digits: int = 1) -> str:
    """Volts to one decimal, or as many as asked."""
    return f"{rounded(voltage_v, 10.0**-digits, way):.{digits}f} volts"


def degrees(kelvin: float, way: str = "near") -> str:
    """A temperature in whole degrees Celsius; the sentence says of what."""
    celsius = int(rounded(kelvin - ZERO_CELSIUS_K, 1.0, way))
    return f"{celsius} °C"


def exact_time(duration_s: float) -> str:
    """A measured time as it was measured: 9 minutes 40 seconds."""
    if duration_s < SECONDS_PER_MINUTE:
        number = f"{duration_s:.1f}".rstrip("0").rstrip(".")
        return "1 second" if number == "1" else f"{number} seconds"
    whole = int(duration_s + 0.5)
    hours, minutes, seconds = whole // 3600, whole // 60 % 60, whole % 60
    parts = [(hours, "hour"), (minutes, "minute"), (seconds, "second")]
    return " ".join(f"{n} {name}" if n == 1 else f"{n} {name}s" for n, name in parts if n)


def capital(text: str) -> str:
    """The text with its first letter large, the rest as it is."""
    return text[:1].upper() + text[1:]


def about_time(duration_s: float, way: str) -> str:
    """A time from the plan or from the model: minutes to the nearest five, short ones by the second."""
    if duration_s < LONG_S:
        return exact_time(rounded(duration_s, 0.1 if duration_s < INSTANT_S else 1.0, way))
    span = rounded(duration_s, FIVE_MINUTES_S, way)
    if span >= 2.0 * SECONDS_PER_DAY:
        hours = rounded(duration_s, SECONDS_PER_HOUR, way) / SECONDS_PER_HOUR
        return f"{hours:,.0f} hours (about {hours / 24.0:,.1f} days)"
    hours, minutes = divmod(int(span / SECONDS_PER_MINUTE), 60)
    if hours == 0:
        return f"{minutes} minutes"
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"


def chance(share: float) -> str:
    """A probability in words, never finer than one in ten."""
    tenths = int(rounded(share * 10.0, 1.0, "down"))
    if tenths == 0:
        return "fewer than 1 in 10"
    if share > 0.95:  # a display edge, not a criterion
        return "more than 9 in 10"
    return {
        2: "about 1 in 5",
        4: "about 2 in 5",
        5: "about 1 in 2",
        6: "about 3 in 5",
        8: "about 4 in 5",
    }.get(tenths, f"about {tenths} in 10")


def fullness(soc: float) -> str:
    """A share of charge in words, by the nearest common fraction."""
    return next((words for least, words in _FRACTIONS if soc >= least), "nearly empty")


def of_hundred(part_low: float, part_high: float, whole: float) -> str:
    """Two counts as a range of every 100."""
    if whole <= 0.0:
        return "0"
    low, high = (
        int(rounded(100.0 * part_low / whole, 1.0, "down")),
        int(rounded(100.0 * part_high / whole, 1.0, "up")),
    )
    return f"{low}" if low == high else f"{low} to {high}"


def span_of(low: float, high: float, unit: str) -> str:
    """Two whole numbers as a range: 930 to 1,160 hours. unit : of several."""
    few, many = int(rounded(low, 1.0, "near")), int(rounded(high, 1.0, "near"))
    return counted(few, unit) if few == many else f"{few:,} to {counted(many, unit)}"


def counted(count: int, unit: str) -> str:
    """A number of things: 1 hour, 1,160 hours. unit : of several."""
    return f"{count:,} {unit.removesuffix('s') if count == 1 else unit}"


def month_names(months: tuple[int, ...]) -> str:
    """Months of the year as runs: "November to March", "June"."""
    if len(months) == len(MONTHS):
        return "every month"
    runs: list[list[int]] = []
    for month in sorted(months):
        if runs and month == runs[-1][-1] + 1:
            runs[-1].append(month)
        else:
            runs.append([month])
    if len(runs) > 1 and runs[0][0] == 1 and runs[-1][-1] == len(MONTHS):
        runs[0] = runs.pop() + runs[0]
    return listed(
        [MONTHS[r[0] - 1] if len(r) == 1 else f"{MONTHS[r[0] - 1]} to {MONTHS[r[-1] - 1]}" for r in runs]
    )


def listed(items: list[str]) -> str:
    """a, b and c."""
    return items[0] if len(items) == 1 else ", ".join(items[:-1]) + f" and {items[-1]}" if items else ""
