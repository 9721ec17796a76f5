"""The audit of a record: `audit_json` as an object, `audit_text` in words for its tester."""

from __future__ import annotations

from typing import Any

from planner.constants import COULOMB_PER_AH, JOULE_PER_WH
from planner.explain.audit_sentences import QUESTIONS
from planner.explain.claim_names import claim_name
from planner.explain.energy_sentences import parameter
from planner.explain.figures import amount, figures, finite
from planner.explain.layout import Page
from planner.explain.warnings import lead_text
from planner.explain.words import exact_time
from planner.install.leads import CONDITIONS
from planner.verdict.audit import Audit
from planner.verdict.check import Amount
from planner.verdict.claims import ClaimCheck
from planner.verdict.conflicts import Question
from planner.verdict.links import lead_of
from planner.verdict.pooled import INTERVAL, Pooled
from planner.verdict.replay import DischargeReplay, Outcome, StepReplay
from planner.verdict.residuals import Residual

AGREES = {True: "agrees", False: "does not agree", None: "not tested far enough to say"}
STANDARD_UNITS = {"degC": "K"}  # the unit an uncertainty is told in, where it is not the reading's own


def audit_json(found: Audit) -> dict[str, Any]:
    """Everything `audit --json` prints: plain values, finite numbers only."""
    return {
        "battery": found.record.name,
        "tag": found.record.tag,
        "claims": [claim_json(claim) for claim in found.claims],
        "replay": [_discharge(one) for one in found.replay.discharges],
        "step_replay": [_step(one) for one in found.replay.steps],
        "replay_within": found.replay.all_within,
        "price": _price(found),
        "pooled": None if found.pooled is None else _pooled(found.pooled),
        "questions": [
            {"entries": list(one.entries), "question": question(one), "figures": figures(one.told.parts)}
            for one in found.questions
        ],
        "voltage_residuals": [
            {"test": one.place, "rms_mV": 1e3 * one.rms_v, "worst_mV": 1e3 * one.worst_v} for one in found.residuals
        ],
        "hardly_told": list(found.hardly_told),
        "untold_pairs": [
            {"first": pair.first, "second": pair.second, "correlation": pair.correlation} for pair in found.untold
        ],
        "leads": _leads(found),
        "missing": list(found.gaps),
        "warnings": list(found.record.warnings),
    }


def question(asked: Question) -> str:
    """A question to the tester in words. Raises KeyError for a code without a sentence."""
    return QUESTIONS[asked.told.code](asked.told.parts)


def claim_json(claim: ClaimCheck) -> dict[str, Any]:
    """One claim beside its measurement."""
    claimed, measured = amount(claim.claimed), amount(claim.measured)
    difference = None
    if claimed is not None and measured is not None and claim.claimed.unit != "degC":
        difference = 100.0 * (measured["value"] / claimed["value"] - 1.0)
    return {
        "key": claim.key,
        "claimed": claimed,
        "measured": measured,
        "expanded_uncertainty": _expanded(claim),
        "agrees": claim.agrees,
        "difference_percent": difference,
        "difference_in_expanded_uncertainties": finite(claim.difference_in_u),
        "duration_s": claim.duration_s,
        "opened_after_s": claim.trip_s,
        "by": list(claim.by),
    }


def _expanded(claim: ClaimCheck) -> float | None:
    """The expanded uncertainty in the unit of the reading (kelvin for a temperature)."""
    if claim.expanded is None:
        return None
    unit = STANDARD_UNITS.get(claim.claimed.unit, claim.claimed.unit)
    told = amount(Amount(claim.expanded, unit))
    return None if told is None else float(told["value"])


def _discharge(one: DischargeReplay) -> dict[str, Any]:
    return {
        "test": one.place,
        **_outcome("measured", one.measured),
        **_outcome("model", one.model),
        "expanded_uncertainty_percent": 100.0 * one.charge_u,
        "energy_expanded_uncertainty_percent": 100.0 * one.energy_u,
        "within": one.within,
        **_outcome("without", one.without),
        "without_within": one.without_within,
    }


def _outcome(name: str, found: Outcome | None) -> dict[str, float | None]:
    charge, energy, time = (
        (None, None, None) if found is None else (found.charge_c, found.energy_j, found.duration_s)
    )
    return {
        f"{name}_Ah": None if charge is None else finite(charge / COULOMB_PER_AH),
        f"{name}_s": finite(time),
        f"{name}_Wh": None if energy is None else finite(energy / JOULE_PER_WH),
    }


def _step(one: StepReplay) -> dict[str, Any]:
    return {
        "test": one.place,
        "measured_mohm": 1e3 * one.measured_ohm,
        "model_mohm": 1e3 * one.model_ohm,
        "expanded_uncertainty_mohm": 1e3 * one.u_ohm,
        "within": one.within,
        "without_mohm": None if one.without_ohm is None else 1e3 * one.without_ohm,
        "without_within": one.without_within,
    }


def _price(found: Audit) -> dict[str, Any] | None:
    price = found.price
    if price is None:
        return None
    return {
        "price": price.price,
        "currency": price.currency,
        "per_measured_Wh": _per_wh(price.per_measured_j),
        "per_label_Wh": _per_wh(price.per_label_j),
        "label_energy_is_claimed": price.label_is_claimed,
        "by_test": [{"test": place, "per_Wh": _per_wh(per_j)} for place, per_j in price.by_test],
    }


def _per_wh(per_j: float | None) -> float | None:
    return None if per_j is None else per_j * JOULE_PER_WH


def _pooled(pooled: Pooled) -> dict[str, Any]:
    return {
        "units": list(pooled.units),
        "left_out": list(pooled.left_out),
        "mean_Ah": pooled.mean_c / COULOMB_PER_AH,
        "expanded_uncertainty_Ah": pooled.u_mean * pooled.mean_c / COULOMB_PER_AH,
        "spread_percent": 100.0 * pooled.spread,
        "spread_evidence": "measured" if pooled.spread_measured else "handbook",
        "spread_uncertainty_percent": None if pooled.u_spread is None else 100.0 * pooled.u_spread,
        "buyer_unit_Ah": {"low": pooled.low_c / COULOMB_PER_AH, "high": pooled.high_c / COULOMB_PER_AH},
        "coverage": INTERVAL,
    }


def _leads(found: Audit) -> dict[str, Any] | None:
    """The table's limit of the unit's own leads, beside what its maker claims; None where nobody looked inside."""
    limit = lead_of(found.record)
    if limit is None:
        return None
    claimed = found.record.claims.continuous_current_a
    return {
        "size": limit.size,
        "ampacity_A": limit.ampacity_a,
        "ampacity_in_30_degC_air_A": limit.cool_a,
        "source": limit.source,
        "conditions": CONDITIONS,
        "claimed_continuous_A": claimed,
        "claim_within": None if claimed is None else claimed <= limit.ampacity_a,
    }


def _lead_lines(found: Audit) -> list[str]:
    limit, claimed = lead_of(found.record), found.record.claims.continuous_current_a
    if limit is None:
        return []
    return [
        lead_text(limit, "no claim" if claimed is None else f"the {claimed:.0f} A its maker claims without a break")
    ]


def audit_text(found: Audit, currency: str = "") -> str:
    """The audit for reading, at most 80 columns. currency : of a price whose record states none; "" for unknown."""
    page = Page()
    page.title("AUDIT: what the label says, what the bench measured, what the model makes of it.",
               (f"Battery: {found.record.name}",))  # fmt: skip
    page.part("Claims", [_claim_line(claim) for claim in found.claims] or ["none in the record"])
    page.part("Replay of its own discharges", [_discharge_line(one) for one in found.replay.discharges])
    page.part("Voltage along the way", [_residual_line(one) for one in found.residuals])
    page.part("Replay of its steps", [_step_line(one) for one in found.replay.steps])
    page.part("Units of this kind", [pooled_line(found.pooled)] if found.pooled else [])
    page.part("What these tests do not tell of the model", told_lines(found))
    page.part("Price", _price_lines(found, currency))
    asked = [f"{' and '.join(dict.fromkeys(one.entries))}: {question(one)}" for one in found.questions]
    page.part("Leads inside", _lead_lines(found))
    page.part("To ask the tester", asked)
    page.part("Not tested", found.gaps)
    page.part("Beside this answer", found.record.warnings)
    return page.text()


def _claim_line(claim: ClaimCheck) -> str:
    unit = claim.claimed.unit
    told = f"{claim_name(claim.key, claim.duration_s)}: claimed {_told(claim.claimed)}"
    if claim.measured is None:
        return f"{told}; not tested"
    told += f", measured {_told(claim.measured)}"
    u = _expanded(claim)
    if u is not None:
        told += f" ± {u:.2g} {STANDARD_UNITS.get(unit, unit)} (k = 2)"
    if claim.agrees is False and claim.trip_s is not None:
        told += f", where the unit opened after {exact_time(claim.trip_s)}"
    return f"{told}: {AGREES[claim.agrees]} ({', '.join(claim.by)})"


def _told(found: Amount) -> str:
    said = amount(found)
    return "unknown" if said is None else f"{said['value']:.4g} {said['unit'].replace('degC', '°C')}"


def _discharge_line(one: DischargeReplay) -> str:
    told = f"{one.place}: measured {_figures(one.measured)}; model {_figures(one.model)}"
    told += f"; instrument ± {100.0 * one.charge_u:.2g} % (k = 2): {_judged(one.within)}"
    if one.without is not None:
        told += f". From the other tests alone: {_figures(one.without)}, {_judged(bool(one.without_within))}"
    return told


def _residual_line(one: Residual) -> str:
    return (
        f"{one.place}: measured and model differ by {1e3 * one.rms_v:.0f} mV (root mean square of "
        f"{len(one.off_v)} readings), at worst {1e3 * one.worst_v:.0f} mV"
    )


def _figures(found: Outcome) -> str:
    told = f"{found.charge_c / COULOMB_PER_AH:.1f} Ah in {exact_time(found.duration_s)}"
    energy = finite(found.energy_j)
    return told if energy is None else f"{told}, {energy / JOULE_PER_WH:.0f} Wh"


def _step_line(one: StepReplay) -> str:
    told = f"{one.place}: measured {1e3 * one.measured_ohm:.2f} mΩ ± {1e3 * one.u_ohm:.2g} mΩ (k = 2), model "
    told += f"{1e3 * one.model_ohm:.2f} mΩ: {_judged(one.within)}"
    if one.without_ohm is not None:
        told += f". From the other tests alone: {1e3 * one.without_ohm:.2f} mΩ"
    return told


def _judged(within: bool) -> str:
    return "within the instrument's error" if within else "OUTSIDE the instrument's error"


def pooled_line(pooled: Pooled) -> str:
    """What units of this kind hold, and how much a further one may differ."""
    u_ah = pooled.u_mean * pooled.mean_c / COULOMB_PER_AH
    told = f"{pooled.mean_c / COULOMB_PER_AH:.1f} Ah ± {u_ah:.1f} Ah (k = 2) over {len(pooled.units)} unit"
    told += "s" if len(pooled.units) > 1 else ""
    if pooled.spread_measured and pooled.u_spread is not None:
        told += (
            f"; they spread by {100.0 * pooled.spread:.2g} %, itself known to {100.0 * pooled.u_spread:.0f} %"
        )
    else:
        told += f"; one unit shows no spread: {100.0 * pooled.spread:.2g} % between units is assumed"
    low, high = pooled.low_c / COULOMB_PER_AH, pooled.high_c / COULOMB_PER_AH
    told += f". Nine in ten further units: {low:.1f} to {high:.1f} Ah"
    if pooled.left_out:
        told += f". Left out, tested otherwise: {', '.join(pooled.left_out)}"
    return told


def told_lines(found: Audit) -> list[str]:
    """What of the model rests on common values, and what the tests cannot tell apart, in words."""
    lines = []
    if found.hardly_told:
        words = dict.fromkeys(parameter(name) for name in found.hardly_told)
        lines.append(f"resting on common values, as no test tells it: {'; '.join(words)}")
    lines += [
        f"these tests cannot tell {parameter(pair.first)} from {parameter(pair.second)}" for pair in found.untold
    ]
    return lines


def _price_lines(found: Audit, currency: str) -> list[str]:
    price = found.price
    if price is None:
        return []
    coin = price.currency or currency
    money = f" {coin}" if coin else ""
    lines = [] if coin else ["the record states no currency"]
    if price.per_measured_j is None:
        lines.append("no discharge with its watt-hours: no price per measured watt-hour")
    else:
        lines.append(f"{price.per_measured_j * JOULE_PER_WH:.3f}{money} per measured Wh")
    if price.per_label_j is not None:
        how = "the label's energy" if price.label_is_claimed else "the label's amp-hours times 12.8 V"
        lines.append(f"{price.per_label_j * JOULE_PER_WH:.3f}{money} per Wh by {how}: arithmetic on a claim")
    lines += [f"{per_j * JOULE_PER_WH:.3f}{money} per Wh in {place}" for place, per_j in price.by_test]
    return lines
