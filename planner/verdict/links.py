"""Which link between battery and load gives first: each link's own limit over what the outing asks of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from planner.battery.envelope import DEMONSTRATED, TRIPS, Envelope, largest_demonstrated_a
from planner.install.circuit import WiringResult
from planner.install.inverter import power_at_cutout_w
from planner.install.leads import LeadLimit, lead_limit
from planner.outing.exceedance import Trace, rms_a, rolling_rms_a
from planner.record.schema import Record
from planner.verdict.batch import Batch
from planner.verdict.check import Check
from planner.verdict.peak import Peak
from planner.verdict.wiring_check import WINDOW_S, hidden_a, source_ohm

GIVES, SHOWN, CHOSEN = "gives", "shown", "chosen"


@dataclass(frozen=True, slots=True)
class LinkLimit:
    """How far one link is from giving.

    link : battery | lead | fuse | cable | drop | inverter | terminals. factor : the outing's currents times this
    and the link gives, or stands where nothing is shown; below 1 the outing as entered is beyond it.
    asked, limit : what is asked and where it gives, in `unit`. kind : gives (a reading or a rule says that it gives
    there), shown (nothing is known beyond), chosen (a limit the buyer sets).
    """

    link: str
    factor: float
    asked: float
    limit: float
    unit: str
    kind: str
    source: str


def rank_links(batch: Batch, envelope: Envelope, peak: Peak, branch: Trace, wiring: WiringResult | None,
               heat: Check | None) -> tuple[LinkLimit, ...]:  # fmt: skip
    """Every link with a limit, the one that gives first in front.

    branch : current of the hardest-loaded branch of a bank, of the battery where it is alone.
    Each factor moves all currents alike and leaves charge, heat and cold as they are: an order, not a promise.
    """
    found = [_battery(envelope, peak), *_cable(wiring), _inverter(batch), _terminals(batch, heat)]
    lead = _lead(batch.record, branch)
    present = [one for one in (*found, lead) if one is not None and math.isfinite(one.factor)]
    return tuple(sorted(present, key=lambda one: (one.factor, one.link)))


def _battery(envelope: Envelope, peak: Peak) -> LinkLimit | None:
    """The unit's own protection: where it opened, else what it was shown to hold."""
    if peak.worst is None:
        return None
    point, zone = peak.points[peak.worst], peak.zones[peak.worst]
    if zone.name == TRIPS:
        opened = min(
            trip.current_a for trip in envelope.trips if trip.condemns(point.current_a, point.duration_s)
        )
        return LinkLimit(
            "battery", opened / point.current_a, point.current_a, opened, "A", GIVES, "trip on the bench"
        )
    pairs = [
        (one.current_a, one.current_a + state.margin_a)
        for one, state in zip(peak.points, peak.zones, strict=True)
        if state.name == DEMONSTRATED and state.margin_a is not None and one.current_a > 0.0
    ]
    if zone.name != DEMONSTRATED:
        held = largest_demonstrated_a(envelope, point.duration_s) or 0.0
        pairs = [(point.current_a, min(held, point.current_a))]
    asked, able = min(pairs, key=lambda pair: pair[1] / pair[0])
    return LinkLimit("battery", able / asked, asked, able, "A", SHOWN, "tests on the bench")


def _cable(wiring: WiringResult | None) -> list[LinkLimit]:
    """Ampacity, fuse and drop, under the hardest minute."""
    if wiring is None or wiring.current_A <= 0.0:
        return []
    found, asked = [], wiring.current_A
    if wiring.ampacity_A is not None:
        found.append(LinkLimit("cable", wiring.ampacity_A / asked, asked, wiring.ampacity_A, "A", GIVES,
                               wiring.ampacity_source))  # fmt: skip
    if wiring.fuse_A is not None:
        found.append(LinkLimit("fuse", wiring.fuse_A / asked, asked, wiring.fuse_A, "A", GIVES,
                               "its rating, the highest current it is meant to carry"))  # fmt: skip
    if wiring.drop_judged_percent > 0.0:
        allowed, lost = wiring.drop_allowed_percent, wiring.drop_judged_percent
        found.append(LinkLimit("drop", allowed / lost, lost, allowed, "%", CHOSEN, "the drop you allow"))
    return found


def _inverter(batch: Batch) -> LinkLimit | None:
    """The most power its input gets before its cut-out, at the centre run's moment of least voltage there.

    All current of that moment is taken as constant power behind the bank's first resistance and the wiring.
    """
    loads = np.flatnonzero(np.isfinite(batch.timeline.cutout_v))
    trace = batch.run.trace
    if not len(loads) or trace is None:
        return None
    cutout = float(batch.timeline.cutout_v[loads].max())
    wired = float(np.max(batch.setup.wiring_ohm))
    loop = wired + source_ohm(batch)
    # a piece shorter than the cut-out's own delay cannot switch it off
    lasts = np.diff(batch.walked.edges_s) >= float(np.nanmin(batch.timeline.cutout_delay_s[loads]))
    used = (batch.walked.uses_inverter[loads].any(axis=0) & lasts)[trace.piece]
    best: LinkLimit | None = None
    above = hidden_a(batch, lasting=True)
    for bus_v, bus_a in ((trace.start_v[:, 0], trace.start_a[:, 0]), (trace.end_v[:, 0], trace.end_a[:, 0])):
        volts, amps = bus_v - above * source_ohm(batch), bus_a + above
        good = (
            used & np.isfinite(volts) & np.isfinite(amps) & (amps > 0.0) & (trace.start_s < batch.duration_s)
        )
        if not good.any():
            continue
        step = np.flatnonzero(good)[np.argmin((volts - wired * amps)[good])]
        open_v = float(volts[step]) + float(amps[step]) * (loop - wired)
        asked = (float(volts[step]) - wired * float(amps[step])) * float(amps[step])
        most = power_at_cutout_w(open_v, loop, max(cutout, open_v / 2.0))
        one = LinkLimit("inverter", most / asked, asked, most, "W", GIVES, f"its cut-out of {cutout:g} V")
        best = one if best is None or one.factor < best.factor else best
    return best


def _terminals(batch: Batch, heat: Check | None) -> LinkLimit | None:
    """The terminals' worst temperature against the limit chosen: the rise goes with the square of the current."""
    if heat is None or heat.need is None or heat.need.unit != "degC" or heat.capability is None:
        return None
    rise, room = (
        heat.need.value_si - batch.outing.ambient_k,
        heat.capability.value_si - batch.outing.ambient_k,
    )
    if rise <= 0.0:
        return None
    return LinkLimit("terminals", math.sqrt(max(room, 0.0) / rise), heat.need.value_si, heat.capability.value_si,
                     "degC", CHOSEN, "readings on the bench, scaled by the square of the current")  # fmt: skip


def lead_of(record: Record) -> LeadLimit | None:
    """The table's limit of the unit's own leads; None where nobody looked inside."""
    seen = record.teardown
    if seen is None:
        return None
    pairs = ((seen.positive_lead, seen.positive_area_m2), (seen.negative_lead, seen.negative_area_m2))
    return lead_limit(tuple((size, area) for size, area in pairs if size and area), seen.insulation_k)


def hardest_minute_a(trace: Trace) -> float:
    """Largest RMS current over a minute, over the whole where it is shorter [A]."""
    length = float(trace.edges_s[-1] - trace.edges_s[0])
    return rolling_rms_a(trace, WINDOW_S)[0] if length >= WINDOW_S else rms_a(trace)


def _lead(record: Record, branch: Trace) -> LinkLimit | None:
    limit, asked = lead_of(record), hardest_minute_a(branch)
    if limit is None or asked <= 0.0:
        return None
    return LinkLimit("lead", limit.ampacity_a / asked, asked, limit.ampacity_a, "A", GIVES, limit.source)
