"""The verdict on a cable run: ampacity, fuse window and drop, worst first."""

from __future__ import annotations

from dataclasses import dataclass, replace

from planner.constants import COPPER_REFERENCE_K, ZERO_CELSIUS_K
from planner.install.ampacity import Ampacity, ampacity, metal_temperature_k
from planner.install.circuit import Cable, CircuitNeed, Reason, Verdict, WiringLimit, WiringResult
from planner.install.conductor import (
    STANDARD_AWG,
    awg_area_m2,
    awg_name,
    drop_fraction,
    drop_v,
    loop_length_m,
    resistance_ohm,
)
from planner.install.overcurrent import (
    exceeds,
    fuse_low_a,
    judge_interrupt,
    legal_fuse_max_a,
    short_circuit_a,
    suggest_fuse_a,
)
from planner.install.sources import TABLE_5
from planner.install.wiring_warnings import wiring_notes, wiring_warnings

_MILLI = 1e3  # ohm to milliohm
_PERCENT = 100.0
_MM2 = 1e6  # m2 to mm2

_DOES_NOT_FIT: tuple[Reason, ...] = (
    "current above ampacity",
    "fuse above ampacity",
    "fuse below load",
    "no fuse possible",
    "charge above ampacity",
    "fuse below charge",
)


@dataclass(frozen=True, slots=True)
class _Run:
    """One conductor in the loop: its own ohms, all ohms, and the table's cell for it."""

    conductor_ohm: float
    loop_ohm: float
    cell: Ampacity | None

    @property
    def ampacity_a(self) -> float | None:
        return None if self.cell is None else self.cell.value_a


def _run(cable: Cable, area_m2: float) -> _Run:
    # Plain copper at 20 degC, no stranding: the figure a reader can check by hand.
    ohm = resistance_ohm(area_m2, loop_length_m(cable.length_m), COPPER_REFERENCE_K, stranded=False)
    cell = ampacity(area_m2, cable.insulation_k, cable.engine_space, cable.bundled)
    return _Run(ohm, ohm + cable.contact_resistance_ohm, cell)


def _judged_drop(run: _Run, need: CircuitNeed) -> float:
    return drop_fraction(drop_v(need.drop_current_a, run.loop_ohm), need.base_v)


def smallest_conductor(cable: Cable, need: CircuitNeed) -> int | None:
    """Thinnest standard gauge that carries the load, leaves room for a fuse and keeps the drop.

    cable : the run; its own size is left aside. need : what it has to carry.
    Returns a gauge number, None when even 4/0 does not do.
    """
    for number in STANDARD_AWG:
        run = _run(cable, awg_area_m2(number))
        allowed_a = run.ampacity_a
        if allowed_a is None or exceeds(fuse_low_a(need.lasting_a(run.loop_ohm)), allowed_a):
            continue
        if not exceeds(_judged_drop(run, need), cable.allowed_drop):
            return number
    return None


def _conductor_reasons(cable: Cable, need: CircuitNeed, run: _Run) -> list[Reason]:
    current_a, allowed_a = need.current_rms60_a, run.ampacity_a
    reasons: list[Reason] = []
    if allowed_a is None:
        if _above_thinnest(cable, current_a):
            reasons.append("current above ampacity")
        return [*reasons, "outside the table"]
    if exceeds(current_a, allowed_a):
        reasons.append("current above ampacity")
    if exceeds(need.charge_at_a(run.loop_ohm), allowed_a):
        reasons.append("charge above ampacity")
    if cable.fuse_a is not None and exceeds(cable.fuse_a, allowed_a):
        reasons.append("fuse above ampacity")
    if exceeds(fuse_low_a(need.lasting_a(run.loop_ohm)), allowed_a):
        reasons.append("no fuse possible")
    return reasons


def _fuse_reasons(cable: Cable, need: CircuitNeed, charge_a: float) -> list[Reason]:
    """What the fuse does under the load, and under a charge that comes back through it."""
    if cable.fuse_a is None:
        return ["no fuse stated"]
    reasons: list[Reason] = []
    if exceeds(need.current_rms60_a, cable.fuse_a):
        reasons.append("fuse below load")
    elif exceeds(fuse_low_a(need.current_rms60_a), cable.fuse_a):
        reasons.append("fuse may open under the load")
    if exceeds(charge_a, cable.fuse_a):
        reasons.append("fuse below charge")
    elif exceeds(fuse_low_a(charge_a), cable.fuse_a):
        reasons.append("fuse may open under the charge")
    return reasons


def _above_thinnest(cable: Cable, current_a: float) -> bool:
    """Whether a conductor below the table's thinnest is asked for more than that thinnest may carry."""
    thinnest_m2 = awg_area_m2(STANDARD_AWG[0])
    cell = ampacity(thinnest_m2, cable.insulation_k, cable.engine_space, cable.bundled)
    return cell is not None and cable.area_m2 < thinnest_m2 and exceeds(current_a, cell.value_a)


def _reasons(cable: Cable, need: CircuitNeed, run: _Run) -> tuple[Reason, ...]:
    charge_a = need.charge_at_a(run.loop_ohm)
    reasons = _conductor_reasons(cable, need, run) + _fuse_reasons(cable, need, charge_a)
    if exceeds(_judged_drop(run, need), cable.allowed_drop):
        reasons.append("drop above allowed")
    if need.alternator is not None and need.alternator.runs_flat_out(run.loop_ohm):
        reasons.append("alternator not limited")
    return tuple(reasons)


def _verdict(reasons: tuple[Reason, ...]) -> Verdict:
    if any(reason in _DOES_NOT_FIT for reason in reasons):
        return "does not fit"
    if "outside the table" in reasons:
        return "not proven"
    return "fits with limits" if reasons else "fits"


def _limit(cable: Cable, need: CircuitNeed, run: _Run, reasons: tuple[Reason, ...]) -> WiringLimit | None:
    if not reasons:
        return None
    low_a, high_a = fuse_low_a(need.lasting_a(run.loop_ohm)), run.ampacity_a
    drops = "drop above allowed" in reasons
    thicker: int | None = None
    if drops or high_a is None or exceeds(low_a, high_a):
        thicker = smallest_conductor(cable, need)
        if thicker is not None:
            other = _run(cable, awg_area_m2(thicker))
            low_a, high_a = fuse_low_a(need.lasting_a(other.loop_ohm)), other.ampacity_a
    return WiringLimit(
        conductor=None if thicker is None else awg_name(thicker),
        fuse_A=None if high_a is None else suggest_fuse_a(low_a, high_a),
        drop_percent=_PERCENT * _judged_drop(run, need) if drops else None,
    )


def _metal(cable: Cable, need: CircuitNeed, run: _Run) -> tuple[float | None, float | None]:
    """Steady temperature of the copper [degC] and the drop at it [V]."""
    if run.cell is None:
        return None, None
    metal_k = metal_temperature_k(need.current_rms60_a, run.cell, cable.engine_space)
    if metal_k is None:
        return None, None
    ohm = resistance_ohm(cable.area_m2, loop_length_m(cable.length_m), metal_k, stranded=False)
    return metal_k - ZERO_CELSIUS_K, drop_v(need.current_rms60_a, ohm + cable.contact_resistance_ohm)


def _figures(cable: Cable, need: CircuitNeed, run: _Run) -> WiringResult:
    """The result without its warnings and notes, which are read off the figures."""
    reasons = _reasons(cable, need, run)
    current_a, allowed_a, fuse_a = need.current_rms60_a, run.ampacity_a, cable.fuse_a
    charge_a, lost_v = need.charge_at_a(run.loop_ohm), drop_v(current_a, run.loop_ohm)
    metal_c, warm_v = _metal(cable, need, run)
    terminals_a = short_circuit_a(need.full_open_v, need.source_ohm, 0.0)
    return WiringResult(
        gauge=cable.size,
        area_mm2=cable.area_m2 * _MM2,
        loop_length_m=loop_length_m(cable.length_m),
        conductor_mohm=run.conductor_ohm * _MILLI,
        resistance_mohm=run.loop_ohm * _MILLI,
        current_A=current_a, ampacity_A=allowed_a,
        ampacity_source=f"{TABLE_5.text}, no cell for it" if run.cell is None else run.cell.source,
        drop_V=lost_v,
        drop_percent=_PERCENT * drop_fraction(lost_v, need.base_v),
        drop_base_V=need.base_v,
        fuse_A=fuse_a,
        fuse_ok=_below(fuse_a, allowed_a),
        fuse_low_A=fuse_low_a(current_a),
        fuse_high_A=allowed_a,
        fuse_nuisance=None if fuse_a is None else exceeds(fuse_low_a(current_a), fuse_a),
        fuse_legal_max_A=None if run.cell is None else legal_fuse_max_a(run.cell.table_a),
        peak_A=need.peak_a,
        min_load_voltage_V=need.min_load_voltage_v,
        short_circuit_A=terminals_a,
        short_circuit_end_A=short_circuit_a(need.full_open_v, need.source_ohm, run.loop_ohm),
        verdict=_verdict(reasons),
        limit=_limit(cable, need, run, reasons),
        reasons=reasons,
        drop_judged_percent=_PERCENT * _judged_drop(run, need),
        drop_allowed_percent=_PERCENT * cable.allowed_drop,
        charge_A=charge_a or None,
        charge_drop_V=drop_v(charge_a, run.loop_ohm) if charge_a else None,
        fuse_from_A=fuse_low_a(need.lasting_a(run.loop_ohm)),
        metal_degC=metal_c,
        drop_warm_V=warm_v,
        interrupt=judge_interrupt(cable.fuse_interrupt_a, terminals_a),
        warnings=(), notes=(),
    )  # fmt: skip


def _below(fuse_a: float | None, allowed_a: float | None) -> bool | None:
    """Whether a fuse is within what the cable carries; None where either is unknown."""
    return None if fuse_a is None or allowed_a is None else not exceeds(fuse_a, allowed_a)


def judge_wiring(cable: Cable, need: CircuitNeed) -> WiringResult:
    """Judge one cable run between battery and loads.

    cable : as the buyer stated it. need : currents of the outing and voltage and resistance of the bank.
    Returns the result with verdict, limit, reasons, warnings and notes; numbers are not rounded.
    Source: 33 CFR 183.425 and 183.455; drop classes of ABYC E-11 as quoted; fuse at 80 %, trade habit.
    """
    run = _run(cable, cable.area_m2)
    result = _figures(cable, need, run)
    return replace(
        result,
        warnings=wiring_warnings(cable, need, run.cell, result),
        notes=wiring_notes(cable, need, run.cell, result),
    )
