"""Does the charge last: the checks `energy` and `reserve`."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import remaining_cold_fraction
from planner.battery.curve import GRID, SOC_GRID
from planner.battery.full_discharge import full_discharges
from planner.battery.speaks import BELOW_TEST_K, COLDEST_BY_SAG_K, WARMEST_CELL_K
from planner.constants import NOMINAL_UNIT_V
from planner.outing.exceedance import trace_at
from planner.outing.schema import Outing
from planner.record.gaps import LONG_HOLD_S
from planner.record.schema import Record
from planner.verdict.batch import Batch
from planner.verdict.check import (
    DOES_NOT_FIT,
    FITS,
    GOOD,
    LIMITS,
    NOT_PROVEN,
    Amount,
    Check,
    Told,
    weakest,
)
from planner.verdict.moved_priors import deciding_prior

Floats = NDArray[np.float64]

SURE_ENOUGH = 0.9  # nine draws in ten (a chosen criterion)
SLACK_S = 1e-6


@dataclass(frozen=True, slots=True)
class Coverage:
    """How the battery covers the outing. Arrays over the draws; numbers are of the centre.

    need_c, usable_c : charge of the outing, and until the battery's end when the outing repeats.
    usable_p10_c : charge nine draws in ten reach. completes : share of draws that reach the outing's end.
    """

    need_c: float
    usable_c: float
    centre_completes: bool
    draw_need_c: Floats
    draw_usable_c: Floats
    draw_end_s: Floats
    completes: float
    usable_p10_c: float


def coverage(batch: Batch) -> Coverage:
    """Read the batch. Ends other than the battery's own are judged elsewhere."""
    run, draws = batch.run, batch.draws
    ends = run.end_s >= batch.duration_s - SLACK_S
    whole = trace_at(batch.timeline, NOMINAL_UNIT_V * batch.setup.series)
    span = np.diff(whole.edges_s)
    stated_c = float((0.5 * (whole.start_a + whole.end_a) * span).sum())
    need = np.where(ends, run.mark_charge_c, np.maximum(stated_c, run.end_charge_c))
    usable = np.where(np.isfinite(run.end_s), run.end_charge_c, np.inf)
    return Coverage(
        float(need[0]), float(usable[0]), bool(ends[0]), need[draws], usable[draws], run.end_s[draws],
        float(ends[draws].mean()), lowest_tenth(usable[draws]),
    )  # fmt: skip


def missing_at_start_c(batch: Batch) -> float:
    """What a counter zeroed at full shows when the outing begins [C]."""
    start = float(np.mean(batch.setup.start_soc))
    return (1.0 - start) * batch.fitted.charge_c * len(batch.setup.lead_ohm)


def lowest_tenth(values: Floats) -> float:
    """The value nine in ten lie above (10 % quantile); inf may be among the values."""
    return float(np.quantile(values, 0.1, method="lower")) if len(values) else float("nan")


def energy_check(batch: Batch, found: Coverage, carried: bool = False) -> Check:
    """The check `energy`: the outing without its reserve.

    carried : a test of the bench took more current out for as long as the whole outing draws, and so its charge too.
    """
    verdict = _by_draws(found.centre_completes, found.completes)
    verdict, evidence, reason, settled = _judged(batch, found, verdict, carried)
    parts = {"need_c": found.need_c, "p10_c": found.usable_p10_c, "completes": found.completes}
    if reason.code == "energy":
        reason = Told(f"energy_{verdict.replace(' ', '_')}", parts)
    limit = None
    if verdict == LIMITS:
        limit = Told(
            "energy_limit",
            {
                "time_s": lowest_tenth(found.draw_end_s),
                "charge_c": found.usable_p10_c,
                "counter_c": found.usable_p10_c + missing_at_start_c(batch),
            },
        )
    known = capacity_evidence(batch) == "measured" and np.isfinite(found.usable_p10_c)
    known = known and reason.code != "energy_carried"  # all it gives at such a current was not tested
    return Check(
        "energy", verdict, evidence, reason, Amount(found.need_c, "Ah"),
        Amount(found.usable_p10_c, "Ah") if known else None,
        Amount(found.usable_c, "Ah") if known else None,
        Amount(found.usable_p10_c - found.need_c, "Ah") if known else None,
        limit, settled,
    )  # fmt: skip


def _by_draws(centre: bool, share: float) -> str:
    if not centre:
        return DOES_NOT_FIT
    return FITS if share >= SURE_ENOUGH else LIMITS


def load_evidence(batch: Batch) -> str:
    """Weakest evidence of the loads that draw anything."""
    line = batch.timeline
    asked = line.current_start_a + line.current_end_a + line.power_w + line.conductance_s
    drawn: NDArray[np.bool_] = np.any(asked != 0.0, axis=1)
    return weakest([line.evidence[k] for k in np.flatnonzero(drawn)] or ["stated"])


def _judged(batch: Batch, found: Coverage, verdict: str, carried: bool) -> tuple[str, str, Told, Told | None]:
    """The verdict, its evidence class, the reason, and the test that would settle it.

    verdict : of the model alone. It stands only where nothing but tests and the buyer's own statements decide; else
    the question is open, whichever way the model leans. More than was measured does not fit, whatever the model.
    """
    known, need = capacity_evidence(batch), load_evidence(batch)
    if known != "measured":
        return NOT_PROVEN, known, Told("no_capacity"), Told("capacity_test")
    if need == "claimed":
        return NOT_PROVEN, "claimed", Told("claimed_load"), Told("buyer_log")
    decisive = deciding_prior(batch, batch.run.end_s >= batch.duration_s - SLACK_S, verdict in GOOD)
    open_by_prior = "handbook", Told("prior_decides", {"name": decisive}), Told("prior_test", {"name": decisive})
    # a need taken from a handbook carries its wide spread; only the unit's own ability may not rest on one
    evidence = weakest(["derived", "stated" if need == "handbook" else need])
    if not found.centre_completes and batch.run.end_kind[0] == "unserved":
        told = Told("unserved", {"time_s": float(batch.run.end_s[0]), "wired": batch.outing.wiring is not None})
        return (DOES_NOT_FIT, evidence, told, None) if decisive is None else (NOT_PROVEN, *open_by_prior)
    within = found.need_c <= measured_charge_c(batch) - missing_at_start_c(batch)
    beyond = beyond_rate(batch)
    if beyond and not (carried and verdict == FITS):
        if not within and verdict not in GOOD:
            return DOES_NOT_FIT, evidence, Told("energy"), None
        return NOT_PROVEN, "handbook", *_open_rate(batch)
    outside = not in_tested_band(batch)
    cold = {"cell_k": _coldest_k(batch), "need_c": found.need_c, "warm_c": measured_charge_c(batch)}
    if outside and not within:
        return DOES_NOT_FIT, evidence, Told("cold_beyond_warm", cold), None
    if outside and not _covered_cold(batch, verdict):
        settled = Told("cold_capacity", {"cell_k": batch.outing.cell_k})
        return NOT_PROVEN, evidence, Told("cold_not_proven", cold), settled
    if decisive is not None:
        return NOT_PROVEN, *open_by_prior
    if beyond:
        return verdict, evidence, Told("energy_carried", {"need_c": found.need_c}), None
    return verdict, evidence, Told("cold_covered", cold) if outside else Told("energy"), None


def capacity_evidence(batch: Batch) -> str:
    """How the charge of the battery is known: measured, where every unit of a bank was run empty."""
    if all(full_discharges(record) for record in batch.every_unit):
        return batch.fitted.capacity_evidence
    return "unknown" if batch.fitted.capacity_evidence == "measured" else batch.fitted.capacity_evidence


def measured_charge_c(batch: Batch) -> float:
    """The most charge the bench got out of the units together [C]; of a string as much as out of its smallest."""
    return sum(
        min(max(test.charge_c for test in full_discharges(record)) for record in row) for row in batch.branch_units
    )


def in_tested_band(batch: Batch) -> bool:
    """Whether the cells, own heating left aside, stay where the full discharges of every unit speak."""
    outing = batch.outing
    coldest, warmest = _coldest_k(batch), max(outing.cell_k, outing.ambient_k)
    tested = [[test.at.cell_k for test in full_discharges(record)] for record in batch.every_unit]
    return all(
        bool(kelvin) and min(kelvin) - BELOW_TEST_K - 1e-9 <= coldest and warmest <= max(WARMEST_CELL_K, *kelvin) + 1e-9
        for kelvin in tested
    )


def _coldest_k(batch: Batch) -> float:
    """Of the cells and the air around them [K]."""
    return min(batch.outing.cell_k, batch.outing.ambient_k)


def _covered_cold(batch: Batch, verdict: str) -> bool:
    """Whether the loss assumed for untested cold, at its bad end, leaves enough; nothing is assumed of deep cold."""
    if _coldest_k(batch) < COLDEST_BY_SAG_K - 1e-9:
        return False
    moved = batch.scenarios.moved
    worst_column = 2 + 2 * moved.index("cold_loss_below") if "cold_loss_below" in moved else 0
    return verdict in GOOD and bool(batch.run.end_s[worst_column] >= batch.duration_s - SLACK_S)


def drawing_mean_a(batch: Batch) -> float:
    """Mean current of one unit over the time in which anything is drawn, centre run [A]."""
    trace = trace_at(batch.timeline, NOMINAL_UNIT_V * batch.setup.series)
    mean = 0.5 * (trace.start_a + trace.end_a)
    span = np.diff(trace.edges_s)
    on = mean > 0.0
    return float((mean * span)[on].sum() / span[on].sum() / len(batch.setup.lead_ohm)) if on.any() else 0.0


def beyond_rate(batch: Batch) -> bool:
    """Whether the outing draws more, on average while anything is on, than a unit was shown to give its charge at."""
    return drawing_mean_a(batch) > shown_at_rate_a(batch) * (1.0 + 1e-9)


def _open_rate(batch: Batch) -> tuple[Told, Told]:
    """That the charge at such a current is not known, and what would tell."""
    drawing = drawing_mean_a(batch)
    told = Told("beyond_rate", {"mean_a": drawing, "shown_a": shown_at_rate_a(batch)})
    return told, Told("capacity_at", {"current_a": drawing})


def shown_at_rate_a(batch: Batch) -> float:
    """Highest current of a full discharge or of a hold of 15 min or more [A]; of different units the lowest."""
    return min(_shown_a(record) for record in batch.every_unit)


def _shown_a(record: Record) -> float:
    rates = [test.mean_current_a for test in full_discharges(record)]
    rates += [
        test.current_a
        for test in record.current_tests
        if test.kind == "hold" and (test.duration_s or 0.0) >= LONG_HOLD_S
    ]
    return max(rates, default=0.0)


def reserve_check(batch: Batch, found: Coverage, energy: Check) -> Check | None:
    """The check `reserve`: the outing and what is kept after it; None when no reserve is asked for."""
    found, usable_c = _followed(batch, found)
    reserve = _reserve(batch.outing, found)
    if reserve is None:
        return None
    centre_c, p10_c, each_c = reserve
    share = float((found.draw_usable_c - each_c >= found.draw_need_c - 1e-6).mean())
    centre = found.usable_c - centre_c >= found.need_c - 1e-6
    turn_c, limit = found.usable_p10_c - p10_c, None
    verdict = FITS if centre and share >= SURE_ENOUGH else LIMITS
    if turn_c <= 0.0:
        verdict = DOES_NOT_FIT
    elif verdict == LIMITS:
        limit = _turn_back(batch, turn_c)
    open_too = _reserve_open(batch, usable_c, centre_c, verdict, energy)
    if open_too is not None:
        return open_too
    need_c = found.need_c + centre_c
    parts = {"reserve_c": centre_c, "need_c": need_c, "p10_c": found.usable_p10_c, "completes": share}
    return Check(
        "reserve", verdict, energy.evidence, Told(f"reserve_{verdict.replace(' ', '_')}", parts),
        Amount(need_c, "Ah"), Amount(found.usable_p10_c, "Ah"), Amount(found.usable_c, "Ah"),
        Amount(found.usable_p10_c - need_c, "Ah"), limit,
    )  # fmt: skip


def _reserve_open(batch: Batch, usable_c: Floats, home_c: float, verdict: str, energy: Check) -> Check | None:
    """The reserve not proven: where the energy is, or where the way home hangs on an assumption; else None.

    usable_c : of every scenario, (n,) [C].

    A way home that takes more than the bench ever got out does not fit, whatever the energy rests on.
    """
    way_home = batch.outing.get_home is not None
    measured = way_home and capacity_evidence(batch) == "measured"
    if measured and home_c > measured_charge_c(batch) - missing_at_start_c(batch):
        return None
    if energy.verdict != NOT_PROVEN and beyond_rate(batch):
        # the outing's own charge was carried on the bench; what is left after it at such a current was not
        told, settled = _open_rate(batch)
        return Check("reserve", NOT_PROVEN, "handbook", told, settled_by=settled)
    if energy.verdict == NOT_PROVEN:
        return Check("reserve", NOT_PROVEN, energy.evidence, energy.reason, settled_by=energy.settled_by)
    decisive = deciding_prior(batch, usable_c > home_c, verdict in GOOD) if way_home else None
    if decisive is None:
        return None
    return Check("reserve", NOT_PROVEN, "handbook", Told("prior_decides", {"name": decisive}),
                 settled_by=Told("prior_test", {"name": decisive}))  # fmt: skip


def _followed(batch: Batch, found: Coverage) -> tuple[Coverage, Floats]:
    """The coverage with a charge for batteries that outlast the longest run, and the charge of every scenario [C]."""
    usable = np.where(np.isfinite(batch.run.end_s), batch.run.end_charge_c, np.inf)
    if np.isfinite(usable).all():
        return found, usable
    usable = np.minimum(usable, at_rest_c(batch))
    draws = usable[batch.draws]
    own = replace(found, usable_c=float(usable[0]), draw_usable_c=draws, usable_p10_c=lowest_tenth(draws))
    return own, usable


def at_rest_c(batch: Batch) -> Floats:
    """Charge above the cut-off at next to no current [C], (n,): of a string its least unit's, of branches the sum.

    Source: the circuit at rest, without sag and gap, its cells at the coldest of the outing (hand calculation).
    """
    circuit, setup = batch.scenarios.circuit, batch.setup
    stop_v = max(setup.cutoff_v, setup.undervoltage_v or 0.0) / setup.series
    lowest = np.array([np.interp(stop_v, volts, SOC_GRID) for volts in circuit.curve.volts])[
        circuit.offset // (GRID + 1)
    ]
    part = remaining_cold_fraction(circuit, np.full((1, 1, 1), _coldest_k(batch)))
    left = circuit.charge_c * np.maximum(setup.start_soc - (1.0 - part) - part * lowest, 0.0)
    shape = (len(setup.lead_ohm), setup.series, len(batch.scenarios.theta))
    found: Floats = np.broadcast_to(left, shape).min(axis=1).sum(axis=0)
    return found


def _reserve(outing: Outing, found: Coverage) -> tuple[float, float, Floats] | None:
    """What is kept [C]: at the centre, at the low end of what is usable, and in each draw; None without a reserve."""
    if outing.get_home is not None:
        home_c = outing.get_home.charge_c
        return home_c, home_c, np.full(len(found.draw_usable_c), home_c)
    share = outing.reserve_fraction
    if not share:
        return None
    return share * found.usable_c, share * found.usable_p10_c, share * found.draw_usable_c


def _turn_back(batch: Batch, turn_c: float) -> Told:
    """The point to turn back at: what a counter shows there, and the clock."""
    parts = {
        "charge_c": turn_c,
        "counter_c": turn_c + missing_at_start_c(batch),
        "time_s": turn_back_s(batch, turn_c),
        "way_home": batch.outing.get_home is not None,
    }
    return Told("turn_back", parts)


def turn_back_s(batch: Batch, charge_c: float, share: float = 0.1) -> float | None:
    """Clock time [s] at which that share of the draws has used charge_c; None when the outing never does."""
    trace = batch.run.trace
    assert trace is not None
    amps = 0.5 * (trace.start_a + trace.end_a)[:, batch.draws]
    span = (trace.end_s - trace.start_s)[:, np.newaxis]
    used = np.cumsum(np.nan_to_num(amps) * span, axis=0)
    if not used.shape[1]:
        return None
    reached = used >= charge_c
    first = reached.argmax(axis=0)
    column = np.arange(used.shape[1])
    over = used[first, column] - charge_c
    times = trace.end_s[first] - over / np.maximum(np.nan_to_num(amps)[first, column], 1e-12)
    found = float(np.quantile(np.where(reached.any(axis=0), times, np.inf), share, method="lower"))
    return found if np.isfinite(found) else None
