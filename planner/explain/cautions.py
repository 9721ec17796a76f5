"""Which safety cautions an answer carries. They cannot be switched off; those that matter most come first."""

from __future__ import annotations

from planner.battery.envelope import DEMONSTRATED
from planner.explain import caution_texts as texts
from planner.explain.peak_sentences import RECOVERY
from planner.explain.words import degrees, listed
from planner.install.joints import SKIN_LIMITS
from planner.outing.schema import Load
from planner.record.schema import Record
from planner.verdict.assess import Assessment
from planner.verdict.batch import Batch
from planner.verdict.peak import recovery_of
from planner.verdict.winter_check import charge_min_k
from planner.winter.schema import Climate

BURNS = SKIN_LIMITS[0]  # bare metal, touched for a minute


def cautions(assessment: Assessment) -> tuple[str, ...]:
    """The cautions of one battery and one outing, in the order they are shown."""
    found = [
        *_shared_protection(assessment),
        texts.CHARGING_COLD,
        *_charged_cold(assessment.batch),
        texts.SUDDEN_DARK,
        texts.TERMINALS,
        *_hot(assessment),
        texts.FUSE,
    ]
    found.append(_short_circuit(assessment))
    bank = assessment.outing.bank
    if bank is not None and bank.parallel * bank.series > 1:
        found.append(texts.MIXING)
    if any(load.kind == "inverter" for load in assessment.outing.loads):
        found.append(texts.MAINS)
    if any(map(_may_be_a_coil, assessment.outing.loads)):
        found.append(texts.INDUCTIVE)
    found += [texts.STARTING, texts.CHARGER]
    if assessment.outing.wiring is not None and assessment.outing.wiring.alternator_v is not None:
        found.append(texts.ALTERNATOR)
    found += [text for text in _of_climate(assessment.climate) if text not in found]
    return (*found, texts.MOUNTING, texts.WATER, texts.DAMAGE, texts.DEFER)


def winter_cautions(record: Record, climate: Climate) -> tuple[str, ...]:
    """The cautions of a year of charging."""
    found = [texts.CHARGING_COLD, *_took_charge(record), texts.CHARGER, *_of_climate(climate)]
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


def _charged_cold(batch: Batch) -> list[str]:
    """What the bench found of the charge in the cold, of every unit of the bank."""
    units = [unit for row in batch.branch_units for unit in row]
    found = [text for unit in units for text in _took_charge(unit)]
    return list(dict.fromkeys(found))


def _took_charge(record: Record) -> list[str]:
    """That a unit takes a charge where it must not, or that nobody saw it refuse one."""
    tries = record.cold_charge_tests
    cold = [test.at.cell_k for test in tries if test.charging == "accepted" and test.at.cell_k < charge_min_k(record)]
    if cold:
        return [texts.TAKES_CHARGE_COLD.format(cold=degrees(min(cold)))]
    return [] if any(test.charging == "blocked" for test in tries) else [texts.NOT_SEEN_TO_REFUSE]


def _hot(assessment: Assessment) -> list[str]:
    """Terminals that burn whoever touches them, by the readings of the bench."""
    found = terminal_k(assessment)
    if found is None or found < BURNS.temperature_k:
        return []
    return [texts.HOT_TERMINALS.format(hot=degrees(found, "up"))]


def terminal_k(assessment: Assessment) -> float | None:
    """The hottest that the terminals get in the outing [K]; None where no reading tells it."""
    heat = next((check for check in assessment.checks if check.id == "terminal_heat"), None)
    return heat.need.value_si if heat is not None and heat.need is not None and heat.need.unit == "degC" else None


def _may_be_a_coil(load: Load) -> bool:
    """Whether a motor or a relay may be in it: a hard start tells one, and a log does not tell what runs."""
    return load.kind in ("motor", "recorded") or (load.surge is not None and load.kind != "inverter")


def _short_circuit(assessment: Assessment) -> str:
    wiring = assessment.wiring
    if wiring is None:
        return texts.SHORT_CIRCUIT
    bank = assessment.outing.bank
    whose = "this bank" if bank is not None and bank.parallel * bank.series > 1 else "this battery"
    return (
        f"{texts.SHORT_CIRCUIT} We estimate {wiring.short_circuit_A:,.0f} amps at the terminals of {whose}; "
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
