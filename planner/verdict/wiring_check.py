"""Cable and fuse of the outing: the check `wiring` and its figures."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import warmth
from planner.constants import NOMINAL_UNIT_V
from planner.install.alternator import DirectCharge
from planner.install.circuit import CircuitNeed, WiringResult
from planner.install.conductor import shown_size
from planner.install.judge import judge_wiring
from planner.outing.exceedance import longest_run_s, rms_a, rolling_rms_a
from planner.verdict.batch import Batch
from planner.verdict.check import NOT_PROVEN, Amount, Check, Told, weakest
from planner.verdict.energy import load_evidence
from planner.verdict.need import Need
from planner.winter.schema import Climate

WINDOW_S = 60.0  # the conductor is judged by the RMS current of a minute


def judge_cable(batch: Batch, need: Need, climate: Climate | None = None) -> WiringResult | None:
    """Figures of the cable under the centre run; None without wiring. climate : its alternator charges through it."""
    wiring = batch.outing.wiring
    return None if wiring is None else judge_wiring(wiring, circuit_need(batch, need, climate))


def circuit_need(batch: Batch, need: Need, climate: Climate | None) -> CircuitNeed:
    """What outing, battery and charge ask of the cable."""
    wiring, trace = batch.outing.wiring, need.trace
    stated = wiring.charge_current_a if wiring is not None else None
    length = float(trace.edges_s[-1] - trace.edges_s[0])
    current = rolling_rms_a(trace, WINDOW_S)[0] if length >= WINDOW_S else rms_a(trace)
    peak = float(max(trace.start_a.max(initial=0.0), trace.end_a.max(initial=0.0)))
    return CircuitNeed(
        current_rms60_a=current,
        peak_a=peak,
        peak_s=float(longest_run_s(trace, peak)[0]) if peak > 0.0 else None,
        has_cutout=bool(np.isfinite(batch.timeline.cutout_v).any()),
        base_v=NOMINAL_UNIT_V * batch.setup.series,
        min_load_voltage_v=lowest_load_v(batch),
        full_open_v=full_open_v(batch),
        source_ohm=source_ohm(batch),
        charge_a=alternator_a(climate) if stated is None else stated,
        alternator=direct_charge(batch),
    )


def direct_charge(batch: Batch) -> DirectCharge | None:
    """An alternator joined without a charger, to the bank as the centre run's outing leaves it; None without one.

    Of branches of unlike charge the emptiest counts: it takes most.
    """
    wiring = batch.outing.wiring
    if wiring is None or wiring.alternator_v is None:
        return None
    left = float(np.nanmin(batch.run.mark_soc[..., 0]))
    circuit = batch.scenarios.circuit.select(np.array([0]))
    rest_v = circuit.curve.look_up(np.full(circuit.offset.shape, left), circuit.offset)[0]
    return DirectCharge(
        wiring.alternator_v, float(rest_v.min()) * batch.setup.series, steady_ohm(batch), wiring.alternator_rated_a
    )


def alternator_a(climate: Climate | None) -> float:
    """Largest current of an alternator's charger in a climate file [A], 0 when there is none.

    It is taken to charge through the outing's own cable and fuse; `charge_current` of the wiring says otherwise.
    """
    if climate is None:
        return 0.0
    return max((one.current_a or 0.0 for one in climate.charges if one.kind == "alternator"), default=0.0)


def lowest_load_v(batch: Batch) -> float | None:
    """Lowest voltage at the loads in the centre run's first outing [V]."""
    if batch.run.trace is None:
        return None
    volts = step_load_v(batch, float(np.max(batch.setup.wiring_ohm)), lasting=False)
    return float(np.nanmin(volts)) if np.isfinite(volts).any() else None


def step_load_v(batch: Batch, ohm: float, lasting: bool) -> NDArray[np.float64]:
    """Least voltage of each step of the centre run behind a resistance, (steps,) [V].

    lasting : in a joined piece of a long log, that of pulls as long as a cut-off's delay; else of every pull.
    """
    trace = batch.run.trace
    assert trace is not None
    volts: NDArray[np.float64] = np.minimum(
        trace.start_v[:, 0] - ohm * trace.start_a[:, 0], trace.end_v[:, 0] - ohm * trace.end_a[:, 0]
    )
    return volts - hidden_a(batch, lasting) * (source_ohm(batch) + ohm)


def hidden_a(batch: Batch, lasting: bool) -> NDArray[np.float64]:
    """By how much pulls are above the mean of the joined piece of each step, (steps,) [A]; as in `step_load_v`."""
    trace, swing = batch.run.trace, batch.walked.swing
    assert trace is not None
    if swing is None:
        return np.zeros(len(trace.piece))
    most = swing.hold_a if lasting else swing.top_a
    above: NDArray[np.float64] = (most - batch.walked.current_start_a).sum(axis=0)[trace.piece]
    return above


def full_open_v(batch: Batch) -> float:
    """Open-circuit voltage of the full bank [V]."""
    return float(batch.scenarios.circuit.curve.volts[0, -1]) * batch.setup.series


def source_ohm(batch: Batch) -> float:
    """Resistance of the bank before any pair answers, leads aside, parallel branches together [ohm]."""
    return _joined_ohm(batch, 0.0)


def steady_ohm(batch: Batch) -> float:
    """The same once all pairs have answered [ohm]; the gap, which goes on growing, aside."""
    return _joined_ohm(batch, 1.0)


def _joined_ohm(batch: Batch, share: float) -> float:
    """Branches of the bank in parallel, with a share of their pairs [ohm]."""
    circuit = batch.scenarios.circuit.select(np.array([0]))
    warm = warmth(circuit, np.full((1, 1, 1), batch.outing.cell_k))
    unit = float(warm.r0_ohm.max()) + share * float(warm.pair_ohm.sum(axis=0).max(initial=0.0))
    branches = unit * batch.setup.series + batch.setup.lead_ohm
    return float(1.0 / (1.0 / branches).sum())


def wiring_check(batch: Batch, result: WiringResult | None, asked: bool) -> Check | None:
    """The check `wiring`; not proven when it is asked for and nothing about the cable is stated."""
    if result is None:
        if not asked:
            return None
        return Check("wiring", NOT_PROVEN, "unknown", Told("wiring_missing"), settled_by=Told("enter_wiring"))
    need = load_evidence(batch)
    evidence = weakest(["handbook", need]) if need != "claimed" else "claimed"
    parts: dict[str, Any] = dict(result.section())
    parts |= {"gauge": shown_size(result.gauge), "reasons": result.reasons, "conductor": None, "suggested_fuse_A": None,
              "charge_A": result.charge_A, "fuse_from_A": result.fuse_from_A}  # fmt: skip
    if result.limit is not None:
        parts |= {"conductor": result.limit.conductor, "suggested_fuse_A": result.limit.fuse_A}
    told = Told("wiring_" + (result.reasons[0].replace(" ", "_") if result.reasons else "fits"), parts)
    capability = None if result.ampacity_A is None else Amount(result.ampacity_A, "A")
    margin = None if result.ampacity_A is None else Amount(result.ampacity_A - result.current_A, "A")
    settled = Told("enter_wiring") if result.verdict == NOT_PROVEN else None
    limit = Told("wiring_limit", parts) if result.limit is not None else None
    return Check(
        "wiring",
        result.verdict,
        evidence,
        told,
        Amount(result.current_A, "A"),
        capability,
        None,
        margin,
        limit,
        settled,
    )
