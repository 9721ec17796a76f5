"""The zone a need falls in: demonstrated, within meter error, untested, or at which the unit tripped.

Nothing is interpolated between tested points: a line through two passes is not a pass.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.battery.current_evidence import (
    EMPTIED_BY,
    LASTING_HOLD_S,
    Pass,
    Trip,
    from_capacity_test,
    from_current_test,
    lasting_half,
    ran_empty,
)
from planner.battery.kind import unit_name
from planner.record.schema import Record

DEMONSTRATED = "demonstrated"
WITHIN_METER_ERROR = "within meter error"
UNTESTED = "untested"
CONFLICT = "conflict"
TRIPS = "trips"
WORST_FIRST = (TRIPS, CONFLICT, UNTESTED, WITHIN_METER_ERROR, DEMONSTRATED)

Speaks = Callable[[Pass], bool]
TIE_DIGITS = 6  # of an ampere: closer currents are one and the same


@dataclass(frozen=True, slots=True)
class Envelope:
    """All passes and trips of a unit, or of several of a kind. questions : what the tester should be asked."""

    passes: tuple[Pass, ...]
    trips: tuple[Trip, ...]
    warnings: tuple[str, ...] = ()
    questions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Zone:
    """Where one need lies.

    name : demonstrated | within meter error | untested | conflict | trips ("conflict" is not proven).
    margin_a : largest demonstrated current for that duration less the need; None unless demonstrated.
    by : the pass or trip that decides; None when untested. entries : every pass and trip that applies.
    """

    name: str
    margin_a: float | None
    by: Pass | Trip | None
    entries: tuple[Pass | Trip, ...]


@dataclass(frozen=True, slots=True)
class Frontier:
    """Edges of the zones at each duration, for a chart; NaN where there is no such edge. All (n,) [A].

    demonstrated_a : largest current demonstrated. blurred_to_a : outer edge of the passes' meter error.
    trips_from_a : lowest reading that tripped within the duration. blurred_from_a : that less its error.
    """

    durations_s: NDArray[np.float64]
    demonstrated_a: NDArray[np.float64]
    blurred_to_a: NDArray[np.float64]
    trips_from_a: NDArray[np.float64]
    blurred_from_a: NDArray[np.float64]


def build_envelope(record: Record) -> Envelope:
    """Passes and trips of every current test and full discharge of a record and of its repeats.

    A reading of another unit of the kind counts as one of the record's own: what one holds and another trips at is
    a conflict. Order of the tests in the record changes nothing. Source of the rules: common practice, no source.
    """
    units = [_unit_envelope(unit, f"{unit_name(unit)}: " if number else "") for number, unit in
             enumerate((record, *record.repeats))]  # fmt: skip
    passes = [held for unit in units for held in unit.passes]
    passes += _lasting_halves(passes)
    return Envelope(
        tuple(sorted(passes, key=_pass_order)),
        tuple(sorted((trip for unit in units for trip in unit.trips), key=_trip_order)),
        tuple(sorted(warning for unit in units for warning in unit.warnings)),
        tuple(sorted(question for unit in units for question in unit.questions)),
    )


def _unit_envelope(record: Record, unit: str) -> Envelope:
    """One unit's own, unsorted. unit : what its places begin with; empty for the record itself."""
    passes: list[Pass] = []
    trips: list[Trip] = []
    warnings: list[str] = []
    questions: list[str] = []
    for number, test in enumerate(record.capacity_tests):
        others = record.capacity_tests[:number] + record.capacity_tests[number + 1 :]
        tripped = test.ended_by == "trip"
        empty = tripped and ran_empty(test, others)
        if empty:
            questions.append(
                f"{unit}{test.at.place}: recorded as a trip, yet the unit was nearly empty; taken as an "
                "undervoltage opening. Was it an opening for current or heat?"
            )
        held, opened = from_capacity_test(test, condemns=tripped and not empty)
        passes += held
        trips += opened
    for current_test in record.current_tests:
        held, opened = from_current_test(current_test)
        passes += held
        trips += opened
        if current_test.ended_by in EMPTIED_BY:
            warnings.append(
                f"{unit}{current_test.at.place}: ended by {current_test.ended_by}; an empty unit says nothing of "
                "what current it holds. Enter it as a capacity test."
            )
    return Envelope(
        tuple(replace(held, source=f"{unit}{held.source}") for held in passes),
        tuple(replace(trip, source=f"{unit}{trip.source}") for trip in trips),
        tuple(warnings),
        tuple(questions),
    )


def classify(envelope: Envelope, current_a: float, duration_s: float, speaks: Speaks | None = None,
             covers: tuple[Pass, ...] | None = None) -> Zone:  # fmt: skip
    """The zone of a need of `current_a` [A] for `duration_s` [s].

    speaks : which passes speak for the need's temperature and charge; all when None. A trip always does.
    covers : the need's `covering_passes`, where they are at hand.
    Order: trips, demonstrated, within meter error, untested; tripped and demonstrated is a conflict.
    """
    trips = tuple(trip for trip in envelope.trips if trip.condemns(current_a, duration_s))
    if covers is None:
        covers = covering_passes(envelope, current_a, duration_s)
    covering = tuple(held for held in covers if speaks is None or speaks(held))
    if trips:
        name = CONFLICT if covering else TRIPS
        return Zone(name, None, trips[0], (*trips, *covering))
    if covering:
        best = max(covering, key=lambda held: held.largest_a(duration_s))
        largest_a = largest_demonstrated_a(envelope, duration_s, speaks)
        margin_a = None if largest_a is None else max(largest_a - current_a, 0.0)
        return Zone(DEMONSTRATED, margin_a, best, covering)
    near: tuple[Pass | Trip, ...] = (
        *(
            held
            for held in envelope.passes
            if held.nearly_covers(current_a, duration_s) and (speaks is None or speaks(held))
        ),
        *(trip for trip in envelope.trips if trip.nearly_condemns(current_a, duration_s)),
    )
    if near:
        return Zone(WITHIN_METER_ERROR, None, near[0], near)
    return Zone(UNTESTED, None, None, ())


def covering_passes(envelope: Envelope, current_a: float, duration_s: float) -> tuple[Pass, ...]:
    """Passes that cover a need, whatever their temperature and charge."""
    return tuple(held for held in envelope.passes if held.covers(current_a, duration_s))


def largest_demonstrated_a(
    envelope: Envelope, duration_s: float, speaks: Speaks | None = None
) -> float | None:
    """Largest current demonstrated for `duration_s` [A], None when none is.

    Never above a reading that tripped within that time: there the record contradicts itself.
    """
    reached_a = -math.inf
    for held in envelope.passes:
        edge_a = held.largest_a(duration_s)
        if edge_a > reached_a and (speaks is None or speaks(held)):
            reached_a = edge_a
    tripped_a = [trip.current_a for trip in envelope.trips if trip.duration_s <= duration_s]
    largest_a = min(reached_a, min(tripped_a, default=math.inf))
    return largest_a if math.isfinite(largest_a) else None


def worst(points: Sequence[tuple[float, float]], zones: Sequence[Zone]) -> int:
    """Index of the point that decides: worst zone, then least margin, then largest current and time.

    points : (current A, duration s) of each zone. Raises ValueError when there is none, or unequal many.
    """

    def badness(index: int) -> tuple[int, float, float, float]:
        zone, (current_a, duration_s) = zones[index], points[index]
        margin_a = math.inf if zone.margin_a is None else zone.margin_a
        # a steady pull and its own mean square differ by the last digits only: the longer of them decides
        return WORST_FIRST.index(zone.name), round(margin_a, TIE_DIGITS), -round(current_a, TIE_DIGITS), -duration_s

    if len(points) != len(zones):
        raise ValueError(f"{len(points)} points, {len(zones)} zones")
    return min(range(len(zones)), key=badness)


def frontier(envelope: Envelope, durations_s: ArrayLike, speaks: Speaks | None = None) -> Frontier:
    """Edges of the zones at each of `durations_s` (n,) [s]."""
    times = np.atleast_1d(np.asarray(durations_s, dtype=np.float64))
    spoken = [held for held in envelope.passes if speaks is None or speaks(held)]
    shown = [largest_demonstrated_a(envelope, float(t), speaks) for t in times]
    outer = [max((held.largest_a(float(t), 1.0) for held in spoken), default=-math.inf) for t in times]
    opened = [[trip for trip in envelope.trips if trip.duration_s <= t] for t in times]
    first = [min((trip.current_a for trip in ended), default=math.inf) for ended in opened]
    blurred = [min((trip.current_a - trip.limit_a for trip in ended), default=math.inf) for ended in opened]
    return Frontier(
        times,
        np.array([math.nan if value is None else value for value in shown], dtype=np.float64),
        _finite_or_nan(outer),
        _finite_or_nan(first),
        _finite_or_nan(blurred),
    )


def _lasting_halves(passes: Sequence[Pass]) -> list[Pass]:
    """Every long hold with every discharge: a union, so that no further test can take away."""
    holds = [held for held in passes if held.kind == "hold" and held.duration_s >= LASTING_HOLD_S]
    discharges = [held for held in passes if held.charge_c is not None]
    halves = [lasting_half(hold, discharge) for hold in holds for discharge in discharges]
    return [half for half in halves if half.current_a > 0.0]


def _finite_or_nan(values: list[float]) -> NDArray[np.float64]:
    return np.array([value if math.isfinite(value) else math.nan for value in values], dtype=np.float64)


def _pass_order(held: Pass) -> tuple[float, float, float, str, str]:
    return -held.current_a, -held.duration_s, held.cell_k, held.kind, held.source


def _trip_order(trip: Trip) -> tuple[float, float, str]:
    return trip.current_a, trip.duration_s, trip.source
