"""Would a full discharge settle it: warm or at the outing's own cold, at the current the outing draws."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from planner.battery.full_discharge import full_discharges
from planner.battery.speaks import BELOW_TEST_K, WARMEST_CELL_K
from planner.constants import SECONDS_PER_MINUTE, ZERO_CELSIUS_K
from planner.record.gaps import COLD_K
from planner.record.instrument import current_limit
from planner.record.schema import CapacityTest
from planner.verdict.assess import Assessment
from planner.verdict.batch import DEFAULT_CUTOFF_V
from planner.verdict.bench_plan import (
    BENCH_K,
    broken_off,
    current_to_show,
    discharged,
    held,
    meter_for_current,
)
from planner.verdict.check import DOES_NOT_FIT, Told
from planner.verdict.energy import drawing_mean_a, in_tested_band, load_evidence
from planner.verdict.next_current import COLD_SOAK_MIN, HALF_WAY, open_demands
from planner.verdict.outcomes import Outcomes, either, holds, spread_over
from planner.verdict.proposal import (
    Found,
    Pointless,
    Proposal,
    judged_with,
    made_good,
    open_checks,
    pointless,
)
from planner.verdict.replay import run_discharge

OUTCOMES = 64  # parameter sets that say how the reading may come out
LIKELY = (0.5, 0.9)  # the middle outcome first, then one reading in ten
BAD = 0.1
SET_UP_MIN = 90  # to charge, rest and read (common practice, no source)
FASTEST_S = 3600.0  # no full discharge is asked for in less than an hour (common practice, no source)
LONGEST_S = 60.0 * 3600.0  # nor in more than two days and a half (common practice, no source)


def capacity_tests(base: Assessment) -> list[Found]:
    """The warm and the cold full discharge: proposed, or pointless."""
    cold = _cold(base)
    if not _currents(base):
        return [pointless("capacity", "charge_is_shown"), pointless("cold_capacity", "charge_is_shown")]
    named, temperature = ("cold_capacity", _coldest(base)) if cold else ("capacity", _bench_k(base))
    other = "capacity" if cold else "cold_capacity"
    found = _best(base, named, temperature)
    return [found, pointless(other, "warm_is_known" if cold else "not_colder_than_tested")]


def _coldest(base: Assessment) -> float:
    lowest = min(base.outing.cell_k, base.outing.ambient_k)
    return ZERO_CELSIUS_K + math.floor(lowest - ZERO_CELSIUS_K + 1e-6)


def _cold(base: Assessment) -> bool:
    """Whether the cells are colder than any full discharge speaks for, or cold with no discharge there."""
    tests = full_discharges(base.record)
    coldest = min(base.outing.cell_k, base.outing.ambient_k)
    if not tests:
        return coldest < COLD_K
    tested = min(test.at.cell_k for test in tests)
    if not in_tested_band(base.batch):
        return coldest < tested
    energy = next(check for check in base.checks if check.id == "energy")
    return str(energy.reason.parts.get("name", "")).startswith("cold_loss") and coldest < tested - 1.0


def _bench_k(base: Assessment) -> float:
    coldest, warmest = sorted((base.outing.cell_k, base.outing.ambient_k))
    if warmest > WARMEST_CELL_K:
        return ZERO_CELSIUS_K + math.ceil(warmest - ZERO_CELSIUS_K - 1e-6)
    return BENCH_K if coldest >= BENCH_K - BELOW_TEST_K else _coldest(base)


def _best(base: Assessment, name: str, cell_k: float) -> Found:
    """The cheapest current and likeliest outcome that make a check good."""
    claimed = load_evidence(base.batch) == "claimed"
    best: Found = pointless(name, "load_is_claimed" if claimed else "no_outcome_helps")
    for need_a in _currents(base):
        for share in LIKELY:
            test = _expected(base, need_a, cell_k, share)
            if test is None or any(
                trip.condemns(test.mean_current_a, test.duration_s) for trip in base.envelope.trips
            ):
                continue
            after = judged_with(base, (test,))
            changes = made_good(base, after)
            if changes and (isinstance(best, Pointless) or len(changes) > len(best.changes)):
                best = _proposal(base, name, test, share, changes, after)
            if changes:
                break
    return best


def _currents(base: Assessment) -> list[float]:
    """Currents to ask a discharge for [A]: the outing's mean while drawing, and the hardest demand still open."""
    wanted = []
    mean = drawing_mean_a(base.batch)
    most = base.fitted.charge_c / FASTEST_S
    if open_checks(base, "energy", "reserve") and 0.0 < mean <= most:
        wanted.append(mean)
    bearable = [current for current, _ in open_demands(base) if current <= most]
    if open_checks(base, "peak_current", "bank") and bearable:
        wanted.append(max(bearable))
    return sorted(set(wanted))


def _expected(base: Assessment, need_a: float, cell_k: float, share: float) -> CapacityTest | None:
    """The discharge as the model of the record expects it to read, at a quantile of its charge; None if none."""
    meter = meter_for_current(base.record, need_a, "discharge")
    step = 1.0 if need_a >= 10.0 else 0.1
    current = current_to_show(need_a, meter, step)
    tests = full_discharges(base.record)
    cutoff = min((test.cutoff_v for test in tests), default=DEFAULT_CUTOFF_V)
    plain = discharged(current, base.fitted.charge_c, 0.0, cell_k, cutoff, meter)
    fitted = base.fitted
    rng = np.random.default_rng(base.seed)
    root = np.linalg.cholesky(fitted.covariance + 1e-18 * np.eye(len(fitted.centre)))
    theta = fitted.centre + rng.standard_normal((OUTCOMES, len(fitted.centre))) @ root.T
    theta[0] = fitted.centre
    run = run_discharge(fitted.circuit(theta), replace(plain, duration_s=min(plain.duration_s, LONGEST_S)))
    if not np.isfinite(run.end_s[0]) or run.end_charge_c[0] <= 0.0:
        return None
    mean_v = float(run.end_energy_j[0] / run.end_charge_c[0])
    charge = float(run.end_charge_c[0])
    if share != LIKELY[0]:
        charges = np.where(np.isfinite(run.end_s), run.end_charge_c, charge)
        charge = float(np.quantile(charges, share))
    return discharged(current, charge, charge * mean_v, cell_k, cutoff, meter)


def _proposal(base: Assessment, name: str, test: CapacityTest, share: float, changes: tuple[str, ...],
              after: Assessment) -> Proposal:  # fmt: skip
    served = [seconds for current, seconds in open_demands(base) if current <= test.mean_current_a]
    poor: CapacityTest | None = broken_off(test, HALF_WAY * min([test.duration_s, *served]))
    if not set(changes) & {"peak_current", "bank", "terminal_heat"}:
        poor = _expected(base, test.current_a or 0.0, test.at.cell_k, BAD)
    failed = judged_with(base, (poor,)).verdict if poor is not None else DOES_NOT_FIT
    outcomes = _outcomes(base, test, share, changes, after.verdict, failed)
    soak = COLD_SOAK_MIN if test.at.cell_k < COLD_K else 0
    minutes = SET_UP_MIN + soak + 2 * math.ceil(test.duration_s / SECONDS_PER_MINUTE / 5.0) * 5
    parts = {"current_a": test.current_a, "charge_c": test.charge_c, "cell_k": test.at.cell_k, "changes": changes,
             "likely": share == LIKELY[0], "passed": after.verdict, "failed": failed,
             "error_a": current_limit(test.at.instrument, test.mean_current_a).half_width}  # fmt: skip
    return Proposal(name, "battery", (test,), test.current_a, test.duration_s, test.at.cell_k, changes, after.verdict,
                    failed, minutes, "low", Told("discharge", parts), outcomes)  # fmt: skip


def _outcomes(base: Assessment, test: CapacityTest, share: float, changes: tuple[str, ...], passed: str,
              failed: str) -> Outcomes:  # fmt: skip
    """The answers over the charges that the model may read; where a pull is shown, whether the unit holds it."""
    if set(changes) & {"peak_current", "bank", "terminal_heat"}:
        hold = held(test.mean_current_a, test.duration_s, test.at.cell_k, test.at.instrument)
        return either(passed, failed, holds(base.envelope, (hold,)))

    def verdict_at(place: float) -> str:
        if place == share:
            return passed
        if place == BAD:
            return failed
        reading = _expected(base, test.current_a or 0.0, test.at.cell_k, place)
        return DOES_NOT_FIT if reading is None else judged_with(base, (reading,)).verdict

    return spread_over(verdict_at)
