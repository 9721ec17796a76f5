"""The year of charging for one record: the check `winter_charging`."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from planner.battery.fit import Fitted, fit_record
from planner.battery.gate import Gate, build_gate
from planner.constants import CHARGE_MIN_TEMPERATURE_K, SECONDS_PER_DAY
from planner.record.schema import Record
from planner.verdict.batch import Batch
from planner.verdict.check import LIMITS, NOT_PROVEN, WORST_FIRST, Check, Told
from planner.verdict.winter_care import Care, winter_care
from planner.winter.judge import NO_CHARGE, GateEvidence, WinterVerdict, judge_winter
from planner.winter.outlook import Outlook, winter_outlook
from planner.winter.schema import (
    Climate,
    GateEnds,
    GatePair,
    WinterUnit,
    thermal_capacity_j_per_k,
    thermal_conductance_w_per_k,
)
from planner.winter.weather_source import load_weather


@dataclass(frozen=True, slots=True)
class Winter:
    """The year worked out, its gate and its verdict. cold_hours : with cells too cold to be charged."""

    outlook: Outlook
    gate: Gate
    verdict: WinterVerdict
    climate: Climate
    care: Care
    cold_hours: float


def work_out_winter(record: Record, climate: Climate, fitted: Fitted, draws: int, seed: int,
                    outing_charge_c: float | None = None, outing_s: float = 0.0) -> Winter:  # fmt: skip
    """Run the year at both ends of the gate.

    outing_charge_c, outing_s : of the outing, to give a daily use where the climate states none.
    """
    if not states_use(climate) and outing_charge_c is not None:
        climate = with_daily_use(climate, outing_charge_c, outing_s)
    unit = winter_unit(record, fitted)
    lag = thermal_capacity_j_per_k(climate, unit) / thermal_conductance_w_per_k(climate)
    gate = build_gate(record, lag)
    outlook = winter_outlook(climate, load_weather(climate), unit, gate_ends(gate), draws, seed)
    care = winter_care(record, climate, unit, gate, float(np.min(outlook.given.coldest_cell_k)))
    verdict = judge_winter(outlook.given, gate_evidence(record, gate, unit))
    cold = outlook.trace.cell_k.min(axis=1) < unit.charge_min_k
    return Winter(outlook, gate, verdict, climate, care, float(np.count_nonzero(cold)))


def work_out_bank_winter(batch: Batch, climate: Climate, seed: int, outing_charge_c: float) -> Winter:
    """The year of the unit that takes it worst: of a bank of different units each refuses charge by its own tests.

    outing_charge_c : as in `work_out_winter` [C].
    """
    found = []
    for unit in batch.different_units:
        fitted = batch.fitted if unit == batch.record else fit_record(unit)
        found.append(work_out_winter(unit, climate, fitted, 0, seed, outing_charge_c, batch.outing.duration_s))
    return min(found, key=_badness)


def _badness(winter: Winter) -> tuple[int, float, float]:
    """Worst verdict first, then the most hours in which charge may go into cold cells, then the most blocked ones."""
    given = winter.outlook.given
    return (
        WORST_FIRST.index(winter.verdict.verdict), -float(given.exposed_hours[1, 0]), -float(given.hours_blocked[1, 0])
    )  # fmt: skip


def states_use(climate: Climate) -> bool:
    """Whether it says what is drawn from the battery through the year."""
    return climate.use_per_day_c is not None or bool(climate.uses)


def with_daily_use(climate: Climate, outing_charge_c: float, outing_s: float) -> Climate:
    """The climate with an outing's charge [C] as the use of each of its days; an outing below a day is one a day."""
    return replace(climate, use_per_day_c=outing_charge_c / max(outing_s / SECONDS_PER_DAY, 1.0))


def winter_unit(record: Record, fitted: Fitted) -> WinterUnit:
    """What the year needs of the battery, as numbers."""
    claims = record.claims
    return WinterUnit(
        capacity_c=fitted.charge_c,
        mass_kg=record.mass_kg,
        charge_min_k=charge_min_k(record),
        charge_max_k=claims.charge_max_temperature_k,
        discharge_max_k=claims.discharge_max_temperature_k,
        charge_bands=claims.charge_bands,
    )


def charge_min_k(record: Record) -> float:
    """Cells below it [K] must not be charged: 0 degC, or the maker's limit where that is higher."""
    return max(CHARGE_MIN_TEMPERATURE_K, record.claims.charge_min_temperature_k or 0.0)


def gate_ends(gate: Gate) -> GateEnds:
    """The pair of lower thresholds and the pair of upper ones."""
    return GateEnds(
        GatePair(gate.block_low_k, gate.resume_low_k), GatePair(gate.block_high_k, gate.resume_high_k)
    )


def gate_evidence(record: Record, gate: Gate, unit: WinterUnit) -> GateEvidence:
    """Which legs the bench closed, and whether it saw charge go into cells below the limit, or all of it refused."""
    accepted = any(
        test.charging == "accepted" and test.at.cell_k < unit.charge_min_k
        for test in record.cold_charge_tests
    )
    missing = set(gate.missing)
    refused = "block_low" not in missing and gate.block_low_k >= unit.charge_min_k
    return GateEvidence(
        not missing & {"block_low", "block_high"},
        not missing & {"resume_low", "resume_high"},
        accepted,
        refused,
        max(gate.resume_high_k, unit.charge_min_k),
    )


def winter_check(found: Winter | None, asked: bool) -> Check | None:
    """The check `winter_charging`; not proven when it is asked for without a climate."""
    if found is None:
        if not asked:
            return None
        return Check(
            "winter_charging", NOT_PROVEN, "unknown", Told("winter_missing"), settled_by=Told("enter_climate")
        )
    given, verdict = found.outlook.given, found.verdict
    parts = {
        "blocked_low": float(given.hours_blocked[0, 0]), "blocked_high": float(given.hours_blocked[1, 0]),
        "offered": float(given.hours_offered[0]), "dark_low": float(given.days_dark[0, 0]),
        "dark_high": float(given.days_dark[1, 0]), "exposed_low": float(given.exposed_hours[0, 0]),
        "exposed_high": float(given.exposed_hours[1, 0]), "coldest_k": float(np.min(given.coldest_cell_k)),
        "months": verdict.months_limited, "months_free": verdict.months_free,
        "blocks": bool(np.isfinite(found.gate.block_low_k)), "block_k": found.gate.block_low_k,
        "resume_k": found.gate.resume_high_k, "cold_hours": found.cold_hours,
        "stated": bool(found.climate.charges),
    }  # fmt: skip
    settled = None if verdict.settled_by is None else Told(verdict.settled_by, parts)
    no_charger = verdict.reason in NO_CHARGE
    limit = None
    if verdict.verdict == LIMITS:
        limit = Told("winter_no_charger_limit" if no_charger else "winter_limit", parts)
    # weather is handbook; a gate nobody tested, or no charger, weakens what hangs on it, which is then not proven
    unknown = verdict.verdict == NOT_PROVEN and (no_charger or found.gate.evidence == "unknown")
    evidence = "unknown" if unknown else "handbook"
    return Check(
        "winter_charging",
        verdict.verdict,
        evidence,
        Told("winter_" + verdict.reason, parts),
        limit=limit,
        settled_by=settled,
    )
