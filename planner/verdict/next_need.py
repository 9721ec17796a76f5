"""Would knowing more of the buyer's side settle it: a log, the joints, the sharing; and what settles nothing."""

from __future__ import annotations

from dataclasses import replace

from planner.install.joints import SOUND_CONTACTS_OHM
from planner.outing.schema import Outing
from planner.verdict.assess import Assessment
from planner.verdict.check import Told
from planner.verdict.inverter import inrushes
from planner.verdict.outcomes import either
from planner.verdict.peak import recovery_of
from planner.verdict.proposal import Found, Proposal, judged, made_good, open_checks, pointless

LOGGED_SPREAD = 0.05  # of a load known from a log (common practice, no source)
KNOWN = ("measured", "logged")


def buyer_log(base: Assessment) -> Found:
    """One outing logged at a second or better, in place of what is only stated or claimed."""
    loads = base.outing.loads
    if all(load.evidence in KNOWN for load in loads):
        return pointless("buyer_log", "loads_are_known")
    logged = tuple(
        load
        if load.evidence in KNOWN
        else replace(load, evidence="logged", spread=min(load.spread, LOGGED_SPREAD))
        for load in loads
    )
    return _of_the_need(
        base,
        "buyer_log",
        replace(base.outing, loads=logged),
        base.outing.duration_s,
        60,
        "log_the_outing",
        "log_same",
    )


def joint_survey(base: Assessment) -> Found:
    """Millivolts across every joint under load, as they read where the joints are sound."""
    wiring = base.outing.wiring
    if wiring is None:
        return pointless("joint_survey", "no_cable")
    if not open_checks(base, "inverter", "wiring"):
        return pointless("joint_survey", "cable_is_good")
    if wiring.contact_resistance_ohm <= SOUND_CONTACTS_OHM:
        return pointless("joint_survey", "joints_are_not_it")
    sound = replace(base.outing, wiring=replace(wiring, contact_resistance_ohm=SOUND_CONTACTS_OHM))
    return _of_the_need(base, "joint_survey", sound, None, 30, "sound_joints", "joints_are_not_it")


def parallel_pair(base: Assessment) -> Found:
    """The pair on the buyer's own leads, as it reads where both carry the same."""
    bank = base.outing.bank
    if bank is None or bank.parallel < 2:
        return pointless("parallel_pair", "one_battery")
    if not open_checks(base, "bank", "peak_current"):
        return pointless("parallel_pair", "one_unit_shows_it")
    leads = bank.lead_resistances_ohm
    if not leads or max(leads) == min(leads):
        return pointless("parallel_pair", "shares_alike_already")
    mean = sum(leads) / len(leads)
    alike = replace(base.outing, bank=replace(bank, lead_resistances_ohm=(mean,) * len(leads)))
    return _of_the_need(base, "parallel_pair", alike, 600.0, 90, "shares_alike", "sharing_is_not_it")


def _of_the_need(base: Assessment, name: str, outing: Outing, duration_s: float | None, minutes: int, code: str,
                 otherwise: str) -> Found:  # fmt: skip
    if not open_checks(base, *(check.id for check in base.checks)):
        return pointless(name, "all_good")
    after = judged(base, base.record, outing)
    changes = made_good(base, after)
    if not changes:
        return pointless(name, otherwise)
    told = Told(code, {"changes": changes, "passed": after.verdict, "failed": base.verdict})
    return Proposal(
        name, "outing", (), None, duration_s, None, changes, after.verdict, base.verdict, minutes, "low", told,
        either(after.verdict, base.verdict, None),
    )  # fmt: skip


def trip_recovery(base: Assessment) -> Found:
    """How the unit comes back after opening, where a load that keeps people safe hangs on it."""
    if not any(load.safety for load in base.outing.loads):
        return pointless("trip_recovery", "no_safety_load")
    if recovery_of(base.batch) != "unknown":
        return pointless("trip_recovery", "recovery_known")
    if not open_checks(base, "peak_current", "bank"):
        return pointless("trip_recovery", "need_demonstrated")
    told = Told("recovery", {"changes": ("recovery",), "passed": base.verdict, "failed": base.verdict})
    return _of_a_caution(base, "recovery", 60, "high", told, "trip_recovery")


def inrush(base: Assessment) -> Found:
    """Whether the unit stays on when an inverter with empty capacitors is connected, where nothing tames that."""
    if not any(load.kind == "inverter" for load in base.outing.loads):
        return pointless("inrush", "no_inverter")
    known = inrushes(base.batch)
    bare = max((one.peak_a for _, one, tamed in known if tamed is None), default=0.0)
    if not known:
        return pointless("inrush", "no_capacitance")
    if bare <= max((held.current_a for held in base.envelope.passes), default=0.0):
        return pointless("inrush", "precharge")
    told = Told("bare_inrush", {"peak_a": bare})
    return _of_a_caution(base, "inrush", 45, "medium", told)


def sleep_current(base: Assessment) -> Found:
    """What the unit takes for itself, where the buyer asks how long it may stand and nobody measured that."""
    if base.climate is None or not base.climate.storage.stated:
        return pointless("sleep_current", "no_storage_question")
    if base.record.sleep_current_a is not None:
        return pointless("sleep_current", "sleep_is_known")
    return _of_a_caution(base, "storage", 24 * 60, "low", Told("sleep"), "sleep_current")


def second_unit() -> Found:
    """Another unit of the kind: no check of an outing rests on it."""
    return pointless("second_unit", "spread_is_kept")


def _of_a_caution(
    base: Assessment, caution: str, minutes: int, risk: str, told: Told, name: str = ""
) -> Proposal:
    """A test that settles a caution and leaves every verdict as it is."""
    same = either(base.verdict, base.verdict, None)
    return Proposal(name or caution, "battery", (), None, None, None, (caution,), base.verdict, base.verdict, minutes,
                    risk, told, same)  # fmt: skip
