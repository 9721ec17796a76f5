"""What has to be said beside the numbers of a cable run.

Warnings depend on the case; notes stand beside every answer.
"""

from __future__ import annotations

from collections.abc import Iterator

from planner.constants import COPPER_REFERENCE_K, ZERO_CELSIUS_K
from planner.install.ampacity import Ampacity, whole_amperes
from planner.install.circuit import Cable, CircuitNeed, WiringResult
from planner.install.conductor import (
    area_for_drop_m2,
    awg_area_m2,
    awg_name,
    gauge_for_drop,
    loop_length_m,
    resistance_ohm,
    sae_area_m2,
    shown_size,
)
from planner.install.joints import contact_drop_v, contact_heat_w
from planner.install.overcurrent import PLACEMENTS, exceeds, legal_fuse_max_a, suggest_fuse_a
from planner.install.short_time import ADIABATIC_UNTIL_S, conductor_k, time_to_limit_s
from planner.install.sources import LICENSED, TABLE_5, TABLE_5_EDITION
from planner.install.time_current import OPERATING_CLASSES, nuisance, operating_class, protects

# ABYC E-11 as quoted: panel feeders, bilge blowers, electronics and navigation lights lose 3 % at most.
STRICT_DROP_PERCENT = 3.0
ALL_PERCENT = 100.0
# Beyond this multiple of the table a slip in size, unit or current is likelier than a real plan. Common
# practice, no source.
IMPLAUSIBLE_LOAD = 2.0
# A row is "the size itself" within this; a metric size that is no AWG is farther off.
SAME_SIZE = 0.01
SEPARATE_SMALLEST_AWG = 16  # 33 CFR 183.425(e)


def _size_warnings(cable: Cable, cell: Ampacity | None) -> Iterator[str]:
    if cell is None:
        yield f"{TABLE_5.text} has no cell for {shown_size(cable.size)}: nothing says what it may carry."
        return
    if cable.insulation_k is None:
        yield "Insulation not stated: the 60 °C column, the lowest, is used."
    elif round(cable.insulation_k - ZERO_CELSIUS_K) != cell.column_c:
        stated_c = cable.insulation_k - ZERO_CELSIUS_K
        column = f"the next lower, {cell.column_c} °C, is used"
        yield f"Insulation of {stated_c:.0f} °C has no column: {column}."
    if abs(cable.area_m2 / awg_area_m2(cell.awg) - 1.0) > SAME_SIZE:
        yield f"{shown_size(cable.size)} is not a row of the table: {awg_name(cell.awg)}, the next thinner, is used."
    if cell.awg > SEPARATE_SMALLEST_AWG:
        yield (
            f"{awg_name(cell.awg)} is allowed inside a sheath of several conductors only; AWG 16 is the "
            "smallest installed separately (33 CFR 183.425(d), (e))."
        )
    if cell.bundle_factor != 1.0:
        yield (
            f"Bundle factor {cell.bundle_factor:.2f} applied because the cable is said to be bundled; the "
            "regulation asks for it at 50 V and above only (33 CFR 183.435)."
        )


def _load_warnings(cable: Cable, need: CircuitNeed, cell: Ampacity | None) -> Iterator[str]:
    if loop_length_m(cable.length_m) == 0.0:
        yield "Cable length is 0 m: no conductor is counted. Give the length one way."
    if cell is not None and need.current_rms60_a > IMPLAUSIBLE_LOAD * cell.value_a:
        yield (
            f"{need.current_rms60_a:.0f} A through {shown_size(cable.size)}: the table allows "
            f"{whole_amperes(cell.value_a)} A. Check size, unit and current."
        )


def _for_strict_drop(cable: Cable, need: CircuitNeed) -> str:
    """Copper that would keep it, joints left out: by area, and by the SAE-sized gauge of the small-craft form."""
    loop, allowed_v = loop_length_m(cable.length_m), STRICT_DROP_PERCENT / 100.0 * need.base_v
    area_mm2 = 1e6 * area_for_drop_m2(need.drop_current_a, loop, allowed_v)
    gauge = gauge_for_drop(need.drop_current_a, loop, allowed_v)
    named = "no single SAE size" if gauge is None else f"{awg_name(gauge)} by SAE area"
    return f" Sound joints apart it takes {area_mm2:.1f} mm² of copper, {named}."


def _drop_warnings(
    cable: Cable, need: CircuitNeed, cell: Ampacity | None, result: WiringResult
) -> Iterator[str]:
    judged = result.drop_judged_percent
    if exceeds(judged, STRICT_DROP_PERCENT):
        much = f"{judged:.1f} %" if judged < ALL_PERCENT else "more than all"
        yield (
            f"Voltage drop of {much} of {need.base_v:.1f} V at {need.drop_current_a:.0f} A is above "
            f"{STRICT_DROP_PERCENT:.0f} %: too much for feeders, bilge blowers, electronics and navigation "
            f"lights (classes of ABYC E-11, as quoted).{_for_strict_drop(cable, need)}"
        )
    allowed_v = cable.allowed_drop * need.base_v
    if exceeds(judged, 100.0 * cable.allowed_drop):
        return
    if result.drop_warm_V is not None and exceeds(result.drop_warm_V, allowed_v):
        grown = f"{result.drop_warm_V:.2f} V, above the {allowed_v:.2f} V allowed"
        yield f"Once the copper is warm the drop grows to {grown}."
    sae_m2 = sae_area_m2(cell.awg) if cell is not None and cable.size.upper().startswith("AWG") else None
    if sae_m2 is not None and sae_m2 < cable.area_m2:
        ohm = resistance_ohm(sae_m2, loop_length_m(cable.length_m), COPPER_REFERENCE_K, stranded=False)
        thin_v = need.drop_current_a * (ohm + cable.contact_resistance_ohm)
        if exceeds(thin_v, allowed_v):
            yield (
                f"If the cable is of SAE size under the same number its drop is {thin_v:.2f} V, above the "
                f"{allowed_v:.2f} V allowed: measure or ask for its area."
            )


def _interrupt_warnings(result: WiringResult) -> Iterator[str]:
    estimate = f"{result.short_circuit_A:,.0f} A estimated at the battery's terminals, which is no upper bound"
    if result.interrupt == "unknown":
        yield f"Interrupting rating not stated: choose one well above the {estimate}."
    elif result.interrupt == "below":
        yield f"Interrupting rating is below the {estimate}: the fuse may fail to break a short circuit."
    elif result.interrupt == "close":
        yield f"Interrupting rating is close to the {estimate}: choose one well above."


def _class_warnings(cable: Cable, need: CircuitNeed, result: WiringResult) -> Iterator[str]:
    if cable.fuse_a is None or cable.fuse_class is None:
        return
    kind = operating_class(cable.fuse_class)
    if kind is None:
        yield (
            f"We hold no published opening times of a fuse of class {cable.fuse_class!r}, so the pull and the short "
            f"circuit are not checked against it. We hold those of {', '.join(OPERATING_CLASSES)}."
        )
        return
    if need.peak_s is not None:
        opens = nuisance(kind, cable.fuse_a, need.peak_a, need.peak_s)
        peak = f"{need.peak_a:.0f} A for {need.peak_s:.3g} s"
        if opens == "yes":
            yield f"{peak} may open the {cable.fuse_a:g} A fuse ({kind.name}, fast edge)."
        elif opens == "unknown":
            fuse = f"the {cable.fuse_a:g} A fuse"
            yield f"Whether {peak} opens {fuse} is unknown: {kind.name} publishes no edge there."
    k = conductor_k(cable.insulation_k)
    if k is None:
        return
    fault_a = result.short_circuit_end_A
    stands_s = min(time_to_limit_s(cable.area_m2, fault_a, k), ADIABATIC_UNTIL_S)
    answer = protects(kind, cable.fuse_a, fault_a, stands_s)
    if answer != "yes":
        held = "may not open" if answer == "no" else "is not known to open"
        yield (
            f"At a short circuit of {fault_a:,.0f} A at the far end the {cable.fuse_a:g} A fuse {held} "
            f"within the {stands_s:.2g} s the cable stands ({kind.name}, slow edge)."
        )


def _window_warnings(result: WiringResult) -> Iterator[str]:
    high_a = result.fuse_high_A
    low_a = result.fuse_from_A
    if high_a is None or exceeds(low_a, high_a):
        return
    if suggest_fuse_a(low_a, high_a) is None:
        yield (
            f"No usual fuse size lies between {low_a:.1f} A and {high_a:.1f} A: "
            "a thicker conductor widens the window."
        )


def wiring_warnings(
    cable: Cable, need: CircuitNeed, cell: Ampacity | None, result: WiringResult
) -> tuple[str, ...]:
    """Warnings of one cable run, in the order conductor, load, drop, fuse.

    cable, need : as judged. cell : the table's cell, None when it has none. result : figures and verdict.
    """
    return (
        *_size_warnings(cable, cell),
        *_load_warnings(cable, need, cell),
        *_drop_warnings(cable, need, cell, result),
        *_window_warnings(result),
        *_interrupt_warnings(result),
        *_class_warnings(cable, need, result),
    )


def _table(result: WiringResult) -> str:
    """Table, column and factors as a reader sees them."""
    return result.ampacity_source.replace(" degC", " °C")


def wiring_notes(
    cable: Cable, need: CircuitNeed, cell: Ampacity | None, result: WiringResult
) -> tuple[str, ...]:
    """Notes beside every answer: which reading of the length, which table, whose decision.

    cable, need : as judged. cell : the table's cell, None when it has none. result : figures and verdict.
    """
    one_way_v = need.current_rms60_a * (result.conductor_mohm / 2e3 + cable.contact_resistance_ohm)
    notes = [
        (
            f"Length {cable.length_m:g} m is taken as one way, {result.loop_length_m:g} m of conductor there "
            f"and back: {result.drop_V:.2f} V. If it is already there and back: {one_way_v:.2f} V."
        ),
        (
            f"Table: {_table(result)}, {TABLE_5_EDITION}. It binds boats with gasoline engines, outboards "
            "excepted; elsewhere it is guidance."
        ),
    ]
    if cell is not None:
        legal_a, cautious_a = (whole_amperes(legal_fuse_max_a(a)) for a in (cell.table_a, cell.value_a))
        notes.append(
            f"Legal ceiling of the fuse below 50 V: {legal_a} A, 150 % of the table "
            f"(33 CFR 183.455); with its factors {cautious_a} A. A ceiling, not a recommendation."
        )
    notes.append(
        "Where the fuse sits: "
        + "; ".join(f"{place.condition} ({place.source.text})" for place in PLACEMENTS)
        + "."
    )
    ohm = cable.contact_resistance_ohm
    if ohm > 0.0:
        current = need.current_rms60_a
        lost, heat = contact_drop_v(current, ohm), contact_heat_w(current, ohm)
        notes.append(
            f"All joints together, {1e3 * ohm:.2g} milliohms, take {1e3 * lost:.0f} mV and make {heat:.1f} W at "
            f"{current:.0f} A: read the millivolts across each joint under load before blaming the battery."
        )
    return (*notes, LICENSED)
