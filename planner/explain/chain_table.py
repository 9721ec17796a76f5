"""The chain from battery to load at the moment the load sees least, link by link; and the branches of a bank."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from planner.constants import ZERO_CELSIUS_K
from planner.explain.chart_look import (
    BLUE,
    GREEN,
    ORANGE,
    PURPLE,
    VERMILION,
    Figure,
    Spec,
    field,
    layer,
    time_unit,
    told,
    whole,
)
from planner.explain.words import amps, rounded
from planner.install.circuit import WiringResult
from planner.install.conductor import shown_size
from planner.verdict.assess import Assessment

HEIGHT = 250
TINTS, DASHES = (BLUE, VERMILION, GREEN, ORANGE, PURPLE), ([1, 0], [8, 3], [2, 2], [8, 3, 2, 3], [4, 2])
UNSTATED, NOT_KNOWN = "not stated", "–"
ZONES = {
    "demonstrated": "held on the bench",
    "within meter error": "too close to tell",
    "untested": "not tested",
    "conflict": "tests disagree",
    "trips": "switched off on the bench",
}


@dataclass(frozen=True, slots=True)
class Link:
    """One link. volts : at its far end [V]; lost_v : across it [V]; amps_a [A]; celsius [degC]; None where unknown."""

    name: str
    what: str
    volts: float
    lost_v: float | None
    amps_a: float
    celsius: float | None
    limit: str


def chain_of(assessment: Assessment) -> tuple[Link, ...]:
    """Battery, lead of a bank's unit, fuse, cable, contacts, load, at the middle run's moment of least voltage there.

    Of units side by side the one that carries most, and its lead. Copper as of 20 degC, as the run itself takes it; the
    fuse's own resistance is not known and left out.
    """
    at = _hardest(assessment)
    wiring, result = assessment.outing.wiring, assessment.wiring
    cable_ohm = result.conductor_mohm / 1e3 if result else 0.0
    contact_ohm = wiring.contact_resistance_ohm if wiring else 0.0
    after_cable = at.bus_v - at.current_a * cable_ohm
    at_load = after_cable - at.current_a * contact_ohm
    carries = "" if result is None or result.ampacity_A is None else f"{rounded(result.ampacity_A, 1.0, 'down'):.0f} A"
    fuse = f"{wiring.fuse_a:.4g} A" if wiring and wiring.fuse_a is not None else UNSTATED
    size = f"{shown_size(wiring.size)}, {wiring.length_m:.3g} m one way" if wiring else UNSTATED
    lost_v = at.current_a * cable_ohm if result else None
    metal = None if result is None else result.metal_degC
    joints = f"{1e3 * contact_ohm:.4g} mΩ" if wiring else UNSTATED
    in_joints_v = at.current_a * contact_ohm if wiring else None
    hot, limit = _terminals(assessment)
    loads = ", ".join(load.name for load in assessment.outing.loads)
    return (
        *_units(assessment, at),
        Link("Fuse", fuse, at.bus_v, None, at.current_a, None, _fuse_window(result)),
        Link("Cable", size, after_cable, lost_v, at.current_a, metal, carries),
        Link("Contacts", joints, at_load, in_joints_v, at.current_a, hot, limit),
        Link("Load", loads, at_load, None, at.current_a, None, _cutout(assessment)),
    )


def _fuse_window(result: WiringResult | None) -> str:
    """From the smallest fuse for load and charge to the largest for the cable, neither end past its limit."""
    if result is None or result.fuse_high_A is None:
        return ""
    from_a, until_a = result.fuse_from_A, result.fuse_high_A
    if from_a > until_a:
        return f"none fits cable and {'charge' if from_a > result.fuse_low_A else 'load'}"
    for step, digits in ((1.0, 0), (0.1, 1)):
        low, high = rounded(from_a, step, "up"), rounded(until_a, step, "down")
        if low <= high:
            return f"{low:.{digits}f} to {high:.{digits}f} A"
    return f"{from_a:.4g} A"


@dataclass(frozen=True, slots=True)
class _Moment:
    """Bus volts, all amps, and the unit that carries most with its amps; the battery inside at its hottest [degC]."""

    bus_v: float
    current_a: float
    celsius: float
    unit: int
    unit_a: float


def _units(assessment: Assessment, at: _Moment) -> tuple[Link, ...]:
    """The battery, and of units side by side the lead of the one that carries most."""
    bank, name = assessment.outing.bank, assessment.record.name
    shown = "" if assessment.peak.worst is None else ZONES[assessment.peak.zone]
    if bank is None or bank.parallel < 2:
        what = name if bank is None or bank.series < 2 else f"{bank.series} units in series"
        return (Link("Battery", what, at.bus_v, None, at.current_a, at.celsius, shown),)
    leads = bank.lead_resistances_ohm
    lead_ohm = leads[at.unit] if leads else 0.0
    lead = f"{1e3 * lead_ohm:.4g} mΩ, of unit {at.unit + 1}" if leads else UNSTATED
    what = f"unit {at.unit + 1} of {bank.parallel} side by side; it carries most"
    own_v = at.bus_v + at.unit_a * lead_ohm
    return (
        Link("Battery", what, own_v, None, at.unit_a, at.celsius, shown),
        Link("Lead", lead, at.bus_v, at.unit_a * lead_ohm if leads else None, at.unit_a, None, ""),
    )


def _terminals(assessment: Assessment) -> tuple[float | None, str]:
    """Worst temperature of the terminals [degC] and their limit."""
    warm = next((check for check in assessment.checks if check.id == "terminal_heat"), None)
    limit = f"{assessment.outing.terminal_limit_k - ZERO_CELSIUS_K:.0f} °C"
    if warm is None or warm.need is None or warm.need.unit != "degC":
        return None, limit
    return warm.need.value_si - ZERO_CELSIUS_K, limit


def _cutout(assessment: Assessment) -> str:
    """The highest voltage at which a load switches itself off."""
    cutouts = [load.cutout_v for load in assessment.outing.loads if load.cutout_v is not None]
    return f"cuts out below {max(cutouts):.4g} V" if cutouts else ""


def _hardest(assessment: Assessment) -> _Moment:
    """Where the load sees least in the middle run."""
    trace, ohm = assessment.batch.run.trace, assessment.batch.setup.wiring_ohm
    assert trace is not None  # an assessment always keeps it
    volts = np.stack([trace.start_v[:, 0], trace.end_v[:, 0]], axis=1)
    currents = np.stack([trace.start_a[:, 0], trace.end_a[:, 0]], axis=1)
    step, end = np.unravel_index(np.nanargmin(volts - np.asarray(ohm) * currents), volts.shape)
    hottest_k = float(np.nanmax(trace.end_temp_k[:, 0], initial=assessment.outing.cell_k))
    flows = (trace.branch_end_a if end else trace.branch_start_a)[step]
    unit = int(np.nanargmax(flows))
    bus_v, current_a = float(volts[step, end]), float(currents[step, end])
    return _Moment(bus_v, current_a, hottest_k - ZERO_CELSIUS_K, unit, float(flows[unit]))


def chain_table(links: tuple[Link, ...]) -> pd.DataFrame:
    """A row a link with units in the heads; a dash where nothing is known."""
    return pd.DataFrame(
        {
            "Link": [link.name for link in links],
            "After it (V)": [round(link.volts, 2) for link in links],
            "Lost in it (V)": [NOT_KNOWN if link.lost_v is None else f"{link.lost_v:.3f}" for link in links],
            "Through it (A)": [round(link.amps_a, 1) for link in links],
            # the unit in the cell: words are turned into the units shown, a column with dashes is not
            "Hottest": [NOT_KNOWN if link.celsius is None else f"{link.celsius:.1f} °C" for link in links],
            "Limit": [link.limit for link in links],
        }
    )


def branch_figure(assessment: Assessment) -> Figure | None:
    """Current of each unit side by side over the outing [A]; None without several branches."""
    trace = assessment.batch.run.trace
    if assessment.bank is None or trace is None or trace.branch_start_a.shape[1] < 2:
        return None
    scale, unit = time_unit(assessment.batch.duration_s)
    count = trace.branch_start_a.shape[1]
    times = np.stack([trace.start_s, trace.end_s], axis=1).ravel() / scale
    flows = np.stack([trace.branch_start_a, trace.branch_end_a], axis=1).reshape(-1, count)
    there = np.asarray(np.isfinite(flows).all(axis=1))
    names = [f"Unit {number}" for number in range(1, count + 1)]
    table = pd.DataFrame(
        {f"Time ({unit})": times[there].round(4)}
        | {f"{name} (A)": flows[there, place].round(2) for place, name in enumerate(names)}
    )
    hardest = int(np.nanargmax(flows.max(axis=0, initial=0.0, where=there[:, np.newaxis])))
    top = float(flows[there].max(initial=0.0))
    title = f"{names[hardest]} carries most: up to {amps(top, 'up')}"
    lines = _branch_lines(names, unit)
    each = ", ".join(
        f"{name} up to {flows[there, place].max(initial=0.0):.0f} A" for place, name in enumerate(names)
    )
    legend_text = "One line a unit, of the middle run. Below zero it is being charged by the others."
    return Figure(
        "branches",
        title,
        legend_text,
        f"{title}. {each}.",
        table,
        whole(title, HEIGHT, [lines], {"flows": _flow_rows(times[there], flows[there], names)}),
    )


def _flow_rows(times: NDArray[np.float64], flows: NDArray[np.float64], names: list[str]) -> pd.DataFrame:
    """A row a moment and unit, for the chart. times : (m,). flows : (m, units) [A]."""
    parts = [
        pd.DataFrame({"t": times.round(4), "amps": flows[:, place].round(2), "unit": name})
        for place, name in enumerate(names)
    ]
    return pd.concat(parts, ignore_index=True)


def _branch_lines(names: list[str], unit: str) -> Spec:
    """A line a unit, told apart by colour and by dashes."""
    legend = {"orient": "bottom", "columns": 4, "symbolType": "stroke", "symbolSize": 300}
    tints = [TINTS[place % len(TINTS)] for place in range(len(names))]
    dashes = [DASHES[place % len(DASHES)] for place in range(len(names))]
    x = field("t", f"Time from the start ({unit})", axis={"grid": False, "tickCount": 6})
    y = field("amps", "Current of one unit (A)", axis={"tickCount": 5, "minExtent": 34})
    return layer(
        "flows",
        "line",
        {"strokeWidth": 2},
        x=x,
        y=y,
        color=field("unit", None, "nominal", scale={"domain": names, "range": tints}, legend=legend),
        strokeDash=field("unit", None, "nominal", scale={"domain": names, "range": dashes}, legend=legend),
        tooltip=[
            told("unit", "Unit"),
            told("t", f"After ({unit})", ".2f"),
            told("amps", "Current (A)", ".1f"),
        ],
    )
