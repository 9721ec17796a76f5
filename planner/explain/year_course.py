"""The year of charging hour by hour, as the charts of it read it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.explain.winter_answer import WinterAnswer
from planner.explain.words import MONTHS
from planner.verdict.winter_check import gate_ends
from planner.winter.calendar_year import DAYS, HOURS_PER_DAY, MONTH_FIRST_DAY, MONTH_OF_DAY
from planner.winter.cell_temperature import air_around
from planner.winter.schema import GateEnds
from planner.winter.sources import offered_clock_a, offered_sun_a
from planner.winter.weather import Weather
from planner.winter.year import YearTotals

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

FORTNIGHT_DAYS = 14
NONE, CHARGES, PERHAPS, BLOCKED, EXPOSED = (
    "no charger",
    "charges",
    "perhaps blocked",
    "blocked",
    "may charge while too cold",
)


@dataclass(frozen=True, slots=True)
class YearCourse:
    """The year as given. cell_k, is_open, soc : (8760, 2), column 0 the lower thresholds. air_k, offered : (8760,)."""

    given: YearTotals
    cell_k: Floats
    is_open: Flags
    soc: Floats
    air_k: Floats
    offered: Flags
    gates: GateEnds
    charge_min_k: float

    def states(self) -> NDArray[np.str_]:
        """What each hour is for charging, (8760,), by the names of this module.

        An hour in which the gate is open at either end while the cells are too cold counts as that.
        """
        open_low, open_high = self.is_open[:, 0], self.is_open[:, 1]
        found = np.full(len(self.offered), NONE, dtype="<U32")
        found[self.offered] = BLOCKED
        found[self.offered & (open_low | open_high)] = PERHAPS
        found[self.offered & open_low & open_high] = CHARGES
        found[self.offered & (self.is_open & (self.cell_k < self.charge_min_k)).any(axis=1)] = EXPOSED
        return found


def year_course(answer: WinterAnswer, weather: Weather, charge_min_k: float) -> YearCourse:
    """Read the stored course of a year. weather : of the answer's climate. charge_min_k : of the unit [K]."""
    climate, trace = answer.winter.climate, answer.winter.outlook.trace
    offered_a = offered_clock_a(climate) + offered_sun_a(climate, weather)
    return YearCourse(
        given=answer.winter.outlook.given,
        cell_k=np.asarray(trace.cell_k[:, :, 0]),
        is_open=np.asarray(trace.is_open[:, :, 0]),
        soc=np.asarray(trace.soc[:, :, 0]),
        air_k=air_around(weather.air_k[np.newaxis], climate.heated)[0],
        offered=offered_a > 0.0,
        gates=gate_ends(answer.winter.gate),
        charge_min_k=charge_min_k,
    )


def worst_fortnight(course: YearCourse) -> int:
    """First day (0 is 1 January) of the worst fortnight.

    It has the most hours in which it may charge while too cold, which harms; where none has one the most hours blocked;
    and the colder one where equal.
    """
    window = np.ones(FORTNIGHT_DAYS)

    def within(hourly: NDArray[np.generic]) -> Floats:
        """Sums of every fortnight, by its first day."""
        return np.convolve(hourly.reshape(DAYS, HOURS_PER_DAY).sum(axis=1), window, "valid")

    exposed = within(course.states() == EXPOSED)
    blocked = within(course.offered & ~course.is_open[:, 1])
    cold = within(course.cell_k[:, 1])
    return int(np.lexsort((cold, -blocked, -exposed))[0])


def day_name(day: int) -> str:
    """A day of the year, 0 is 1 January: "14 January"."""
    month = int(MONTH_OF_DAY[day])
    return f"{day - int(MONTH_FIRST_DAY[month]) + 1} {MONTHS[month]}"
