"""What weakens an answer without deciding it: assumptions, gaps of the record, limits of the method."""

from __future__ import annotations

import math

import numpy as np

from planner.battery.gate import build_gate
from planner.battery.kind import kind_of
from planner.constants import SECONDS_PER_HOUR
from planner.explain.alternator_notes import alternator_notes
from planner.explain.bank_notes import bank_notes
from planner.explain.cautions import peak_is_shown
from planner.explain.energy_sentences import parameter
from planner.explain.install_notes import install_notes
from planner.explain.peak_sentences import RECOVERY
from planner.explain.words import about_time, amp_hours, listed, span_of, volts
from planner.install.leads import CONDITIONS, LeadLimit
from planner.record.schema import Record
from planner.verdict.assess import Assessment
from planner.verdict.batch import Batch
from planner.verdict.energy import SURE_ENOUGH
from planner.verdict.inverter import inrushes
from planner.verdict.links import lead_of
from planner.verdict.peak import recovery_of
from planner.verdict.winter_check import Winter

SERVED = 0.999  # of the power asked for: below it the load is not served
TENTH = 0.1
LEAST_HOT_H = 0.5  # of a year; less is told as no hour
SAME_KIND = (
    0.03  # mean voltages of one chemistry differ by less, whatever the current (common practice, no source)
)
SAME_SIZE = 0.10  # units of one kind and age differ by less in charge (common practice, no source)


def warnings(assessment: Assessment) -> tuple[str, ...]:
    """Everything to be told beside the answer, each once: of the files, of the tests, of the method."""
    record, outing, wiring = assessment.record, assessment.outing, assessment.wiring
    found = [
        one_unit(record),
        *between_units(record),
        *_of_the_run(assessment),
        *_of_the_draws(assessment),
        *_handbook(assessment),
    ]
    found += [*_inside(record.warnings, record.name), *_inside(outing.warnings, outing.name)]
    found += [*assessment.envelope.warnings, *_asked(assessment.envelope.questions)]
    found += assessment.bench.terminals.warnings if assessment.bench.terminals else ()
    if wiring is not None:
        found += [*alternator_notes(assessment), *wiring.warnings, *wiring.notes]
    found += [*_leads(assessment), *install_notes(assessment)]
    if assessment.winter is not None:
        found += winter_warnings(assessment.winter)
    else:
        gate = build_gate(record)
        found += [*gate.warnings, *_asked(gate.questions)]
    found += [*bank_notes(assessment), *_unlike(assessment)]
    if outing.bank is not None and outing.bank.units and not assessment.batch.units:
        found.append(
            "The units the bank names were not read apart: each is taken as one like the battery asked about."
        )
    found.append(
        "The heat or cold that charge itself brings with it (entropy) is left out; all losses are counted."
    )
    # a model that meets what the reader had to assume says so in the reader's words: it is told once, beside the file
    return tuple(dict.fromkeys(text for text in found if text not in record.warnings))


def _unlike(assessment: Assessment) -> list[str]:
    """What in a bank's own records speaks against joining them, and a battery asked about that is none of them."""
    units = assessment.batch.units
    found = []
    if units and assessment.record not in units:
        named = listed(list(dict.fromkeys(unit.name for unit in units)))
        found.append(
            f"The bank names {named}; {assessment.record.name}, the battery asked about, is none of them."
        )
    volts_in_middle = [
        test.energy_j / test.charge_c
        for unit in units
        for test in unit.capacity_tests[:1]
        if test.energy_j is not None and test.charge_c is not None
    ]
    if _apart(volts_in_middle, SAME_KIND):
        low, high = min(volts_in_middle), max(volts_in_middle)
        found.append(
            f"The bank's units gave their charge at {low:.1f} to {high:.1f} V in the middle: that is another "
            "chemistry, or a wrong record. Units of unlike kind must not be joined."
        )
    charges = [test.charge_c for unit in units for test in unit.capacity_tests[:1]]
    if _apart(charges, SAME_SIZE):
        span = f"{amp_hours(min(charges), 'near')} and {amp_hours(max(charges), 'near')}"
        found.append(
            f"The bank's units gave between {span}: they are of unlike size or age. Side by side they share by "
            "resistance, not by size. Join them only if their makers allow it."
        )
    return found


def _apart(values: list[float], share: float) -> bool:
    """Whether the largest is more than a share above the least."""
    return bool(values) and max(values) > (1.0 + share) * min(values)


def _leads(assessment: Assessment) -> list[str]:
    """The unit's own leads, where the plan asks more of them than the table allows."""
    limit = lead_of(assessment.record)
    over = next((one for one in assessment.links if one.link == "lead" and one.factor < 1.0), None)
    return (
        []
        if limit is None or over is None
        else [lead_text(limit, f"your plan's {over.asked:.0f} A over a minute")]
    )


def lead_text(limit: LeadLimit, asked: str) -> str:
    """What the table says of a lead inside the battery, with its conditions. asked : what stands against it."""
    guessed = "" if limit.insulation_stated else ", insulation not recorded"
    return (
        f"The lead {limit.size} inside the battery{guessed}: the table allows {limit.ampacity_a:.0f} A in air of 50 °C "
        f"and {limit.cool_a:.0f} A in air of 30 °C ({limit.source}), against {asked}. {CONDITIONS}."
    )


def winter_warnings(winter: Winter) -> tuple[str, ...]:
    """Warnings of the year: weather, handbook values of the place, and the gate's own."""
    found = [*winter.outlook.warnings, *winter.gate.warnings, *_asked(winter.gate.questions)]
    if winter.gate.missing:
        ends = listed([name.replace("_low", ", its lower end").replace("_high", ", its upper end")
                       .replace("block", "where charging is blocked").replace("resume", "where it resumes")
                       for name in winter.gate.missing])  # fmt: skip
        found.append(f"Not tested on this unit, but assumed: {ends}.")
    hot = winter.outlook.given.hours_hot
    if hot is not None and hot[0] >= LEAST_HOT_H:
        found.append(
            f"In {span_of(hot[0], hot[0], 'hours')} of the year the battery inside is above its maker's upper limit."
        )
    return tuple(dict.fromkeys(found))


def one_unit(record: Record) -> str:
    """How many were tested: the sentence every answer carries."""
    units = 1 + len(record.repeats)
    if units == 1:
        return "We tested one unit. Yours may differ. One unit that passes tells nothing about how many others would."
    return f"We tested {units} units. Yours may differ."


def between_units(record: Record) -> list[str]:
    """How far units of the kind differ, and whether that was seen or assumed."""
    kind = kind_of(record)
    found = []
    for what, among in (("in charge", kind.charge), ("in resistance", kind.resistance)):
        spread = f"{100.0 * among.spread:.2g} %"
        if among.spread_doubt is not None:
            doubt = 100.0 * among.spread_doubt
            found.append(
                f"The answer stands on the mean of {among.units} units {what}. They scatter about it by {spread}; so "
                f"few units tell their scatter only to within {doubt:.0f} %, and the spread of the answer counts that."
            )
        else:
            found.append(f"How far units of this kind differ {what} was not tested: {spread} is assumed.")
    return found


def _inside(texts: tuple[str, ...], name: str) -> list[str]:
    return [f"{name}: {text}" for text in texts]


def _asked(questions: tuple[str, ...]) -> list[str]:
    return [f"To ask the tester: {question}" for question in questions]


def _of_the_run(assessment: Assessment) -> list[str]:
    """What the centre run came upon."""
    found = []
    if not peak_is_shown(assessment):
        found.append(
            "How long it lasts, and how often, holds only if the unit does not switch itself off at the highest "
            f"current. {RECOVERY[recovery_of(assessment.batch)]}"
        )
    if not_served(assessment):
        found.append(
            "At some moment the loads ask for more power than battery and cable can bring to them: they will not run "
            "as entered."
        )
    batch = assessment.batch
    cutouts = np.unique(batch.timeline.cutout_v[np.isfinite(batch.timeline.cutout_v)])
    for cutout in cutouts:
        found.append(
            f"An inverter switches itself off below {volts(float(cutout), 'near')} at its own terminals; the run stops "
            f"at {volts(batch.setup.cutoff_v, 'near')} at the battery's."
        )
        if assessment.outing.wiring is None:
            found.append("No cable was entered: the inverter is taken to sit at the battery's terminals.")
    return list(dict.fromkeys([*found, *_inrush(batch)]))


def _inrush(batch: Batch) -> list[str]:
    """What flows into an inverter's capacitors at the moment it is connected."""
    found = []
    for name, bare, tamed in inrushes(batch):
        text = (
            f"Connecting {name!r} to a full battery charges its capacitors: up to {bare.peak_a:,.0f} A, falling with a "
            f"time constant of {1e6 * bare.tau_s:.0f} µs ({bare.i2t_a2s:.0f} A²s; inductance left aside, so the peak "
            "is a high estimate). Some protections take that for a short circuit, and it pits contacts."
        )
        if tamed is None:
            text += " A precharge resistor before the connection removes it."
        else:
            text += (
                f" Through its precharge resistor: {tamed.peak_a:.2g} A, full after {tamed.settled_s:.2g} s."
            )
        found.append(text)
    return found


def not_served(assessment: Assessment) -> bool:
    """Whether the centre run brought its loads less power than they asked for, in the first outing."""
    batch = assessment.batch
    trace = batch.run.trace
    if trace is None:
        return False
    bus_v, amps = trace.start_v[:, 0], trace.start_a[:, 0]
    load_v = bus_v - float(np.max(batch.setup.wiring_ohm)) * amps
    line = batch.walked  # the pieces that the trace counts by
    power = line.power_w.sum(axis=0)[trace.piece]
    other = line.conductance_s.sum(axis=0)[trace.piece] * load_v**2
    # of moving currents the part that flows at this moment is not kept: only pieces of steady current are looked at
    steady = np.all(line.current_start_a == line.current_end_a, axis=0)[trace.piece]
    asked = power + other + line.current_start_a.sum(axis=0)[trace.piece] * load_v
    with np.errstate(invalid="ignore"):
        short = np.isfinite(load_v) & steady & (power > 0.0) & (load_v * amps < SERVED * asked)
    return bool(short.any())


def _of_the_draws(assessment: Assessment) -> list[str]:
    """How well the draws tell their own results."""
    found = []
    share, draws = assessment.covered.completes, assessment.draws
    error = math.sqrt(share * (1.0 - share) / draws)  # binomial
    if abs(share - SURE_ENOUGH) <= 2.0 * error:
        found.append(
            f"The share of draws that last to the end is so close to nine in ten that another {draws:,} draws could "
            "turn the verdict on energy. More draws tell it better."
        )
    spread = p10_error_s(assessment)
    if spread:  # none where every draw ends alike, as at a trip
        low_h = assessment.runtime.p10_s / SECONDS_PER_HOUR
        found.append(
            f"Another {draws:,} draws would move the low end of the runtime, {low_h:.2f} h, by about "
            f"{about_time(spread, 'near')} either way."
        )
    return found


def p10_error_s(assessment: Assessment) -> float | None:
    """Standard error [s] of the runtime nine draws in ten reach; None when it is beyond the longest run.

    Half the distance of the order statistics one binomial standard deviation away on both sides.
    Source: distribution-free interval of a quantile, common statistics. The draws are a Latin hypercube, whose
    error is smaller, so this is a high estimate.
    """
    times = np.sort(assessment.batch.runtime_s()[assessment.batch.draws])
    count = len(times)
    away = math.sqrt(count * TENTH * (1.0 - TENTH))
    low = max(math.floor(TENTH * count - away), 0)
    high = min(math.ceil(TENTH * count + away), count - 1)
    if not (math.isfinite(times[high]) and math.isfinite(assessment.runtime.p10_s)):
        return None
    return float(times[high] - times[low]) / 2.0


def _handbook(assessment: Assessment) -> list[str]:
    """What of the model was not measured on this unit."""
    fitted = assessment.fitted
    names = [
        name
        for name, evidence in zip(fitted.plan.names, fitted.evidence, strict=True)
        if evidence == "handbook"
    ]
    words = list(dict.fromkeys(parameter(name) for name in names if name != "charge_factor"))
    if not words:
        return []
    return [
        f"Not measured on this unit, but assumed, with a spread that widens the range: {listed(words)}."
    ]
