"""The cheapest change to cable, joints, fuse or cut-out that makes the verdicts of wiring and inverter good."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import chain

import numpy as np

from planner.install.circuit import CircuitNeed
from planner.install.conductor import STANDARD_AWG, awg_area_m2, awg_name
from planner.install.joints import SOUND_CONTACTS_OHM
from planner.install.judge import judge_wiring
from planner.install.overcurrent import suggest_fuse_a
from planner.outing.schema import Wiring
from planner.verdict.assess import Assessment
from planner.verdict.batch import wiring_ohm
from planner.verdict.check import DOES_NOT_FIT, FITS, GOOD, LIMITS, Check, overall, worst
from planner.verdict.inverter import lowest_used_v, stays_on
from planner.verdict.wiring_check import circuit_need

CHAIN = ("wiring", "inverter")


@dataclass(frozen=True, slots=True)
class Change:
    """One way out. Only what changes is not None.

    contacts_ohm : all joints clean and tight [ohm]. fuse_a : another fuse [A]. cutout_below_v : cut-out of the
    inverter set below it, if its maker allows [V]. conductor : another cable. verdict : of cable and inverter with
    it; whole : of the outing.
    """

    contacts_ohm: float | None
    fuse_a: float | None
    cutout_below_v: float | None
    conductor: str | None
    verdict: str
    whole: str


@dataclass(frozen=True, slots=True)
class _Try:
    wiring: Wiring
    joints: bool = False
    fuse: bool = False
    cutout: bool = False
    cable: bool = False


def cheapest_change(found: Assessment) -> Change | None:
    """The first of the usual changes, cheapest first, that makes cable and inverter good.

    Where they are good with limits, the first that lifts these. None where all is well, nothing is entered, or no
    such change does it. Order: joints (a wrench), fuse, both, cut-out (a setting), with a fuse, cable, cable and
    fuse; common practice, no source. Currents are kept as they are: less drop means no more current. A changed
    inverter is run at the centre alone, so it is good with limits at best.
    """
    wiring, checks = found.outing.wiring, {one.id: one for one in found.checks if one.id in CHAIN}
    before = worst(one.verdict for one in checks.values()) if checks else FITS
    if wiring is None or before == FITS:
        return None
    inverter = checks.get("inverter")
    need = circuit_need(found.batch, found.need, found.climate)
    cuts_out = inverter is not None and inverter.verdict == DOES_NOT_FIT
    helps = cuts_out and lowest_used_v(found.batch, wiring_ohm(wiring)) is not None
    tries = list(_tries(wiring, need, helps))
    stays = _stays(found, tries, inverter)
    for one, stay in zip(tries, stays, strict=True):
        of_wiring, of_inverter = judge_wiring(one.wiring, need).verdict, _inverter_after(inverter, one, stay)
        after = worst([of_wiring, *([] if of_inverter is None else [of_inverter])])
        if after in GOOD and (before not in GOOD or after == FITS):
            return _change(found, one, {"wiring": of_wiring, "inverter": of_inverter or FITS}, after)
    return None


def _tries(wiring: Wiring, need: CircuitNeed, cutout_helps: bool) -> Iterator[_Try]:
    """Candidates, cheapest first."""
    sound = replace(wiring, contact_resistance_ohm=SOUND_CONTACTS_OHM)
    loose = wiring.contact_resistance_ohm > SOUND_CONTACTS_OHM
    fused = _fused(wiring, need)
    if loose:
        yield _Try(sound, joints=True)
    if fused is not None:
        yield _Try(fused, fuse=True)
        if loose:
            yield _Try(replace(fused, contact_resistance_ohm=SOUND_CONTACTS_OHM), joints=True, fuse=True)
    if cutout_helps:
        yield _Try(wiring, cutout=True)
        if fused is not None:
            yield _Try(fused, fuse=True, cutout=True)
    thicker = [
        replace(wiring, size=awg_name(n), area_m2=awg_area_m2(n))
        for n in STANDARD_AWG
        if awg_area_m2(n) > wiring.area_m2 * 1.001
    ]
    yield from (_Try(one, cable=True) for one in thicker)
    both = ((one, _fused(one, need)) for one in thicker)
    yield from chain.from_iterable(
        (_Try(one, fuse=True, cable=True),
         _Try(replace(one, contact_resistance_ohm=SOUND_CONTACTS_OHM), joints=True, fuse=True, cable=True))
        for _, one in both if one is not None
    )  # fmt: skip


def _fused(wiring: Wiring, need: CircuitNeed) -> Wiring | None:
    """The same run with the smallest usual fuse of its window; None where there is none, or it has it already."""
    high = judge_wiring(wiring, need).ampacity_A
    size = None if high is None else suggest_fuse_a(judge_wiring(wiring, need).fuse_from_A, high)
    return None if size is None or size == wiring.fuse_a else replace(wiring, fuse_a=size)


def _stays(found: Assessment, tries: list[_Try], inverter: Check | None) -> list[bool]:
    """Whether the centre's inverter stays on with each candidate's ohms; one run of the engine for all."""
    if inverter is None or inverter.verdict != DOES_NOT_FIT or not tries:
        return [False] * len(tries)
    ohms = np.array([wiring_ohm(one.wiring) for one in tries])
    kinds, place = np.unique(ohms, return_inverse=True)
    return [bool(kept) for kept in stays_on(found.batch, kinds)[place]]


def _inverter_after(inverter: Check | None, one: _Try, stays: bool) -> str | None:
    """Verdict on the inverter with a change; less drop never makes it worse."""
    if inverter is None or inverter.verdict != DOES_NOT_FIT:
        return None if inverter is None else inverter.verdict
    return LIMITS if stays or one.cutout else DOES_NOT_FIT


def _change(found: Assessment, one: _Try, after: dict[str, str], verdict: str) -> Change:
    checks = [replace(check, verdict=after.get(check.id, check.verdict)) for check in found.checks]
    low = lowest_used_v(found.batch, wiring_ohm(one.wiring)) if one.cutout else None
    return Change(
        contacts_ohm=SOUND_CONTACTS_OHM if one.joints else None,
        fuse_a=one.wiring.fuse_a if one.fuse else None,
        cutout_below_v=low,
        conductor=one.wiring.size if one.cable else None,
        verdict=verdict,
        whole=overall(checks, found.outing.questions)[0],
    )
