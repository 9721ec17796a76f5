"""Several units together: who carries what, and what happens when one is lost. The check `bank`."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.battery.envelope import (
    DEMONSTRATED,
    TRIPS,
    WORST_FIRST,
    Envelope,
    build_envelope,
    largest_demonstrated_a,
)
from planner.outing.exceedance import longest_run_s, trace_at
from planner.outing.schema import Outing
from planner.simulate.setup import Trace
from planner.verdict.batch import Batch, make_setup, walk
from planner.verdict.check import DOES_NOT_FIT, FITS, LIMITS, NOT_PROVEN, Check, Told, weakest
from planner.verdict.energy import SLACK_S, load_evidence
from planner.verdict.need import Need, need_of
from planner.verdict.peak import Peak, find_peak, settled_by

Floats = NDArray[np.float64]

STEADY_S = 60.0


@dataclass(frozen=True, slots=True)
class Branch:
    """One parallel branch in the centre run. Currents of the first piece at the largest load [A]."""

    unit: int
    lead_ohm: float
    start_soc: float
    first_a: float
    at_60s_a: float | None
    steady_a: float
    max_a: float
    charge_c: float
    zone: str


@dataclass(frozen=True, slots=True)
class Loss:
    """One unit lost: the rest on the same outing. shed_to_a : largest load the rest is shown to carry."""

    lost: int
    verdict: str
    survivor_a: float
    zone: str
    shed_to_a: float | None
    completes: bool


@dataclass(frozen=True, slots=True)
class BankResult:
    """The bank as simulated. peaks : one a branch, the hardest-loaded first in hardest.

    envelopes : one a branch, of the unit its peak is judged by.
    """

    load_a: float
    imbalance: float
    branches: tuple[Branch, ...]
    losses: tuple[Loss, ...]
    peaks: tuple[Peak, ...]
    hardest: int
    envelopes: tuple[Envelope, ...]


def judge_bank(batch: Batch, envelope: Envelope) -> BankResult | None:
    """Simulate, read each branch, and rerun with each unit absent; None without a bank of several units."""
    bank = batch.outing.bank
    if bank is None or bank.parallel * bank.series < 2:
        return None
    each = branch_envelopes(batch, envelope)
    judged = tuple(_string_peak(batch, each[k], need_of(batch, k)) for k in range(bank.parallel))
    peaks = tuple(peak for peak, _ in judged)
    branches = _branches(batch, peaks)
    first = [branch.first_a for branch in branches]
    hardest = int(np.argmax([branch.max_a for branch in branches]))
    losses = _losses(batch, envelope) if bank.parallel > 1 else ()
    mean = float(np.mean(first))
    imbalance = max(first) / mean - 1.0 if mean > 0.0 else 0.0
    own = tuple(envelope for _, envelope in judged)
    return BankResult(_largest_load(batch)[0], imbalance, branches, losses, peaks, hardest, own)


def branch_envelopes(batch: Batch, envelope: Envelope) -> tuple[tuple[Envelope, ...], ...]:
    """The envelopes of each branch: of all its different units, which carry the same current."""
    if not batch.units:
        return ((envelope,),) * len(batch.setup.lead_ohm)
    return tuple(tuple(build_envelope(record) for record in row) for row in batch.branch_units)


def _string_peak(batch: Batch, string: tuple[Envelope, ...], need: Need) -> tuple[Peak, Envelope]:
    """The peak of the unit of a string that has the least room, and that unit's envelope."""

    def badness(judged: tuple[Peak, Envelope]) -> tuple[int, float]:
        peak = judged[0]
        margin_a = None if peak.worst is None else peak.zones[peak.worst].margin_a
        return WORST_FIRST.index(peak.zone), math.inf if margin_a is None else margin_a

    return min(((find_peak(batch, own, need), own) for own in string), key=badness)


def _largest_load(batch: Batch) -> tuple[float, int]:
    """The centre's largest total current [A] and the first step at it."""
    trace = batch.run.trace
    assert trace is not None
    high = np.maximum(np.nan_to_num(trace.start_a[:, 0]), np.nan_to_num(trace.end_a[:, 0]))
    largest = float(high.max(initial=0.0))
    step = int(np.argmax(high >= largest * (1.0 - 1e-9))) if len(high) else 0
    return largest, step


def _branches(batch: Batch, peaks: tuple[Peak, ...]) -> tuple[Branch, ...]:
    trace, bank = batch.run.trace, batch.outing.bank
    assert trace is not None and bank is not None
    _, step = _largest_load(batch)
    piece = np.flatnonzero(trace.piece == trace.piece[step])
    begin = float(trace.start_s[piece[0]])
    span = (trace.end_s - trace.start_s)[:, np.newaxis]
    charge = np.nansum(0.5 * (trace.branch_start_a + trace.branch_end_a) * span, axis=0)
    starts = bank.start_charges or (batch.outing.start_soc,) * bank.parallel
    found = []
    for k in range(bank.parallel):
        amps = np.append(trace.branch_start_a[piece[0], k], trace.branch_end_a[piece, k])
        times = np.append(begin, trace.end_s[piece]) - begin
        at_60 = float(np.interp(STEADY_S, times, amps)) if times[-1] >= STEADY_S else None
        high = np.nanmax(np.maximum(trace.branch_start_a[:, k], trace.branch_end_a[:, k]))
        live = amps[np.isfinite(amps)]
        found.append(
            Branch(
                k + 1,
                float(batch.setup.lead_ohm[k]),
                float(starts[k]),
                float(amps[0]),
                at_60,
                float(live[-1]),
                float(high),
                float(charge[k]),
                peaks[k].zone,
            )
        )
    return tuple(found)


def _losses(batch: Batch, envelope: Envelope) -> tuple[Loss, ...]:
    """The whole run again with each branch absent."""
    bank = batch.outing.bank
    assert bank is not None
    return tuple(_without(batch, envelope, k) for k in range(bank.parallel))


def _without(batch: Batch, envelope: Envelope, lost: int) -> Loss:
    outing = _smaller(batch.outing, lost)
    bank = outing.bank
    assert bank is not None
    # two columns of the centre: the second stands in for a draw
    centre = batch.scenarios.circuit.select(np.array([0, 0])).without_branch(lost)
    smallest_c, factor = batch.setup.size_charge_c, np.ones((len(outing.loads), 2))
    setup = make_setup(batch.record, outing, smallest_c, factor, batch.units)
    walked, run = walk(batch.timeline, centre, setup)
    alone = replace(batch.scenarios, circuit=centre, first_draw=1)
    rest = replace(batch, outing=outing, setup=setup, walked=walked, run=run, scenarios=alone)
    each = [own for k, own in enumerate(branch_envelopes(batch, envelope)) if k != lost]
    zones = [_string_peak(rest, each[k], need_of(rest, k))[0].zone for k in range(bank.parallel)]
    zone = min(zones, key=WORST_FIRST.index)
    completes = float(run.end_s[0]) >= batch.duration_s - SLACK_S
    verdict = DOES_NOT_FIT if zone == TRIPS or not completes else FITS if zone == DEMONSTRATED else NOT_PROVEN
    trace = run.trace
    assert trace is not None
    hardest = float(np.nanmax(np.maximum(trace.branch_start_a, trace.branch_end_a)))
    whole = trace_at(batch.timeline, batch.setup.cutoff_v)
    level = float(max(whole.start_a.max(initial=0.0), whole.end_a.max(initial=0.0)))
    lasting = max(float(longest_run_s(whole, level)[0]), 1.0) if level > 0.0 else 1.0
    held = [largest_demonstrated_a(own, lasting) for string in each for own in string]
    shares = [share for share, string in zip(_shares(trace), each, strict=True) for _ in string]
    known = [a / share for a, share in zip(held, shares, strict=True) if a is not None]
    shed = min(known) if len(known) == len(held) else None
    return Loss(lost + 1, verdict, hardest, zone, shed, completes)


def _shares(trace: Trace) -> Floats:
    """Largest part of the bank's largest load that each branch carries in the centre run, (branches,)."""
    each = np.concatenate([trace.branch_start_a, trace.branch_end_a])
    whole = np.nan_to_num(each.sum(axis=1))
    if whole.max() <= 0.0:
        return np.full(each.shape[1], 1.0 / each.shape[1])
    hardest = whole >= whole.max() * (1.0 - 1e-9)
    shares: Floats = (each[hardest] / whole[hardest, np.newaxis]).max(axis=0)
    return shares


def _smaller(outing: Outing, lost: int) -> Outing:
    """The same outing with one branch fewer."""
    bank = outing.bank
    assert bank is not None
    keep = [k for k in range(bank.parallel) if k != lost]
    fewer = replace(
        bank,
        parallel=bank.parallel - 1,
        lead_resistances_ohm=tuple(bank.lead_resistances_ohm[k] for k in keep)
        if bank.lead_resistances_ohm
        else (),
        start_charges=tuple(bank.start_charges[k] for k in keep) if bank.start_charges else (),
    )
    return replace(outing, bank=fewer)


def bank_check(batch: Batch, found: BankResult | None, asked: bool) -> Check | None:
    """The check `bank`: the worst branch's zone, permission for series, and what one lost unit leaves."""
    if found is None:
        if not asked:
            return None
        return Check("bank", NOT_PROVEN, "unknown", Told("bank_missing"), settled_by=Told("enter_bank"))
    need = load_evidence(batch)
    kept = weakest(["measured", "stated" if need == "handbook" else need])
    zone = found.peaks[found.hardest].zone
    zones = [branch.zone for branch in found.branches]
    parts = {"load_a": found.load_a, "imbalance": found.imbalance, "zone": zone, "branches": found.branches,
             "losses": found.losses, "series": batch.setup.series}  # fmt: skip
    if TRIPS in zones:
        return Check("bank", DOES_NOT_FIT, "measured", Told("bank_trips", parts))
    allowed = {one.series_allowed for row in batch.branch_units for one in row}
    if batch.setup.series > 1 and allowed != {True}:
        refused = False in allowed
        code = "series_refused" if refused else "series_unknown"
        return Check("bank", DOES_NOT_FIT if refused else NOT_PROVEN, "unknown", Told(code, parts),
                     settled_by=None if refused else Told("series_permission"))  # fmt: skip
    if any(name != DEMONSTRATED for name in zones):
        return Check(
            "bank",
            NOT_PROVEN,
            "unknown",
            Told("bank_not_proven", parts),
            settled_by=_settled_by(batch, found, parts),
        )
    if any(loss.verdict != FITS for loss in found.losses):
        return Check("bank", LIMITS, kept, Told("bank_limits", parts), limit=Told("bank_limit", parts))
    return Check("bank", FITS, kept, Told("bank_fits", parts))


def _settled_by(batch: Batch, found: BankResult, parts: dict[str, Any]) -> Told:
    """What would tell of the branch that decides: a hold of one unit alone, as its share is what nobody tested.

    Reading the shares on the buyer's own leads changes nothing where they are as worked out.
    """
    bank = batch.outing.bank
    assert bank is not None
    _, peak = min(enumerate(found.peaks), key=lambda one: (WORST_FIRST.index(one[1].zone), one[0] != found.hardest))
    assert peak.worst is not None
    point = peak.points[peak.worst]
    told = settled_by(peak, peak.worst, {"current_a": point.current_a})
    if told.code != "hold_test":
        return told
    leads = bank.lead_resistances_ohm
    uneven = bool(leads) and max(leads) > min(leads)
    own = {"even_a": found.load_a / bank.parallel if uneven else None, "alike": not batch.units}
    return Told("bank_hold", {**parts, **told.parts, **own})
