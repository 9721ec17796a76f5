"""How much more: the last value of one input, all else kept, at which the overall verdict is good.

The place is sought at the centre of all inputs, many values in one run of the engine; the value told and the next one
are then tried by whole assessments with the same seed and draws, the record fitted once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from planner.battery.fit import Fitted, fit_record
from planner.outing.schema import Outing
from planner.record.schema import Record
from planner.verdict.assess import DRAWS, SEED, Assessment
from planner.verdict.boundary import BOUNDARY, GOOD_EVERYWHERE, GOOD_NOWHERE, Found, find_boundary, settle
from planner.verdict.energy import SURE_ENOUGH
from planner.verdict.limit_inputs import RATIO, STEPS, Case, Value
from planner.verdict.limit_month import MONTH, month_limit
from planner.verdict.limit_probe import Asking, Probe, Table, settle_sure
from planner.verdict.spare import Spare, spare_of
from planner.winter.schema import Climate

ALL = (*STEPS, MONTH)
__all__ = ["ALL", "RATIO", "Limit", "Limits", "Probe", "find_limits"]


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit. Values in `unit` ("1", "h", "degC", "AWG", "W", "Ah"); a gauge or a month is its name.

    found : None when the outing has no such input; then missing says what to enter.
    searched : first and last value looked at. inside, outside : the probes at the value and one step further.
    sure_value : the last value that is good and lasts to the end in the chosen share of the draws; None where none
    does. sure_outside : the probe one step further than that. probes : assessments made for this limit.
    """

    id: str
    unit: str
    found: Found | None
    value: Value | None = None
    searched: tuple[Value, Value] | None = None
    inside: Probe | None = None
    outside: Probe | None = None
    sure_value: Value | None = None
    sure_outside: Probe | None = None
    probes: int = 0
    missing: str | None = None


@dataclass(frozen=True, slots=True)
class Limits:
    """The present answer and its limits. spare : what the present run says of turning back and of the pull."""

    present: Assessment
    limits: tuple[Limit, ...]
    spare: Spare
    confidence: float


def find_limits(record: Record, outing: Outing, climate: Climate | None = None, draws: int = DRAWS,
                seed: int = SEED, ids: Sequence[str] = ALL, fitted: Fitted | None = None,
                units: tuple[Record, ...] = (), confidence: float = SURE_ENOUGH) -> Limits:  # fmt: skip
    """The limits of an outing on a battery: load, length, cold, cable, inverter, speed, size, month.

    ids : which limits, of ALL. units : records of a bank's units where they differ. confidence : share of the draws
    that are to last.
    """
    asking = Asking(record, outing, climate, draws, seed, fitted or fit_record(record), units, confidence)
    present = asking.exact(Case(record, outing))
    here, limits, guess = asking.probe(present), [], None
    for name in ids:
        if name == MONTH:
            limits.append(_of_month(asking))
            continue
        steps = STEPS[name](Case(record, outing))
        if isinstance(steps, str):
            limits.append(Limit(name, "", None, missing=steps))
            continue
        limit = _limit(Table(asking, steps, here), guess if steps.refits else None)
        if name == "load_factor" and limit.found is not None:
            guess = limit.found.inside
        limits.append(limit)
    return Limits(present, tuple(limits), spare_of(present, confidence), confidence)


def _limit(table: Table, guess: int | None) -> Limit:
    """Search one input. guess : a step that is likely the last good one, where another search has told."""
    steps = table.steps
    ends = ([0, *steps.nearer][-1], [0, *steps.further][-1])
    found = _found(table, guess, ends)
    searched = (steps.value(found.searched[0]), steps.value(found.searched[1]))
    plain = Limit(steps.id, steps.unit, found, searched=searched, probes=len(table.exact))
    if found.kind != BOUNDARY or found.inside is None or found.outside is None:
        return plain
    sure = settle_sure(table, found.inside, ends[0])
    return replace(
        plain, value=steps.value(found.inside), inside=table.at(found.inside), outside=table.at(found.outside),
        sure_value=None if sure is None else steps.value(sure[0]),
        sure_outside=None if sure is None else table.at(sure[1]), probes=len(table.exact),
    )  # fmt: skip


def _found(table: Table, guess: int | None, ends: tuple[int, int]) -> Found:
    """The boundary as the exact answers have it; the rough ones only say where to look."""
    steps = table.steps
    if guess is not None:
        pair = settle(table.good, guess, *ends)
        if pair is not None:
            return Found(BOUNDARY, *pair, ends, monotone=True)
    rough = find_boundary(table.rough, steps.further, steps.nearer, table.guess)
    if rough.kind == BOUNDARY and rough.inside is not None:
        pair = settle(table.good, rough.inside, *rough.searched)
        if pair is not None:
            return replace(rough, inside=pair[0], outside=pair[1])
    good = [table.good(step) for step in (*ends, 0)] if rough.kind in (GOOD_EVERYWHERE, GOOD_NOWHERE) else []
    if good and (all(good[1:]) if rough.kind == GOOD_EVERYWHERE else not any(good)):
        return rough
    return find_boundary(table.good, steps.further, steps.nearer)


def _of_month(asking: Asking) -> Limit:
    """The first month after the coldest from which on it is good."""
    if asking.climate is None:
        return Limit(MONTH, "month", None, missing="climate")
    found = month_limit(asking)
    return Limit(
        MONTH, "month", found.found, found.value, found.searched, found.inside, found.outside, found.sure_value,
        found.sure_outside, found.probes,
    )  # fmt: skip
