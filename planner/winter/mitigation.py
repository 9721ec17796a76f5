"""What to do about it: changes to place and equipment, run through the same weather years."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from planner.constants import PLACE_CONDUCTANCE_W_PER_K, SECONDS_PER_DAY, SECONDS_PER_HOUR, ZERO_CELSIUS_K
from planner.winter.outlook import drawn_years
from planner.winter.schema import (
    ChargeSource,
    Climate,
    DayWindow,
    GateEnds,
    HeatedHours,
    Heater,
    WinterUnit,
    thermal_capacity_j_per_k,
    thermal_conductance_w_per_k,
)
from planner.winter.weather import Weather
from planner.winter.year import YearTotals

PAD_POWER_W = 60.0  # a usual heating pad for a battery of this size, no source
PAD_SPAN_K = 2.0  # on just above the upper resume threshold, off 2 K higher, no source
NEVER_BLOCKS_TARGET_K = ZERO_CELSIUS_K + 5.0  # for a gate whose upper end is not finite
INDOORS_K = ZERO_CELSIUS_K + 15.0  # an unheated utility room in a heated house, no source
HOURS_INDOORS = 3.0  # before charging begins: an open battery comes from -10 to above 8 degC in two (no source)


@dataclass(frozen=True, slots=True)
class Variant:
    """One change to compare.

    id : as_is | box | heater | box_and_heater | indoors | larger_panel | other_charger |
    second_battery.
    """

    id: str
    climate: Climate
    unit: WinterUnit


@dataclass(frozen=True, slots=True)
class VariantResult:
    """A variant's years and what it gains against the first variant, medians over the weather years.

    open_hours_gained : more hours in which charging is possible, by month, shape (2, 12); row 0 is the
    lower-threshold end. dark_days_saved : (2,). heater_j : energy the heater takes in a year [J], (2,).
    """

    variant: Variant
    totals: YearTotals
    open_hours_gained: npt.NDArray[np.float64]
    dark_days_saved: npt.NDArray[np.float64]
    heater_j: npt.NDArray[np.float64]


def usual_variants(climate: Climate, unit: WinterUnit, gates: GateEnds) -> tuple[Variant, ...]:
    """The place as it is, and each usual change that would change anything.

    A heater counts only when fitted and tested with the unit; here it is what one would do.
    """
    boxed_w_per_k = PLACE_CONDUCTANCE_W_PER_K["box"]
    box = replace(climate, place="box", conductance_w_per_k=boxed_w_per_k)
    heater = _pad(gates)
    found = [Variant("as_is", climate, unit)]
    worth_boxing = thermal_conductance_w_per_k(climate) > boxed_w_per_k
    if worth_boxing:
        found.append(Variant("box", box, unit))
    if climate.heater is None:
        found.append(Variant("heater", replace(climate, heater=heater), unit))
        if worth_boxing:
            found.append(Variant("box_and_heater", replace(box, heater=heater), unit))
    if climate.charges:
        found.append(Variant("indoors", _indoors(climate), unit))
    if any(charge.kind == "solar" for charge in climate.charges):
        found.append(Variant("larger_panel", _scaled(climate, solar=True), unit))
    if any(charge.kind != "solar" for charge in climate.charges):
        found.append(Variant("other_charger", _scaled(climate, solar=False), unit))
    found.append(_second_battery(climate, unit))
    return tuple(found)


def compare_variants(
    variants: Iterable[Variant], weather: Weather, gates: GateEnds, draws: int, seed: int = 1
) -> tuple[VariantResult, ...]:
    """Every variant on the same drawn weather years; gains are against the first."""
    listed = tuple(variants)
    totals = [drawn_years(each.climate, weather, each.unit, gates, draws, seed) for each in listed]
    open_first, dark_first = _open_by_month(totals[0]), _middle(totals[0].days_dark)
    return tuple(
        VariantResult(
            variant=each,
            totals=found,
            open_hours_gained=_open_by_month(found) - open_first,
            dark_days_saved=dark_first - _middle(found.days_dark),
            heater_j=_middle(found.heater_j),
        )
        for each, found in zip(listed, totals, strict=True)
    )


def _middle(values: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    found: npt.NDArray[np.float64] = np.median(values, axis=-1)
    return found


def _open_by_month(totals: YearTotals) -> npt.NDArray[np.float64]:
    """Offered hours that are not blocked, median over the years, shape (2, 12)."""
    return _middle(totals.offered_m - totals.blocked_m)


def _pad(gates: GateEnds) -> Heater:
    """A heating pad that keeps the cells above the upper resume threshold while a source is present."""
    resume_k = gates.high.resume_k
    target_k = resume_k + 1.0 if np.isfinite(resume_k) else NEVER_BLOCKS_TARGET_K
    return Heater(PAD_POWER_W, target_k, target_k + PAD_SPAN_K, "charger")


def _indoors(climate: Climate) -> Climate:
    """Brought in 3 h before each source begins, and left there until it ends."""
    stays = tuple(HeatedHours(_stay(charge.window), INDOORS_K) for charge in climate.charges)
    return replace(climate, heated=climate.heated + stays)


def _stay(window: DayWindow) -> DayWindow:
    length_s = (window.until_s - window.from_s) % SECONDS_PER_DAY or SECONDS_PER_DAY
    if length_s + HOURS_INDOORS * SECONDS_PER_HOUR >= SECONDS_PER_DAY:
        return DayWindow(0.0, SECONDS_PER_DAY, window.months)
    from_s = (window.from_s - HOURS_INDOORS * SECONDS_PER_HOUR) % SECONDS_PER_DAY
    return DayWindow(from_s, window.until_s, window.months)


def _scaled(climate: Climate, solar: bool) -> Climate:
    """Twice the panel with a controller to match, or chargers of twice the current."""
    return replace(climate, charges=tuple(_twice(charge, solar) for charge in climate.charges))


def _twice(charge: ChargeSource, solar: bool) -> ChargeSource:
    if (charge.kind == "solar") != solar:
        return charge
    if not solar:
        return replace(charge, current_a=2.0 * (charge.current_a or 0.0))
    limit_a = charge.controller_current_a
    return replace(
        charge,
        peak_power_w=2.0 * (charge.peak_power_w or 0.0),
        controller_current_a=None if limit_a is None else 2.0 * limit_a,
    )


def _second_battery(climate: Climate, unit: WinterUnit) -> Variant:
    """A second unit beside the first: twice the charge, twice the mass and the surface."""
    both = replace(
        climate,
        conductance_w_per_k=2.0 * thermal_conductance_w_per_k(climate),
        heat_capacity_j_per_k=2.0 * thermal_capacity_j_per_k(climate, unit),
    )
    bands = tuple((low_k, high_k, 2.0 * current_a) for low_k, high_k, current_a in unit.charge_bands)
    mass_kg = None if unit.mass_kg is None else 2.0 * unit.mass_kg
    pair = replace(unit, capacity_c=2.0 * unit.capacity_c, mass_kg=mass_kg, charge_bands=bands)
    return Variant("second_battery", both, pair)
