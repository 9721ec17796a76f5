"""What an answer takes in that is not known exactly: loads, the buyer's own unit, the model, and what was merely given.

Each input has a low and a high end, its own P10 and P90. What the buyer states without a spread (temperature, a
joint, charge at the start) moves by a step that is an assumption of ours and is told as such.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from planner.battery.draws import NOT_A_PRIOR
from planner.battery.fit import Fitted
from planner.battery.kind import Kind
from planner.outing.reader import COLDEST_K
from planner.outing.schema import Outing
from planner.outing.timeline import Timeline

Floats = NDArray[np.float64]

P90_Z = float(ndtri(0.9))  # standard deviations from the centre to P10 and P90 of a normal
LOAD, UNIT, MODEL, GIVEN = "load", "unit", "model", "given"
# steps of what has no spread of its own (common practice, no source)
TEMPERATURE_STEP_K = 3.0  # a forecast for the day, or a guess of the locker's temperature
CONTACT_STEP_OHM = 1e-3  # a joint that worked loose or corroded
START_STEP = 0.05  # a charger that stopped early, a gauge that drifted
UNITS = {"activation": "J/mol", "diffusion_activation": "J/mol", "curve_shift_v": "V"}


@dataclass(frozen=True, slots=True)
class Moved:
    """One scenario with an input off its centre.

    theta : (names,) shift of the model's vector. load : its place and its normal. log_charge, log_ohm : of all units.
    """

    outing: Outing
    theta: Floats
    load: tuple[int, float] | None = None
    log_charge: float = 0.0
    log_ohm: float = 0.0


@dataclass(frozen=True, slots=True)
class Input:
    """One uncertain input and the scenarios at its two ends.

    id : "load.1", "unit_charge", "unit_resistance", a model parameter's name, or "temperature", "contact", "start".
    evidence : how its value is known. low, high : the value at P10 and P90 in `unit`; "1" is a factor on the centre.
    name : of a load. place : among the loads or in the model's vector.
    """

    id: str
    kind: str
    evidence: str
    low: float
    high: float
    unit: str
    ends: tuple[Moved, Moved]
    name: str | None = None
    place: int = 0


def uncertain_inputs(outing: Outing, timeline: Timeline, fitted: Fitted, mixed: bool) -> tuple[Input, ...]:
    """Every input of a case. mixed : units of a bank have records of their own, so no one model is moved."""
    none = np.zeros(len(fitted.plan.names))
    found = [*_loads(outing, timeline, none), *_units(outing, none, fitted.kind)]
    if not mixed:
        found.extend(_model(outing, fitted))
    return (*found, *_given(outing, none))


def _loads(outing: Outing, timeline: Timeline, none: Floats) -> list[Input]:
    found = []
    for place, load in enumerate(outing.loads):
        spread = float(timeline.spread[place])
        if not load.uses or spread <= 0.0:
            continue
        low, high = (Moved(outing, none, (place, z)) for z in (-P90_Z, P90_Z))
        factors = (float(np.exp(-P90_Z * spread)), float(np.exp(P90_Z * spread)))
        found.append(Input(f"load.{place + 1}", LOAD, timeline.evidence[place], *factors, "1", (low, high),
                           load.name, place))  # fmt: skip
    return found


def _units(outing: Outing, none: Floats, kind: Kind) -> list[Input]:
    """The buyer's units against the tested one, all of a bank together: the mean of their logarithms."""
    count = outing.bank.parallel * outing.bank.series if outing.bank else 1
    both = (kind.charge, kind.resistance)
    charge, ohm = (P90_Z * one.spread * math.sqrt(1.0 / one.units + 1.0 / count) for one in both)
    known, told = ("measured" if one.measured else "handbook" for one in both)
    ends = tuple(Moved(outing, none, log_charge=sign * charge) for sign in (-1.0, 1.0))
    resistances = tuple(Moved(outing, none, log_ohm=sign * ohm) for sign in (-1.0, 1.0))
    return [
        Input("unit_charge", UNIT, known, math.exp(-charge), math.exp(charge), "1", (ends[0], ends[1])),
        Input("unit_resistance", UNIT, told, math.exp(-ohm), math.exp(ohm), "1", (resistances[0], resistances[1])),
    ]  # fmt: skip


def _model(outing: Outing, fitted: Fitted) -> list[Input]:
    """The model's parameters. The tests tie them together: where one stands elsewhere, the others follow it.

    Two parameters that share one measured resistance would otherwise move it together by far more than it was
    measured to; and only so is a swing comparable with the share of the same parameter's variance.
    """
    found = []
    for place, name in enumerate(fitted.plan.names):
        spread = float(np.sqrt(fitted.covariance[place, place]))
        shift = P90_Z * fitted.covariance[:, place] / spread
        low, high = Moved(outing, -shift), Moved(outing, shift)
        if fitted.plan.guesses[place].logarithmic:
            values, unit = (float(np.exp(-P90_Z * spread)), float(np.exp(P90_Z * spread))), "1"
        else:
            centre = float(fitted.centre[place])
            values, unit = (centre - P90_Z * spread, centre + P90_Z * spread), UNITS.get(name, "1/K")
        evidence = "measured" if name in NOT_A_PRIOR else fitted.evidence[place]
        found.append(Input(name, MODEL, evidence, *values, unit, (low, high), place=place))
    return found


def _given(outing: Outing, none: Floats) -> list[Input]:
    colder, warmer = (
        replace(
            outing,
            cell_k=max(outing.cell_k + step, COLDEST_K),
            ambient_k=max(outing.ambient_k + step, COLDEST_K),
        )
        for step in (-TEMPERATURE_STEP_K, TEMPERATURE_STEP_K)
    )
    found = [_stated("temperature", colder.ambient_k, warmer.ambient_k, "K", colder, warmer, none)]
    wiring = outing.wiring
    if wiring is not None:
        ohms = [
            max(wiring.contact_resistance_ohm + step, 0.0) for step in (-CONTACT_STEP_OHM, CONTACT_STEP_OHM)
        ]
        wired = [replace(outing, wiring=replace(wiring, contact_resistance_ohm=ohm)) for ohm in ohms]
        found.append(_stated("contact", ohms[0], ohms[1], "ohm", wired[0], wired[1], none))
    if outing.bank is None:
        socs = [
            float(np.clip(outing.start_soc + step, START_STEP, 1.0)) for step in (-START_STEP, START_STEP)
        ]
        begun = [replace(outing, start_soc=soc) for soc in socs]
        found.append(_stated("start", socs[0], socs[1], "1 of full", begun[0], begun[1], none))
    return found


def _stated(
    name: str, low: float, high: float, unit: str, lower: Outing, higher: Outing, none: Floats
) -> Input:
    return Input(name, GIVEN, "stated", low, high, unit, (Moved(lower, none), Moved(higher, none)))
