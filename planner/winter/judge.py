"""The check `winter_charging`: from the year's totals and what the bench knows of the gate.

Numbers and reasons are data here; the sentences are made elsewhere. A missing test is never a pass: an
end that rests on a prior leaves the check not proven where the two ends differ in verdict.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from planner.winter.year import YearTotals

EXPOSED_TESTED = "charges_below_limit"  # a test accepted charge below the limit, and such hours occur
EXPOSED_MAYBE = "may_charge_below_limit"  # whether it charges cold hangs on the bracket
DARK = "runs_dark"  # dark days even with the lower thresholds
DARK_MAYBE = "may_run_dark"  # dark days only with the upper thresholds
BLOCKED = "blocked_hours"  # some hours blocked, never dark
FREE = "never_blocked"
# Nothing is ever offered, so when it is charged is not known, and every hour of the year stands for it:
NO_CHARGE_WARM = "no_charger_warm"  # warm enough for a charger in all of them
NO_CHARGE_REFUSED = "no_charger_refused"  # the bench saw it refuse charge wherever it is too cold
NO_CHARGE_COLD = "no_charger_cold"  # neither
NO_CHARGE_DARK = "no_charger_dark"  # without charge it runs dark
NO_CHARGE = (NO_CHARGE_WARM, NO_CHARGE_REFUSED, NO_CHARGE_COLD, NO_CHARGE_DARK)
STATE_CHARGER = "state_charger"  # what settles it: a statement and no test


@dataclass(frozen=True, slots=True)
class GateEvidence:
    """What the bench knows of the gate.

    cooling_known, warming_known : that leg has a reading on both sides. accepted_below_limit : some test
    accepted charge with cells below the charge limit. refused_below_limit : it was shown to refuse charge in all cells
    below that limit. open_above_k : cells that never get below it are neither refused charge nor too cold for it [K].
    """

    cooling_known: bool
    warming_known: bool
    accepted_below_limit: bool = False
    refused_below_limit: bool = False
    open_above_k: float = math.inf


@dataclass(frozen=True, slots=True)
class WinterVerdict:
    """verdict : fits | fits with limits | does not fit | not proven. reason : one of this module's words.

    settled_by : id of the test or statement that would settle it, None when none would. months_limited : months
    (1 to 12) with blocked or exposed hours at either end; months_free : offered, and neither.
    """

    verdict: str
    reason: str
    settled_by: str | None
    months_limited: tuple[int, ...]
    months_free: tuple[int, ...]


def judge_winter(totals: YearTotals, evidence: GateEvidence) -> WinterVerdict:
    """The verdict on a year as given: the first column of `totals`."""
    verdict, reason = _decided(totals, evidence)
    settled_by = None
    if verdict == "not proven":
        settled_by = STATE_CHARGER if reason in NO_CHARGE else _missing_leg(evidence)
    limited, free = months_by_need(totals)
    return WinterVerdict(verdict, reason, settled_by, limited, free)


def _decided(totals: YearTotals, evidence: GateEvidence) -> tuple[str, str]:
    if totals.hours_offered[0] == 0:
        return _without_charger(totals, evidence)
    surely_exposed, maybe_exposed = totals.exposed_hours[:, 0]
    dark_low, dark_high = totals.days_dark[:, 0]
    if evidence.accepted_below_limit and surely_exposed > 0:
        return "does not fit", EXPOSED_TESTED
    if maybe_exposed > 0:
        return "not proven", EXPOSED_MAYBE
    if dark_low > 0:
        return "does not fit", DARK
    if dark_high > 0:
        return "not proven", DARK_MAYBE
    if totals.hours_blocked[1, 0] > 0:
        return "fits with limits", BLOCKED
    return "fits", FREE


def _without_charger(totals: YearTotals, evidence: GateEvidence) -> tuple[str, str]:
    """Good only where a charger could do no harm and find no shut gate, or only the latter, whatever its hours."""
    if totals.days_dark[1, 0] > 0:
        return "not proven", NO_CHARGE_DARK
    if totals.coldest_cell_k[0] >= evidence.open_above_k:
        return "fits", NO_CHARGE_WARM
    if evidence.refused_below_limit and not evidence.accepted_below_limit:
        return "fits with limits", NO_CHARGE_REFUSED
    return "not proven", NO_CHARGE_COLD


def _missing_leg(evidence: GateEvidence) -> str:
    """The test to ask for: the warming leg alone where the cooling leg is known.

    With both legs known the bracket itself is too wide, and the cold-charge step in finer steps narrows it.
    """
    if evidence.cooling_known and not evidence.warming_known:
        return "cold_charge_warming"
    return "cold_charge"


def months_by_need(totals: YearTotals) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Months (1 to 12) with blocked or exposed hours at either end, and months offered with neither."""
    touched = (totals.blocked_m[1, :, 0] > 0) | (totals.exposed_m[1, :, 0] > 0)
    offered = totals.offered_m[:, 0] > 0
    month = np.arange(1, 13)
    return tuple(map(int, month[touched])), tuple(map(int, month[offered & ~touched]))
