"""Terminal temperature through the outing: the check `terminal_heat`."""

from __future__ import annotations

import math

from planner.battery.envelope import Envelope, build_envelope
from planner.battery.terminals import (
    BOUND_WINDOW_S,
    TerminalModel,
    fit_terminals,
    fits_by_bound,
    peak_rise,
    rms_current_a,
    steady_rise_k,
)
from planner.outing.exceedance import Trace, rolling_rms_a
from planner.outing.exceedance import rms_a as whole_rms_a
from planner.verdict.batch import Batch
from planner.verdict.bench import Bench
from planner.verdict.check import DOES_NOT_FIT, FITS, NOT_PROVEN, WORST_FIRST, Amount, Check, Told, weakest
from planner.verdict.energy import load_evidence
from planner.verdict.need import Need, need_of

COVERAGE = 2.0  # the rise's uncertainty counts at k = 2


def heat_check(batch: Batch, bench: Bench, need: Need) -> Check:
    """Worst terminal temperature of the outing, repeated to its steady swing, against the chosen limit.

    need : of the hardest branch. Of a bank of different units each is judged by its own readings, and the worst told.
    """
    if not batch.units:
        return _of_unit(batch, bench.envelope, bench.terminals, need.trace)
    found = [
        _of_unit(batch, build_envelope(unit), fit_terminals(unit), need_of(batch, branch).trace)
        for branch, row in enumerate(batch.branch_units)
        for unit in row
    ]
    return min(found, key=_badness)


def _badness(check: Check) -> tuple[int, float]:
    """Worst first, of equals the one with the least room; what no reading tells comes first where it is open."""
    untold = math.inf if check.verdict == FITS else -math.inf
    return WORST_FIRST.index(check.verdict), untold if check.margin is None else check.margin.value_si


def _of_unit(batch: Batch, envelope: Envelope, model: TerminalModel | None, trace: Trace) -> Check:
    if not trace.end_a.any() and not trace.start_a.any():
        return Check("terminal_heat", FITS, "measured", Told("nothing_drawn"))
    if model is None:
        return _by_bound(batch, envelope, trace)
    return _by_reading(batch, model, trace)


def _by_bound(batch: Batch, envelope: Envelope, trace: Trace) -> Check:
    rms = hardest_rms_a(trace)
    need = load_evidence(batch)
    if fits_by_bound(rms, envelope) and need != "claimed":
        kept = "stated" if need == "handbook" else need
        return Check("terminal_heat", FITS, weakest(["derived", kept]), Told("heat_bound", {"rms_a": rms}),
                     Amount(rms, "A"))  # fmt: skip
    settled = Told("terminal_test", {"current_a": rms})
    return Check(
        "terminal_heat",
        NOT_PROVEN,
        "unknown",
        Told("heat_unknown", {"rms_a": rms}),
        Amount(rms, "A"),
        settled_by=settled,
    )


def hardest_rms_a(trace: Trace) -> float:
    """The steady current that heats like the hardest quarter of an hour [A], or like the whole of a shorter plan."""
    length = float(trace.edges_s[-1] - trace.edges_s[0])
    return rolling_rms_a(trace, BOUND_WINDOW_S)[0] if length >= BOUND_WINDOW_S else whole_rms_a(trace)


def _by_reading(batch: Batch, model: TerminalModel, trace: Trace) -> Check:
    outing = batch.outing
    rise, doubt = peak_rise(trace.edges_s, trace.start_a, trace.end_a, model)
    rms = float(rms_current_a(trace.edges_s, trace.start_a, trace.end_a))
    steady = float(steady_rise_k(model, rms))
    upper = rise * (1.0 + COVERAGE * doubt)
    worst, limit = outing.ambient_k + rise, outing.terminal_limit_k
    parts = {
        "worst_k": worst, "limit_k": limit, "steady_k": outing.ambient_k + steady, "rms_a": rms,
        "upper_k": outing.ambient_k + upper, "tested_a": model.current_a, "ambient_k": outing.ambient_k,
    }  # fmt: skip
    need = load_evidence(batch)
    evidence = weakest(["derived", "stated" if need == "handbook" else need])
    verdict, code, settled = FITS, "heat_fits", None
    if worst > limit:
        verdict, code = DOES_NOT_FIT, "heat_too_hot"
    elif outing.ambient_k + upper > limit:
        verdict, code, settled = NOT_PROVEN, "heat_close", Told(
            "terminal_test", {"current_a": hardest_rms_a(trace)}
        )
    elif need == "claimed":
        verdict, code, settled = NOT_PROVEN, "claimed_load", Told("buyer_log")
    return Check(
        "terminal_heat",
        verdict,
        evidence,
        Told(code, parts),
        Amount(worst, "degC"),
        Amount(limit, "degC"),
        None,
        Amount(limit - worst, "K"),
        settled_by=settled,
    )
