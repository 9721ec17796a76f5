"""Storage, chargers and a battery brought in from the cold: in words and as JSON."""

from __future__ import annotations

import math
from typing import Any

from planner.constants import COULOMB_PER_AH, SECONDS_PER_HOUR, ZERO_CELSIUS_K
from planner.explain.figures import finite
from planner.explain.words import about_time, amp_hours, degrees, exact_time
from planner.verdict.winter_care import LOW_SOC, BroughtIn, Care, ChargerDay, Storage
from planner.winter.schema import Climate
from planner.winter.storage import DAYS_PER_MONTH

HUNDRED = 100.0
TWO_MONTHS = 2.0 * DAYS_PER_MONTH


def care_sentences(care: Care) -> list[str]:
    """One paragraph a subject."""
    return [_storage(care.storage), *(_charger(one) for one in care.chargers), *_brought_in(care.brought_in)]


def stated_care(care: Care, climate: Climate) -> list[str]:
    """Of these only what the climate itself asks about: standing, and coming in from the cold."""
    kept = [_storage(care.storage)] if climate.storage.stated else []
    return [*kept, *(_brought_in(care.brought_in) if climate.indoors.stated else [])]


def _storage(one: Storage) -> str:
    span = f"from {HUNDRED * one.from_soc:.0f} to {HUNDRED * one.to_soc:.0f} of 100 parts of its charge"
    sleep = (
        "The battery's own sleep current was not measured and is left out, so expect fewer days."
        if one.sleep_a is None
        else f"Its own electronics draw {1e3 * one.sleep_a:.0f} mA all the time."
    )
    fades = "measured" if one.self_discharge_measured else "assumed"
    loss = f"{one.loss_c_per_day / COULOMB_PER_AH:.2f} amp-hours a day"
    beside = (
        f"What stays connected takes {1e3 * one.parasite_a:.0f} mA."
        if one.parasite_a
        else "Disconnect what draws current: nothing is counted for it."
    )
    fading = f"It fades by {HUNDRED * one.self_discharge:.1f} of 100 parts a month by itself, {fades}."
    return f"{_lasts(one, span)} It loses {loss}. {sleep} {beside} {fading}"


def _lasts(one: Storage, span: str) -> str:
    """How long it may be left, in days, and in whole months where that says more; at most, if its sleep is unknown."""
    if not math.isfinite(one.days):
        return f"Nothing that is known of it takes it {span}, left alone."
    most = "at most " if one.sleep_a is None else ""
    whole = math.floor(one.days)
    months = f", {math.floor(whole / DAYS_PER_MONTH)} months" if whole >= TWO_MONTHS else ""
    return f"It may be left alone for {most}{whole:,} day{'s' * (whole != 1)}{months}, to go {span}."


def _charger(one: ChargerDay) -> str:
    return (
        f"The {one.kind} charger of {one.current_a:g} A brings up to {amp_hours(one.stored_c, 'down')} in its "
        f"{exact_time(one.hours_a_day_s)} a day, and takes {about_time(one.full_s, 'up')} to fill the "
        f"battery from a fifth, while nothing blocks it."
    )


def _brought_in(one: BroughtIn) -> list[str]:
    taken = "as you stated" if one.stated else "which we assumed"
    room = f"air of {degrees(one.air_k)} and {HUNDRED * one.humidity:.0f} % humidity, {taken}"
    found = []
    if one.ready_high_s > 0.0:
        found.append(
            f"Brought at its coldest, {degrees(one.cell_k, 'down')} inside, into {room}: {_ready(one)} "
            "Time alone does it; never hurry it with a flame or a heater that was not made for it."
        )
    if one.wet:
        found.append(
            f"Water settles on it there, since it is below the dew point of {degrees(one.dew_point_k)}. Leave the "
            f"terminals alone and connect nothing for {_wait(one.dry_s)}, and wipe it dry."
        )
    return found


def _ready(one: BroughtIn) -> str:
    """When it may be charged: warm enough for the upper switching temperature, which is the safe one to wait for."""
    sooner = 0.0 < one.ready_low_s < one.ready_high_s
    lower = (
        f" At the lower switching temperature it takes charge after {_wait(one.ready_low_s)}."
        if sooner
        else ""
    )
    if math.isfinite(one.ready_high_s):
        return f"wait {_wait(one.ready_high_s)} before charging it. Then it is warm enough.{lower}"
    return f"that air may never warm it enough to take charge.{lower}"


def _wait(duration_s: float) -> str:
    if not math.isfinite(duration_s):
        return "a time that never comes in that air"
    return "no wait" if duration_s <= 0.0 else about_time(duration_s, "up")


def care_json(care: Care) -> dict[str, Any]:
    """The sections `storage`, `chargers` and `brought_in`."""
    kept, room = care.storage, care.brought_in
    return {
        "storage": {
            "days": finite(kept.days), "from_percent": HUNDRED * kept.from_soc, "to_percent": HUNDRED * kept.to_soc,
            "sleep_current_A": kept.sleep_a, "parasite_A": kept.parasite_a,
            "self_discharge_percent_per_month": HUNDRED * kept.self_discharge,
            "self_discharge_evidence": "measured" if kept.self_discharge_measured else "handbook",
            "loss_Ah_per_day": kept.loss_c_per_day / COULOMB_PER_AH,
        },
        "chargers": [
            {"kind": one.kind, "current_A": one.current_a, "hours_a_day": one.hours_a_day_s / SECONDS_PER_HOUR,
             "stored_Ah_a_day": one.stored_c / COULOMB_PER_AH, "from_percent": HUNDRED * LOW_SOC,
             "full_after_h": one.full_s / SECONDS_PER_HOUR}
            for one in care.chargers
        ],
        "brought_in": {
            "cell_degC": room.cell_k - ZERO_CELSIUS_K, "air_degC": room.air_k - ZERO_CELSIUS_K,
            "humidity_percent": HUNDRED * room.humidity, "evidence": "stated" if room.stated else "handbook",
            "dew_point_degC": room.dew_point_k - ZERO_CELSIUS_K, "condenses": room.wet,
            "dry_after_h": finite(room.dry_s / SECONDS_PER_HOUR),
            "charging_resumes_after_h": {"low": finite(room.ready_low_s / SECONDS_PER_HOUR),
                                         "high": finite(room.ready_high_s / SECONDS_PER_HOUR)},
        },
    }  # fmt: skip
