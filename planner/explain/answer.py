"""The answer to one battery and one outing: `fit_json` as an object, `fit_text` in words."""

from __future__ import annotations

import math
from typing import Any

from planner import __version__
from planner.battery.kind import Among, kind_of
from planner.constants import COULOMB_PER_AH, ZERO_CELSIUS_K
from planner.explain.alternator_notes import alternator_json
from planner.explain.answer_text import fit_text as fit_text
from planner.explain.bank_notes import joining_json
from planner.explain.cautions import cautions
from planner.explain.chain_sentences import chain_json
from planner.explain.digest import input_digest
from planner.explain.figures import check_json, finite, hours, watt_hours
from planner.explain.reasoning import chains, steps_json
from planner.explain.warnings import warnings
from planner.explain.winter_answer import winter_section
from planner.record.schema import Record
from planner.verdict.assess import Assessment
from planner.verdict.bank_check import Branch, Loss
from planner.verdict.check import NOT_PROVEN, Check
from planner.verdict.peak import Peak


def fit_json(assessment: Assessment) -> dict[str, Any]:
    """Everything `fit --json` prints: plain values, finite numbers only, null where there is no answer."""
    return {
        "verdict": assessment.verdict,
        "battery": assessment.record.name,
        "outing": assessment.outing.name,
        "digest": input_digest(assessment.record, assessment.outing, assessment.climate, assessment.batch.units),
        "version": __version__,
        "seed": assessment.seed,
        "draws": assessment.draws,
        "checks": [check_json(check) for check in assessment.checks],
        "runtime": runtime_json(assessment),
        "peak_current": peak_json(assessment.peak),
        "wiring": wiring_json(assessment),
        "bank": bank_json(assessment),
        "winter": winter_json_of(assessment),
        "units": units_json(assessment.record),
        "why": [steps_json(chain) for chain in chains(assessment)],
        "cautions": list(cautions(assessment)),
        "warnings": list(warnings(assessment)),
    }


def check_of(assessment: Assessment, name: str) -> Check | None:
    """The check of this id, None when it was not made."""
    return next((check for check in assessment.checks if check.id == name), None)


def draws_charge(assessment: Assessment) -> bool:
    """Whether the outing draws anything at all."""
    return assessment.runtime.charge_c > 0.0


def runtime_json(assessment: Assessment) -> dict[str, Any]:
    """The section `runtime`."""
    run = assessment.runtime
    shown = draws_charge(assessment)
    return {
        "nominal_h": hours(run.nominal_s) if shown else None,
        "p10_h": hours(run.p10_s) if shown else None,
        "p50_h": hours(run.p50_s) if shown else None,
        "p90_h": hours(run.p90_s) if shown else None,
        "needed_h": hours(run.needed_s),
        "ended_by": run.ended_by,
        "completes_probability": finite(run.completes),
        "charge_used_Ah": finite(run.charge_c / COULOMB_PER_AH),
        "energy_used_Wh": watt_hours(run.energy_j),
        "min_voltage_V": finite(run.min_v),
        "final_temperature_degC": finite(run.final_k - ZERO_CELSIUS_K),
    }


def units_json(record: Record) -> dict[str, Any]:
    """The section `units`: how many were tested, and how far they differ in charge and in resistance."""
    kind = kind_of(record)
    return {
        "tested": 1 + len(record.repeats),
        "charge": _among(kind.charge),
        "resistance": _among(kind.resistance),
    }


def _among(among: Among) -> dict[str, Any]:
    return {
        "pooled": among.units,
        "mean_over_first_percent": 100.0 * math.expm1(among.shift),
        "spread_percent": 100.0 * among.spread,
        "spread_evidence": "measured" if among.measured else "handbook",
        "spread_uncertainty_percent": None if among.spread_doubt is None else 100.0 * among.spread_doubt,
    }


def peak_json(peak: Peak) -> dict[str, Any] | None:
    """The section `peak_current`; None when nothing is drawn."""
    if peak.worst is None:
        return None
    point, zone = peak.points[peak.worst], peak.zones[peak.worst]
    return {
        "current_A": point.current_a,
        "duration_s": point.duration_s,
        "zone": zone.name,
        "margin_A": finite(zone.margin_a),
        "points": [
            {"current_A": p.current_a, "duration_s": p.duration_s, "zone": z.name, "basis": p.basis}
            for p, z in zip(peak.points, peak.zones, strict=True)
        ],
    }


def wiring_json(assessment: Assessment) -> dict[str, Any] | None:
    """The section `wiring`; None without wiring."""
    if assessment.wiring is None:
        return None
    section = assessment.wiring.section()
    section |= {"charge_A": assessment.wiring.charge_A, "charge_drop_V": assessment.wiring.charge_drop_V}
    plain = {key: finite(value) if isinstance(value, float) else value for key, value in section.items()}
    return plain | chain_json(assessment) | {"alternator": alternator_json(assessment)}


def bank_json(assessment: Assessment) -> dict[str, Any] | None:
    """The section `bank`; None for a single unit."""
    found, bank = assessment.bank, assessment.outing.bank
    if found is None or bank is None:
        return None
    check = check_of(assessment, "bank")
    return {
        "parallel": bank.parallel,
        "series": bank.series,
        "load_A": finite(found.load_a),
        "imbalance_percent": finite(100.0 * found.imbalance),
        "branches": [_branch(branch) for branch in found.branches],
        "loses_one": [_loss(loss) for loss in found.losses],
        "verdict": check.verdict if check else NOT_PROVEN,
        **joining_json(assessment),
    }


def _branch(branch: Branch) -> dict[str, Any]:
    return {
        "unit": branch.unit,
        "lead_mohm": 1e3 * branch.lead_ohm,
        "start_charge": branch.start_soc,
        "first_A": finite(branch.first_a),
        "at_60s_A": finite(branch.at_60s_a),
        "steady_A": finite(branch.steady_a),
        "max_A": finite(branch.max_a),
        "charge_Ah": finite(branch.charge_c / COULOMB_PER_AH),
        "zone": branch.zone,
    }


def _loss(loss: Loss) -> dict[str, Any]:
    return {
        "lost": loss.lost,
        "verdict": loss.verdict,
        "survivor_A": finite(loss.survivor_a),
        "zone": loss.zone,
        "shed_to_A": finite(loss.shed_to_a),
        "completes": loss.completes,
    }


def winter_json_of(assessment: Assessment) -> dict[str, Any] | None:
    """The section `winter`; None without a climate."""
    check = check_of(assessment, "winter_charging")
    if assessment.winter is None or check is None:
        return None
    return winter_section(assessment.winter, check)
