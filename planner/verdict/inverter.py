"""Does the inverter stay on: the check `inverter`, and what would cure a cut-out."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.constants import COPPER_RESISTIVITY_OHM_M
from planner.install.conductor import STANDARD_AWG, awg_area_m2, awg_name
from planner.install.inverter import Inrush, input_current_a, inrush, needed_open_circuit_v
from planner.outing.schema import Wiring
from planner.simulate.engine import simulate
from planner.verdict.batch import Batch
from planner.verdict.check import DOES_NOT_FIT, FITS, LIMITS, NOT_PROVEN, Amount, Check, Told, weakest
from planner.verdict.energy import SLACK_S, SURE_ENOUGH, load_evidence
from planner.verdict.moved_priors import deciding_prior
from planner.verdict.wiring_check import full_open_v, source_ohm, steady_ohm, step_load_v

Floats = NDArray[np.float64]


def inverter_check(batch: Batch) -> Check | None:
    """The worst of the inverters with a cut-out; None when there is none."""
    loads = np.flatnonzero(np.isfinite(batch.timeline.cutout_v))
    if not len(loads):
        return None
    first = batch.run.inverter_s[loads].min(axis=0)
    load = int(loads[batch.run.inverter_s[loads, 0].argmin()])
    stays = first > batch.duration_s - SLACK_S
    share = float(stays[batch.draws].mean())
    need = load_evidence(batch)
    evidence = weakest(["derived", "stated" if need == "handbook" else need])
    wiring = batch.outing.wiring
    asked = Amount(float(batch.timeline.cutout_v[load]), "V")
    parts: dict[str, Any] = {
        "load": batch.timeline.names[load], "cutout_v": asked.value_si, "share": share,
        "time_s": float(batch.run.inverter_s[load, 0]), "soc": float(batch.run.inverter_soc[load, 0]),
        "wired": wiring is not None, "needed_s": batch.duration_s, **_at_rest(batch, load),
    }  # fmt: skip
    decisive = deciding_prior(batch, stays, bool(stays[0]))
    settled = None if decisive is None else Told("prior_test", {"name": decisive})
    if decisive is not None:
        evidence, parts["name"] = weakest(["handbook", evidence]), decisive
    # wiring that cuts out in the middle of what is expected is told as such, as a cable is cured before it is
    # tested; what stays on by an assumption alone is not shown to stay on
    if not stays[0]:
        cure = find_cure(batch, wiring)
        return Check("inverter", DOES_NOT_FIT, evidence, Told("inverter_cuts_out", parts | {"cure": cure}),
                     asked, limit=Told("inverter_cure", {"cure": cure}), settled_by=settled)  # fmt: skip
    if decisive is not None:
        return Check("inverter", NOT_PROVEN, evidence, Told("inverter_prior", parts), asked, settled_by=settled)
    if share >= SURE_ENOUGH and wiring is not None:
        return Check("inverter", FITS, evidence, Told("inverter_fits", parts), asked)
    parts |= _low_starts(batch, load, stays)
    code = "inverter_no_wiring" if wiring is None and share >= SURE_ENOUGH else "inverter_limits"
    return Check("inverter", LIMITS, evidence, Told(code, parts), asked, limit=Told("inverter_limit", parts))


def _low_starts(batch: Batch, load: int, stays: NDArray[np.bool_]) -> dict[str, float | None]:
    """Charge below which a use had better not begin: by fullness, and on a counter zeroed at full [C]."""
    soc = batch.run.inverter_soc[load, batch.draws]
    low = soc[np.isfinite(soc) & ~stays[batch.draws]]
    if not len(low):
        return {"start_soc": None, "start_used_c": None}
    start = float(np.quantile(low, 0.9))
    whole_c = batch.fitted.charge_c * len(batch.setup.lead_ohm)
    return {"start_soc": start, "start_used_c": (1.0 - start) * whole_c}


def _at_rest(batch: Batch, load: int) -> dict[str, float | None]:
    """Rest voltage below which this inverter alone reaches its cut-out, and its current from a full battery."""
    power, cutout = float(batch.timeline.power_w[load].max()), float(batch.timeline.cutout_v[load])
    loop = steady_ohm(batch) + float(np.max(batch.setup.wiring_ohm))
    return {
        "needed_rest_v": needed_open_circuit_v(power, loop, cutout),
        "full_a": input_current_a(power, full_open_v(batch), loop),
    }


def inrushes(batch: Batch) -> tuple[tuple[str, Inrush, Inrush | None], ...]:
    """Inrush into the input capacitors of each inverter that states them: bare, and behind its precharge resistor.

    From the full bank through its first resistance and the wiring, inductance ignored.
    """
    loop, open_v = source_ohm(batch) + float(np.max(batch.setup.wiring_ohm)), full_open_v(batch)
    found = []
    for load in batch.outing.loads:
        if load.capacitance_f is not None:
            ohm = load.precharge_ohm
            tamed = None if ohm is None else inrush(open_v, loop + ohm, load.capacitance_f)
            found.append((load.name, inrush(open_v, loop, load.capacitance_f), tamed))
    return tuple(found)


def find_cure(batch: Batch, wiring: Wiring | None) -> dict[str, float | str]:
    """Which single change keeps the centre run's inverter on: conductor, contacts, or cut-out voltage.

    One run of the engine with a column for each candidate; empty when none of them does.
    """
    if wiring is None:
        return _lower_cutout(batch, 0.0)
    thicker = [n for n in STANDARD_AWG if awg_area_m2(n) > wiring.area_m2 * 1.001]
    loop = COPPER_RESISTIVITY_OHM_M * 2.0 * wiring.length_m
    ohms = [loop / wiring.area_m2] + [loop / awg_area_m2(n) + wiring.contact_resistance_ohm for n in thicker]
    stays = stays_on(batch, np.array(ohms))
    cure: dict[str, float | str] = {}
    for n, kept in zip(thicker, stays[1:], strict=True):
        if kept:
            cure["conductor"] = awg_name(n)
            break
    if stays[0] and wiring.contact_resistance_ohm > 0.0:
        cure["contacts"] = "tight"
    return cure | _lower_cutout(batch, float(np.max(batch.setup.wiring_ohm)))


def stays_on(batch: Batch, ohms: Floats) -> NDArray[np.bool_]:
    """Whether the centre's inverter stays on through the outing at each wiring resistance."""
    column = np.zeros(len(ohms), dtype=np.intp)
    circuit = batch.scenarios.circuit.select(column)
    factor = np.ones((len(batch.timeline.names), len(ohms)))
    setup = replace(batch.setup, wiring_ohm=ohms, load_factor=factor, repeat=False, keep_trace=False)
    run = simulate(circuit, batch.walked, setup)
    stays: NDArray[np.bool_] = np.minimum(run.inverter_s.min(axis=0), run.end_s) > batch.duration_s - SLACK_S
    return stays


def _lower_cutout(batch: Batch, ohm: float) -> dict[str, float | str]:
    low = lowest_used_v(batch, ohm)
    return {} if low is None else {"cutout_below_v": low}


def lowest_used_v(batch: Batch, ohm: float) -> float | None:
    """Lowest voltage at the inverters' terminals in the centre run behind a resistance [V].

    A cut-out would have to lie below it. None where the battery does not last, or none is used.
    """
    trace = batch.run.trace
    assert trace is not None
    if batch.run.end_s[0] < batch.duration_s - SLACK_S:
        return None
    volts = step_load_v(batch, ohm, lasting=True)
    used = np.any(batch.walked.uses_inverter, axis=0)[trace.piece]
    return float(np.nanmin(volts[used])) if used.any() else None
