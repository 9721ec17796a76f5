"""Beside the year: how long it may stand, how long its chargers take, what becomes of it brought in from the cold."""

from __future__ import annotations

import math
from dataclasses import dataclass

from planner.battery.gate import Gate
from planner.constants import SECONDS_PER_DAY, SELF_DISCHARGE_PER_MONTH
from planner.record.schema import Record
from planner.winter.moist_air import condenses, dew_point_k, wait_until_dry_s
from planner.winter.schema import Climate, WinterUnit, thermal_capacity_j_per_k, thermal_conductance_w_per_k
from planner.winter.sources import stored_c, time_to_full_s
from planner.winter.storage import daily_loss_c, storage_days

LOW_SOC = 0.20  # where a day's charging is taken to begin (common practice, no source)


@dataclass(frozen=True, slots=True)
class Storage:
    """Standing with nothing but losses. sleep_a : None when not measured, then left out of the days."""

    days: float
    from_soc: float
    to_soc: float
    sleep_a: float | None
    parasite_a: float
    self_discharge: float
    self_discharge_measured: bool
    loss_c_per_day: float


@dataclass(frozen=True, slots=True)
class ChargerDay:
    """A charger by the clock. stored_c : in a day with room to spare [C]. full_s : from LOW_SOC to full [s]."""

    kind: str
    current_a: float
    hours_a_day_s: float
    stored_c: float
    full_s: float


@dataclass(frozen=True, slots=True)
class BroughtIn:
    """The coldest battery of the year brought into warm air.

    wet, dry_s : whether water settles on it, and how long until it is above the dew point. ready_low_s, ready_high_s :
    until its cells reach the lower and the upper temperature at which charging resumes; inf where the air never
    brings them there.
    """

    cell_k: float
    air_k: float
    humidity: float
    stated: bool
    dew_point_k: float
    wet: bool
    dry_s: float
    ready_low_s: float
    ready_high_s: float


@dataclass(frozen=True, slots=True)
class Care:
    """All of it."""

    storage: Storage
    chargers: tuple[ChargerDay, ...]
    brought_in: BroughtIn


def winter_care(record: Record, climate: Climate, unit: WinterUnit, gate: Gate, coldest_k: float) -> Care:
    """Storage, chargers and condensation of one unit in one place. coldest_k : cells at their coldest in the year."""
    tau_s = thermal_capacity_j_per_k(climate, unit) / thermal_conductance_w_per_k(climate)
    chargers = tuple(
        _charger(one.kind, one.current_a, (one.window.until_s - one.window.from_s) % SECONDS_PER_DAY, unit)
        for one in climate.charges
        if one.current_a is not None
    )
    return Care(_storage(record, climate, unit), chargers, _brought_in(climate, gate, coldest_k, tau_s))


def _storage(record: Record, climate: Climate, unit: WinterUnit) -> Storage:
    measured = record.self_discharge_per_month
    monthly = SELF_DISCHARGE_PER_MONTH if measured is None else measured
    sleep, plan = record.sleep_current_a, climate.storage
    days = storage_days(unit.capacity_c, plan.from_soc, plan.to_soc, sleep or 0.0, monthly, plan.parasite_a)
    loss = daily_loss_c(unit.capacity_c, sleep or 0.0, monthly, plan.parasite_a)
    return Storage(
        days, plan.from_soc, plan.to_soc, sleep, plan.parasite_a, monthly, measured is not None, loss
    )


def _charger(kind: str, current_a: float, window_s: float, unit: WinterUnit) -> ChargerDay:
    lasts = window_s or SECONDS_PER_DAY
    full = time_to_full_s(unit.capacity_c, LOW_SOC, current_a)
    return ChargerDay(kind, current_a, lasts, stored_c(current_a, lasts), full)


def _brought_in(climate: Climate, gate: Gate, coldest_k: float, tau_s: float) -> BroughtIn:
    room = climate.indoors

    def until(goal_k: float) -> float:
        if coldest_k >= goal_k:
            return 0.0
        if room.air_k <= goal_k:
            return math.inf
        return tau_s * math.log((room.air_k - coldest_k) / (room.air_k - goal_k))

    return BroughtIn(
        cell_k=coldest_k,
        air_k=room.air_k,
        humidity=room.humidity,
        stated=room.stated,
        dew_point_k=dew_point_k(room.air_k, room.humidity),
        wet=condenses(coldest_k, room.air_k, room.humidity),
        dry_s=wait_until_dry_s(coldest_k, room.air_k, room.humidity, tau_s),
        ready_low_s=until(gate.resume_low_k),
        ready_high_s=until(gate.resume_high_k),
    )
