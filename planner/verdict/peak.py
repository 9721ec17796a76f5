"""How hard for how long, against what the unit held and where it opened: the check `peak_current`."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from planner.battery.circuit import warmth
from planner.battery.current_evidence import Pass, at_most
from planner.battery.envelope import (
    CONFLICT,
    DEMONSTRATED,
    TRIPS,
    UNTESTED,
    WITHIN_METER_ERROR,
    Envelope,
    Zone,
    classify,
    covering_passes,
    worst,
)
from planner.battery.speaks import LOWEST_CHARGE, speaks_at, speaks_at_charge
from planner.outing.exceedance import Point, points
from planner.record.schema import Record
from planner.verdict.batch import Batch
from planner.verdict.check import DOES_NOT_FIT, FITS, NOT_PROVEN, Amount, Check, Told, weakest
from planner.verdict.energy import load_evidence
from planner.verdict.need import Need

OPEN = (UNTESTED, WITHIN_METER_ERROR)  # what one more hold may show
WORST_RECOVERY = ("charger", "unknown", "reconnect", "itself")
ONE_HOLD = 1.1  # a need that sinks by less, as the voltage of a steady power does, is one pull (common practice)


@dataclass(frozen=True, slots=True)
class Peak:
    """Every point of the need with its zone; worst : the one that decides, None when nothing is drawn.

    soc : lowest charge of each point's surroundings (fraction).
    """

    points: tuple[Point, ...]
    zones: tuple[Zone, ...]
    worst: int | None
    soc: tuple[float, ...]

    @property
    def zone(self) -> str:
        """The zone that decides."""
        return DEMONSTRATED if self.worst is None else self.zones[self.worst].name


@dataclass(frozen=True, slots=True)
class _Around:
    """What surrounds a point of the need: lowest charge, least headroom [V], coldest and warmest cells [K]."""

    soc: float
    head_v: float
    cold_k: float
    warm_k: float


def find_peak(batch: Batch, envelope: Envelope, need: Need) -> Peak:
    """Points of the need and the zone of each, by the passes that speak for its cells and charge."""
    found = points(need.trace)
    resistance: dict[float, float] = {}  # by temperature, worked out once for all points
    surroundings = _surroundings(batch, need, found)
    zones = tuple(
        _zone(batch, envelope, point, around, resistance)
        for point, around in zip(found, surroundings, strict=True)
    )
    if any(point.basis == "rms" and zone.name in OPEN for point, zone in zip(found, zones, strict=True)):
        whole = _as_one_pull(batch, envelope, need, resistance)
        if whole.name == DEMONSTRATED:
            zones = tuple(
                whole if point.basis == "rms" and zone.name in OPEN else zone
                for point, zone in zip(found, zones, strict=True)
            )
    where = [(point.current_a, point.duration_s) for point in found]
    return Peak(found, zones, worst(where, zones) if found else None, tuple(around.soc for around in surroundings))


def _surroundings(batch: Batch, need: Need, found: tuple[Point, ...]) -> list[_Around]:
    """Of every point: over the pieces that reach its current, or that its window touches."""
    edges, cutoff = need.trace.edges_s, batch.setup.cutoff_v
    high = np.maximum(need.trace.start_a, need.trace.end_a)
    falling = np.argsort(-high, kind="stable")
    reached = -high[falling]
    rows = (need.soc, need.v90_v, need.cell_k, -need.cell_k)
    running = [
        np.minimum.accumulate(row[falling]) for row in rows
    ]  # least so far, from the largest current on
    around = []
    for point in found:
        if point.basis == "run":
            last = int(np.searchsorted(reached, -point.threshold_a * (1.0 - 1e-9), side="right")) - 1
            soc, volts, cold, warm = (float(row[last]) for row in running)
        else:
            touched = (edges[1:] > point.start_s) & (edges[:-1] < point.start_s + point.duration_s)
            soc, volts, cold, warm = (float(row[touched].min()) for row in rows)
        around.append(_Around(soc, volts - cutoff, cold, -warm))
    return around


def carried_as_one(batch: Batch, envelope: Envelope, need: Need) -> bool:
    """Whether the bench carried the largest current for as long as the whole need draws, in such cells, and no less."""
    drawn = bool(need.trace.start_a.any() or need.trace.end_a.any())
    return drawn and _as_one_pull(batch, envelope, need, {}).name == DEMONSTRATED


def _as_one_pull(batch: Batch, envelope: Envelope, need: Need, resistance: dict[float, float]) -> Zone:
    """The zone of the largest current held without a break from the first moment anything flows to the last.

    Where that is demonstrated, so is every window of the outing, also one longer than the hold: at no moment does more
    flow than in the hold, and nothing before or after it. What heats a protection or counts its time only grows with
    the current it has seen (a property of every sum of past heat and of every delay; hand proof, no source). A charge
    that flows heats too, so a current counts by its size.
    """
    size_a = np.maximum(np.abs(need.trace.start_a), np.abs(need.trace.end_a))
    flows = np.flatnonzero(size_a > 0.0)
    first, last = int(flows[0]), int(flows[-1]) + 1
    begin_s, end_s = float(need.trace.edges_s[first]), float(need.trace.edges_s[last])
    level_a = float(size_a.max())
    pull = Point(level_a, end_s - begin_s, "run", level_a, begin_s)
    inside = slice(first, last)
    around = _Around(
        float(need.soc[inside].min()), float(need.v90_v[inside].min()) - batch.setup.cutoff_v,
        float(need.cell_k[inside].min()), float(need.cell_k[inside].max()),
    )  # fmt: skip
    return _zone(batch, envelope, pull, around, resistance)


def _zone(batch: Batch, envelope: Envelope, point: Point, around: _Around,
          resistance: dict[float, float]) -> Zone:  # fmt: skip
    soc, head, ends = around.soc, around.head_v, {around.cold_k, around.warm_k}
    covers = covering_passes(envelope, point.current_a, point.duration_s)
    condemned = any(trip.condemns(point.current_a, point.duration_s) for trip in envelope.trips)
    if not covers and not condemned:
        # longer than the charge lasts: the battery is empty by then, which is for the energy to say
        covers = tuple(held for held in envelope.passes if held.full_discharge and held.covers(point.current_a, 0.0))
    covering = [held.cell_k for held in covers]
    if (
        len(covering) > 2
    ):  # a pass speaks between its own temperature and another's, so the outermost say it all
        covering = [min(covering), max(covering)]

    def speaks(held: Pass) -> bool:
        if not speaks_at_charge(held, soc, head):
            return False
        here = _resistance(batch, held.cell_k, resistance) * max(held.current_a, 1e-9)
        return all(
            speaks_at(
                held, kelvin, covering, head, point.current_a * _resistance(batch, kelvin, resistance) / here
            )
            for kelvin in ends
        )

    zone = classify(envelope, point.current_a, point.duration_s, speaks, covers)
    # what carried as much in other cells is told beside it
    return replace(zone, entries=covers) if zone.name == UNTESTED else zone


def _resistance(batch: Batch, kelvin: float, known: dict[float, float]) -> float:
    """Whole resistance of the centre's unit at a temperature [ohm]."""
    if kelvin not in known:
        circuit = batch.fitted.centre_circuit
        warm = warmth(circuit, np.full((1, 1, 1), kelvin))
        known[kelvin] = float(warm.r0_ohm[0, 0, 0] + warm.pair_ohm.sum())
    return known[kelvin]


def peak_check(batch: Batch, peak: Peak) -> Check:
    """The check `peak_current`, decided by the worst point."""
    if peak.worst is None:
        return Check("peak_current", FITS, "measured", Told("nothing_drawn"))
    point, zone = peak.points[peak.worst], peak.zones[peak.worst]
    parts = {
        "current_a": point.current_a, "duration_s": point.duration_s, "basis": point.basis, "zone": zone.name,
        "by": zone.by, "recovery": recovery_of(batch), "entries": zone.entries,
        "coldest_k": min(batch.outing.cell_k, batch.outing.ambient_k),
        "warmest_k": max(batch.outing.cell_k, batch.outing.ambient_k), "hides_s": hidden_s(batch),
    }  # fmt: skip
    need = load_evidence(batch)
    # what was drawn between the readings of a slow log is the buyer's to say
    kept = "stated" if need == "handbook" or (need in ("measured", "logged") and hidden_s(batch)) else need
    amount = Amount(point.current_a, "A")
    if zone.name == TRIPS:
        return Check("peak_current", DOES_NOT_FIT, "measured", Told("peak_trips", parts), amount)
    if zone.name == DEMONSTRATED:
        margin = zone.margin_a or 0.0
        verdict = NOT_PROVEN if need == "claimed" else FITS
        code = "claimed_load" if need == "claimed" else "peak_demonstrated"
        able = Amount(point.current_a + margin, "A")
        return Check(
            "peak_current",
            verdict,
            weakest(["measured", kept]),
            Told(code, parts),
            amount,
            able,
            None,
            Amount(margin, "A"),
            settled_by=Told("buyer_log") if need == "claimed" else None,
        )
    code = {CONFLICT: "peak_conflict"}.get(zone.name, "peak_" + zone.name.replace(" ", "_"))
    settled = settled_by(peak, peak.worst, parts)
    return Check("peak_current", NOT_PROVEN, "unknown", Told(code, parts), amount, settled_by=settled)


def settled_by(peak: Peak, decides: int, parts: dict[str, Any]) -> Told:
    """What would tell: no further pass takes a contradiction away, and no hold speaks for a nearly empty battery.

    A hold has to last as long as the need stays open and close to the current that decides, whether untested or
    within the meter's error: else it only moves the question on.
    """
    if peak.zones[decides].name == CONFLICT:
        return Told("conflict_explained", parts)
    if not at_most(LOWEST_CHARGE, peak.soc[decides]):
        return Told("pull_nearly_empty", parts)
    held_a = peak.points[decides].current_a
    rows = zip(peak.points, peak.zones, peak.soc, strict=True)
    left = [(point, soc) for point, zone, soc in rows if zone.name in OPEN]
    longest_s = max(
        point.duration_s
        for point, soc in left
        if point.current_a >= held_a / ONE_HOLD and at_most(LOWEST_CHARGE, soc)
    )
    others = any(not at_most(one.current_a, held_a) or one.duration_s > longest_s for one, _ in left)
    return Told("hold_test", {**parts, "duration_s": longest_s, "others": others})


def hidden_s(batch: Batch) -> float:
    """How long a pull may be that a recorded load of the outing does not show [s]; 0 where none is that slow."""
    return max((load.log.hides_s for load in batch.outing.loads if load.log is not None), default=0.0)


def recovery_of(batch: Batch) -> str:
    """How the unit came back after a trip: the worst that was seen, of a bank's units too, unknown when nothing was."""
    found = {_recovery(unit) for row in batch.branch_units for unit in row}
    return next(how for how in WORST_RECOVERY if how in found)


def _recovery(record: Record) -> str:
    seen = {test.recovery for test in record.current_tests if test.ended_by == "trip"}
    return next((how for how in WORST_RECOVERY if how in seen), "unknown")
