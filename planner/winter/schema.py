"""Where the battery lives between outings: place, weather, charge sources, uses, heater. SI inside.

Hours of day are seconds since local midnight, standard time. Months are numbers 1 to 12.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from planner.constants import (
    BATTERY_SPECIFIC_HEAT_J_PER_KG_K,
    CHARGE_MIN_TEMPERATURE_K,
    MASS_PER_CHARGE_KG_PER_C,
    PLACE_CONDUCTANCE_W_PER_K,
    ZERO_CELSIUS_K,
)

ALL_MONTHS = tuple(range(1, 13))
PLACES = tuple(PLACE_CONDUCTANCE_W_PER_K)
CHARGE_KINDS = ("shore", "alternator", "solar")
HEATER_FEEDS = ("charger", "battery")


@dataclass(frozen=True, slots=True)
class DayWindow:
    """Hours of the day, in some months. until_s below from_s runs over midnight."""

    from_s: float
    until_s: float
    months: tuple[int, ...] = ALL_MONTHS


@dataclass(frozen=True, slots=True)
class HeatedHours:
    """Hours in which the air around the battery is kept at air_k at least."""

    window: DayWindow
    air_k: float


@dataclass(frozen=True, slots=True)
class Heater:
    """A heater on the cells with its thermostat: on below target_k, off above off_above_k.

    fed_by : "charger" runs only while a source is present; "battery" takes it from the battery.
    """

    power_w: float
    target_k: float
    off_above_k: float
    fed_by: str = "charger"


@dataclass(frozen=True, slots=True)
class ChargeSource:
    """One way of charging. kind: shore | alternator | solar.

    current_a : of the charger; None for solar. days_per_week : the first days of each week of the year,
    weeks counted from 1 January. peak_power_w, tilt_deg, azimuth_deg (from north over east; None: towards
    the equator), controller_current_a : solar only.
    """

    kind: str
    window: DayWindow
    current_a: float | None = None
    days_per_week: int = 7
    peak_power_w: float | None = None
    tilt_deg: float = 0.0
    azimuth_deg: float | None = None
    controller_current_a: float | None = None


@dataclass(frozen=True, slots=True)
class SteadyUse:
    """A current drawn in some hours of the day, discharge positive."""

    window: DayWindow
    current_a: float


@dataclass(frozen=True, slots=True)
class MonthlyClimate:
    """Twelve means and daily swings (highest minus lowest), and the sun as full-sun hours a day.

    sun_s : seconds a day at 1000 W/m2 on level ground, by month; None when not stated.
    """

    mean_k: tuple[float, ...]
    swing_k: tuple[float, ...]
    sun_s: tuple[float, ...] | None = None


@dataclass(frozen=True, slots=True)
class StoragePlan:
    """From which charge down to which it may stand, and what stays connected meanwhile [A]; stated or ours."""

    from_soc: float = 0.6
    to_soc: float = 0.1
    parasite_a: float = 0.0
    stated: bool = False


@dataclass(frozen=True, slots=True)
class Indoors:
    """The warm air a cold battery is brought into; a utility room of 15 degC and 60 % where not stated (handbook)."""

    air_k: float = ZERO_CELSIUS_K + 15.0
    humidity: float = 0.6
    stated: bool = False


@dataclass(frozen=True, slots=True)
class Climate:
    """What a battery lives through in a year. Exactly one of weather and monthly is there.

    conductance_w_per_k, heat_capacity_j_per_k : None when not stated; `thermal_conductance_w_per_k` and
    `thermal_capacity_j_per_k` then give the handbook value.
    use_per_day_c : None when not stated, which is not the same as no use.
    """

    name: str
    weather: Path | None = None
    monthly: MonthlyClimate | None = None
    place: str = "outdoors"
    conductance_w_per_k: float | None = None
    heat_capacity_j_per_k: float | None = None
    start_soc: float = 1.0
    use_per_day_c: float | None = None
    heated: tuple[HeatedHours, ...] = ()
    heater: Heater | None = None
    charges: tuple[ChargeSource, ...] = ()
    uses: tuple[SteadyUse, ...] = ()
    storage: StoragePlan = StoragePlan()
    indoors: Indoors = Indoors()
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    path: Path | None = None
    files: tuple[Path, ...] = ()  # every file it names, in order of mention
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class GatePair:
    """Thresholds of one end: charging is blocked strictly below block_k, resumes at or above resume_k."""

    block_k: float
    resume_k: float


@dataclass(frozen=True, slots=True)
class GateEnds:
    """The two ends the bench leaves open. low: the pair of lower thresholds, high: of upper ones."""

    low: GatePair
    high: GatePair


@dataclass(frozen=True, slots=True)
class WinterUnit:
    """What the year needs to know of the battery, as numbers.

    capacity_c : usable charge, warm [C]. mass_kg : None when not weighed.
    charge_min_k : cells below it must not be charged; 0 degC, or the maker's limit when that is higher.
    charge_max_k, discharge_max_k : the maker's upper limits; None when not stated.
    charge_bands : (from K, until K, largest charge current A) between the maker's bands.
    """

    capacity_c: float
    mass_kg: float | None = None
    charge_min_k: float = CHARGE_MIN_TEMPERATURE_K
    charge_max_k: float | None = None
    discharge_max_k: float | None = None
    charge_bands: tuple[tuple[float, float, float], ...] = ()


def thermal_conductance_w_per_k(climate: Climate) -> float:
    """Conductance from the cells to the air around [W/K]: as stated, else the place's handbook value.

    Source of the handbook values: natural convection (Churchill & Chu) plus radiation, hand calculation.
    """
    if climate.conductance_w_per_k is not None:
        return climate.conductance_w_per_k
    return PLACE_CONDUCTANCE_W_PER_K[climate.place]


def thermal_capacity_j_per_k(climate: Climate, unit: WinterUnit) -> float:
    """Heat capacity of the battery [J/K]: as stated, else its mass times a typical specific heat.

    A battery that was not weighed gets the mass customary for its charge. Both are handbook values.
    """
    if climate.heat_capacity_j_per_k is not None:
        return climate.heat_capacity_j_per_k
    mass_kg = unit.capacity_c * MASS_PER_CHARGE_KG_PER_C if unit.mass_kg is None else unit.mass_kg
    return mass_kg * BATTERY_SPECIFIC_HEAT_J_PER_KG_K


def handbook_notes(climate: Climate, unit: WinterUnit) -> tuple[str, ...]:
    """One warning for every thermal number that is a handbook value and not the buyer's or the bench's."""
    notes = []
    if climate.conductance_w_per_k is None:
        value = thermal_conductance_w_per_k(climate)
        notes.append(
            f"How fast heat passes between battery and air (thermal_conductance) is not stated: {value:.2f} W/K, the "
            f"handbook value for a place that is {climate.place!r}."
        )
    if climate.heat_capacity_j_per_k is None:
        value = thermal_capacity_j_per_k(climate, unit)
        basis = "the customary mass for its charge" if unit.mass_kg is None else "its mass"
        notes.append(
            f"How much heat the battery holds (heat_capacity) is not stated: {value:.0f} J/K from {basis} and 1000 "
            "J/(kg K), handbook."
        )
    return tuple(notes)
