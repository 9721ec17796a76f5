"""Which safety cautions an answer carries. They cannot be switched off; those that matter most come first."""

from __future__ import annotations

from planner.battery.envelope import DEMONSTRATED
from planner.explain import caution_texts as texts
from planner.explain.peak_sentences import RECOVERY
from planner.explain.words import listed
from planner.verdict.assess import Assessment
from planner.verdict.peak import recovery_of
from planner.winter.schema import Climate


def cautions(assessment: Assessment) -> tuple[str, ...]:
    """The cautions of one battery and one outing, in the order they are shown."""
    found = [
        *_shared_protection(assessment),
        texts.CHARGING_COLD,
        texts.SUDDEN_DARK,
        texts.TERMINALS,
        texts.FUSE,
    ]
    found.append(_short_circuit(assessment))
    bank = assessment.outing.bank
    if bank is not None and bank.parallel * bank.series > 1:
        found.append(texts.MIXING)
    if any(load.kind == "inverter" for load in assessment.outing.loads):
        found.append(texts.MAINS)
    if any(load.kind == "motor" for load in assessment.outing.loads):
        found.append(texts.INDUCTIVE)
    found += [texts.STARTING, texts.CHARGER]
    if assessment.outing.wiring is not None and assessment.outing.wiring.alternator_v is not None:
        found.append(texts.ALTERNATOR)
    found += [text for text in _of_climate(assessment.climate) if text not in found]
    return (*found, texts.MOUNTING, texts.WATER, texts.DAMAGE, texts.DEFER)


def winter_cautions(climate: Climate) -> tuple[str, ...]:
    """The cautions of a year of charging."""
    found = [texts.CHARGING_COLD, texts.CHARGER, *_of_climate(climate)]
    return (*found, texts.MOUNTING, texts.WATER, texts.DAMAGE, texts.DEFER)


def peak_is_shown(assessment: Assessment) -> bool:
    """Whether every unit of the outing's bank stays where the bench showed the unit to hold."""
    peaks = assessment.bank.peaks if assessment.bank else (assessment.peak,)
    return all(peak.zone == DEMONSTRATED for peak in peaks)


def _shared_protection(assessment: Assessment) -> list[str]:
    """Loads that must never go dark, behind the same protection as others."""
    loads = assessment.outing.loads
    kept = [load.name for load in loads if load.safety]
    if not kept:
        return []
    others = [load.name for load in loads if not load.safety]
    if peak_is_shown(assessment):
        beside = f", {listed(others)} with it" if others else ""
        return [
            f"One protection can switch off at once what must never go dark: {listed(kept)}{beside}. Give it a battery "
            "of its own, as the code in force may ask."
        ]
    return [
        f"The protection may switch off what must never go dark: {listed(kept)}. The highest current of this plan was "
        f"not shown to hold. Give it a battery of its own. {RECOVERY[recovery_of(assessment.batch)]}"
    ]


def _short_circuit(assessment: Assessment) -> str:
    wiring = assessment.wiring
    if wiring is None:
        return texts.SHORT_CIRCUIT
    return (
        f"{texts.SHORT_CIRCUIT} We estimate {wiring.short_circuit_A:,.0f} amps at the terminals of this battery; "
        "that is no upper bound."
    )


def _of_climate(climate: Climate | None) -> list[str]:
    if climate is None:
        return []
    kinds = {charge.kind for charge in climate.charges}
    found = []
    if "alternator" in kinds:
        found.append(texts.ALTERNATOR)
    if climate.heater is not None:
        found.append(texts.HEATER)
    if "shore" in kinds:
        found.append(texts.MAINS)
    return found
