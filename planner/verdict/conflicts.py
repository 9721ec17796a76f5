"""Where a record contradicts itself or leaves a reading open to doubt: questions to the tester.

Nothing is averaged and nothing is dropped: each question names the entries that disagree.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from planner.battery.envelope import build_envelope, covering_passes
from planner.battery.full_discharge import GROUP_K, full_discharges
from planner.constants import ZERO_CELSIUS_K
from planner.record.instrument import charge_uncertainty, expanded_uncertainty
from planner.record.schema import CapacityTest, CurrentTest, Record
from planner.verdict.check import Told

# Edges at which a reading is asked about: common practice, no source.
RESTED_S = 1800.0
HOT_K = ZERO_CELSIUS_K + 35.0
CELLS_APART_V = 0.1
CELLS_SUM = 0.02  # of the voltage at the end
LOWEST_MEAN_V, HIGHEST_MEAN_V = 11.5, 13.6  # of a discharge of four LFP cells in series
SAME_CURRENT = 1.1  # ratio up to which two discharges ran at one rate


@dataclass(frozen=True, slots=True)
class Question:
    """One thing to ask. entries : places in the record of what disagrees. told : code and numbers."""

    entries: tuple[str, ...]
    told: Told


def questions_of(record: Record) -> tuple[Question, ...]:
    """Every question the record raises, in the order of its tests."""
    return (
        *_held_and_tripped(record),
        *_more_at_higher_current(record),
        *_cold_or_fast(record),
        *_implausible_voltage(record),
        *_not_at_rest(record),
        *_cells_apart(record),
    )


def _held_and_tripped(record: Record) -> list[Question]:
    """A pass that covers the very current and time at which another test tripped."""
    envelope = build_envelope(record)
    found = []
    for trip in envelope.trips:
        for held in covering_passes(envelope, trip.current_a, trip.duration_s):
            if trip.source in held.source.split(", "):
                continue
            parts = {"held_a": held.current_a, "held_s": held.duration_s, "trip_a": trip.current_a,
                     "trip_s": trip.duration_s}  # fmt: skip
            found.append(Question((held.source, trip.source), Told("held_and_tripped", parts)))
    return found


def _more_at_higher_current(record: Record) -> list[Question]:
    """More charge at the higher of two currents, by more than both meters' expanded uncertainty together."""
    found = []
    for one, other in itertools.combinations(full_discharges(record), 2):
        low, high = sorted((one, other), key=lambda test: test.mean_current_a)
        if high.mean_current_a <= low.mean_current_a * SAME_CURRENT:
            continue
        if abs(one.at.cell_k - other.at.cell_k) > GROUP_K:
            continue
        by_meter = ((_charge_u(low) * low.charge_c) ** 2 + (_charge_u(high) * high.charge_c) ** 2) ** 0.5
        if high.charge_c - low.charge_c > by_meter:
            parts = {"low_a": low.mean_current_a, "low_c": low.charge_c, "high_a": high.mean_current_a,
                     "high_c": high.charge_c, "u_c": by_meter}  # fmt: skip
            found.append(Question((low.at.place, high.at.place), Told("more_at_higher_current", parts)))
    return found


def _charge_u(test: CapacityTest) -> float:
    return expanded_uncertainty(charge_uncertainty(test))


def _cold_or_fast(record: Record) -> list[Question]:
    """Discharges that differ in temperature and current at once, with none beside them to tell the two apart."""
    tests = full_discharges(record)
    found = []
    for test in tests:
        others = [other for other in tests if abs(other.at.cell_k - test.at.cell_k) > GROUP_K]
        warmer = [other for other in others if other.at.cell_k > test.at.cell_k]
        if warmer and not any(_same_rate(test, other) for other in warmer):
            nearest = min(warmer, key=lambda other: abs(other.mean_current_a / test.mean_current_a - 1.0))
            parts = {"cold_k": test.at.cell_k, "cold_a": test.mean_current_a, "warm_k": nearest.at.cell_k,
                     "warm_a": nearest.mean_current_a}  # fmt: skip
            found.append(Question((test.at.place, nearest.at.place), Told("cold_or_fast", parts)))
    return found


def _same_rate(one: CapacityTest, other: CapacityTest) -> bool:
    low, high = sorted((one.mean_current_a, other.mean_current_a))
    return high <= low * SAME_CURRENT


def _implausible_voltage(record: Record) -> list[Question]:
    found = []
    for test in record.capacity_tests:
        if test.energy_j is None:
            continue
        mean_v = test.energy_j / test.charge_c
        if not LOWEST_MEAN_V <= mean_v <= HIGHEST_MEAN_V:
            parts = {"charge_c": test.charge_c, "energy_j": test.energy_j, "mean_v": mean_v}
            entries = (f"{test.at.place}.charge", f"{test.at.place}.energy")
            found.append(Question(entries, Told("implausible_voltage", parts)))
    return found


def _not_at_rest(record: Record) -> list[Question]:
    """Tests begun soon after another, or on hot cells, with the one that went before."""
    tests: list[CapacityTest | CurrentTest] = [*record.capacity_tests, *record.current_tests]
    found = []
    for number, test in enumerate(tests):
        before = tests[number - 1].at.place if number else f"{test.at.place}.rest"
        if test.at.rest_s is not None and test.at.rest_s < RESTED_S:
            told = Told("not_rested", {"rest_s": test.at.rest_s})
            found.append(Question((test.at.place, before), told))
        if test.at.cell_k_stated and test.at.cell_k > HOT_K:
            told = Told("still_hot", {"cell_k": test.at.cell_k})
            found.append(Question((test.at.place, f"{test.at.place}.temperature"), told))
    return found


def _cells_apart(record: Record) -> list[Question]:
    """Cells that differ at a discharge's end: the lowest one ended it, not the pack."""
    found = []
    for test in record.capacity_tests:
        cells = test.at.cell_voltages_v
        if len(cells) < 2:
            continue
        low, high, total = min(cells), max(cells), sum(cells)
        ends_v = test.at.end_v if test.at.end_v is not None else test.cutoff_v
        entries = (f"{test.at.place}.cell_voltages", f"{test.at.place}.cutoff_voltage")
        if high - low > CELLS_APART_V:
            parts = {"cell": cells.index(low) + 1, "low_v": low, "high_v": high}
            found.append(Question(entries, Told("cells_apart", parts)))
        if abs(total - ends_v) > CELLS_SUM * ends_v:
            found.append(Question(entries, Told("cells_do_not_add_up", {"sum_v": total, "end_v": ends_v})))
    return found
