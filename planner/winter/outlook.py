"""The answer for a place: the year as given, and drawn other years in blocks of bounded memory."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planner.winter.cell_temperature import air_around
from planner.winter.other_years import plausible_years
from planner.winter.schema import (
    Climate,
    GateEnds,
    WinterUnit,
    handbook_notes,
    thermal_capacity_j_per_k,
    thermal_conductance_w_per_k,
)
from planner.winter.sources import offered_clock_a, offered_sun_a, use_a, use_notes
from planner.winter.weather import Hourly, Weather
from planner.winter.year import YearInputs, YearTotals, YearTrace, joined, run_year

BLOCK_YEARS = 200  # weather years held in memory at once, about 120 MB


@dataclass(frozen=True, slots=True)
class Outlook:
    """The year as given (one column) with its course, drawn years (None when none), and warnings."""

    given: YearTotals
    trace: YearTrace
    drawn: YearTotals | None
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Place:
    """What is the same in every drawn year: hours by the clock, and the sun of the source days."""

    climate: Climate
    unit: WinterUnit
    gates: GateEnds
    clock_a: Hourly
    sun_a: Hourly
    use_a: Hourly

    def inputs(self, air_k: Hourly, sun_a: Hourly) -> YearInputs:
        """air_k, sun_a : shape (n, 8760)."""
        climate = self.climate
        offered = self.clock_a + sun_a if self.sun_a.any() else self.clock_a[np.newaxis]
        return YearInputs(
            air_k=np.ascontiguousarray(air_around(air_k, climate.heated).T),
            offered_a=np.ascontiguousarray(offered.T),
            use_a=self.use_a,
            unit=self.unit,
            gates=self.gates,
            conductance_w_per_k=thermal_conductance_w_per_k(climate),
            heat_capacity_j_per_k=thermal_capacity_j_per_k(climate, self.unit),
            start_soc=climate.start_soc,
            heater=climate.heater,
        )


def winter_outlook(
    climate: Climate, weather: Weather, unit: WinterUnit, gates: GateEnds, draws: int = 0, seed: int = 1
) -> Outlook:
    """The year as given, and `draws` plausible other years from `seed`.

    weather : of the climate, by `load_weather`. The same seed and number of draws give the same years,
    whatever the battery, so variants are compared on the same weather.
    """
    place = _place(climate, weather, unit, gates)
    given, trace = run_year(place.inputs(weather.air_k[np.newaxis], place.sun_a[np.newaxis]), keep_trace=True)
    if trace is None:
        raise AssertionError("the year as given keeps its course")
    drawn = _drawn(place, weather, draws, np.random.default_rng(seed)) if draws else None
    notes = climate.warnings + weather.warnings + handbook_notes(climate, unit) + use_notes(climate)
    return Outlook(given, trace, drawn, notes)


def drawn_years(
    climate: Climate, weather: Weather, unit: WinterUnit, gates: GateEnds, draws: int, seed: int = 1
) -> YearTotals:
    """Only the drawn years of `winter_outlook`."""
    place = _place(climate, weather, unit, gates)
    return _drawn(place, weather, draws, np.random.default_rng(seed))


def _place(climate: Climate, weather: Weather, unit: WinterUnit, gates: GateEnds) -> _Place:
    sun = offered_sun_a(climate, weather)
    return _Place(climate, unit, gates, offered_clock_a(climate), sun, use_a(climate))


def _drawn(place: _Place, weather: Weather, draws: int, rng: np.random.Generator) -> YearTotals:
    parts = []
    for first in range(0, draws, BLOCK_YEARS):
        years = plausible_years(weather, min(BLOCK_YEARS, draws - first), rng)
        parts.append(run_year(place.inputs(years.air_k, years.rearranged(place.sun_a)))[0])
    return joined(parts)
