"""What the bench has not tested, and which question each gap leaves open."""

from __future__ import annotations

import itertools

from planner.constants import ZERO_CELSIUS_K
from planner.record.schema import Record

COLD_K = ZERO_CELSIUS_K + 10.0  # cells at or above it say little about winter; common practice, no source
APART = 1.5  # currents closer than this ratio do not show what the rate does; common practice, no source
LONG_HOLD_S = 900.0  # from here on a hold speaks for continuous use; common practice, no source
TIME_CONSTANT_READINGS = 3  # a start, a rise and its bend


def missing_tests(record: Record) -> tuple[str, ...]:
    """One sentence for each test the record lacks, with the question that stays open.

    record : a checked record. Returns an empty tuple when nothing is missing.
    """
    return (
        *_discharges(record),
        *_currents(record),
        *_steps(record),
        *_cold_charging(record),
        *_terminals(record),
        *_rest(record),
    )


def _discharges(record: Record) -> list[str]:
    tests = record.capacity_tests
    if not tests:
        return ["No full discharge (capacity_test): runtime, energy and reserve stay open."]
    gaps = []
    if all(test.ended_by in ("clock", "operator", "meter") for test in tests):
        gaps.append(
            "No discharge ran to its end (cutoff or undervoltage): how much charge was left in it is open."
        )
    if not any(test.curve for test in tests):
        gaps.append(
            "No discharge with a curve: the voltage on the way, and with it an inverter's cut-out, rests on a"
            " handbook curve."
        )
    if not any(test.energy_j is not None or test.curve for test in tests):
        gaps.append("No discharge with its watt-hours: the price per measured watt-hour is open.")
    currents_a = [test.mean_current_a for test in tests]
    if max(currents_a) < APART * min(currents_a):
        gaps.append(
            f"Full discharges at about {max(currents_a):.3g} A only: runtime at much higher currents rests on"
            " handbook figures."
        )
    if min(test.at.cell_k for test in tests) >= COLD_K:
        coldest = min(test.at.cell_k for test in tests) - ZERO_CELSIUS_K
        gaps.append(
            f"No full discharge below {coldest:.0f} degC: energy of cold cells rests on handbook figures, and"
            " may stay not proven."
        )
    return gaps


def _currents(record: Record) -> list[str]:
    tests = record.current_tests
    if not tests:
        return [
            "No hold and no ramp (current_test): the highest current held stays open above the discharges' own."
        ]
    gaps = []
    passed = [test for test in tests if test.kind == "hold" and test.ended_by != "trip"]
    if not any((test.duration_s or 0.0) >= LONG_HOLD_S for test in passed):
        gaps.append(
            "No hold of 15 min or more: the highest current held for long rests on the full discharges alone."
        )
    trips = [test for test in tests if test.ended_by == "trip"]
    if not trips:
        highest_a = max(test.current_a for test in tests)
        gaps.append(f"No test ended by a trip: where the unit opens above {highest_a:.4g} A is not known.")
    elif all(test.recovery == "unknown" for test in trips):
        gaps.append(
            "How the unit comes back after a trip is not recorded: being left without power is a risk of its"
            " own."
        )
    return gaps


def _steps(record: Record) -> list[str]:
    if not record.step_tests:
        return [
            "No current step (step_test): resistance rests on handbook figures, which widens runtime, and"
            " inverter and wiring answers at high current."
        ]
    if min(test.at.cell_k for test in record.step_tests) >= COLD_K:
        return ["No current step on cold cells: how resistance grows in the cold rests on handbook figures."]
    return []


def _cold_charging(record: Record) -> list[str]:
    found = {(test.direction, test.charging) for test in record.cold_charge_tests}
    if not found:
        return [
            "No cold-charge test (cold_charge_test): charging in the cold stays open wherever cells may be cold."
        ]
    what = {
        ("cooling", "blocked"): "the temperature that blocks charging has no lower end",
        ("cooling", "accepted"): "the temperature that blocks charging has no upper end",
        ("warming", "blocked"): "the temperature that lets charging resume has no lower end",
        ("warming", "accepted"): "the temperature that lets charging resume has no upper end",
    }
    pairs = itertools.product(("cooling", "warming"), ("blocked", "accepted"))
    return [
        f"No cold-charge test found charging {charging} on {direction}: {what[direction, charging]}, and"
        " charging in the cold may stay open."
        for direction, charging in pairs
        if (direction, charging) not in found
    ]


def _terminals(record: Record) -> list[str]:
    readings = [len(test.readings) for test in record.terminal_tests]
    both_ends = any(
        test.terminal_start_k is not None and test.terminal_end_k is not None for test in record.current_tests
    )
    if not readings and not both_ends:
        return [
            "No terminal temperature (terminal_test): heat at the terminals stays open above half the current held"
            " for 15 min."
        ]
    if max(readings, default=0) < TIME_CONSTANT_READINGS:
        return [
            "Fewer than three terminal readings in one test: how fast terminals heat rests on handbook"
            " figures."
        ]
    return []


def _rest(record: Record) -> list[str]:
    gaps = []
    if record.sleep_current_a is None:
        gaps.append("No sleep current (storage): how long the unit may stand is open.")
    if record.series_allowed is None:
        gaps.append(
            "Whether the maker allows units in series (series_allowed) is not recorded: a bank in series stays"
            " open."
        )
    if not record.repeats:
        gaps.append(
            "One unit tested (no repeats): how far the buyer's own unit differs rests on a handbook spread."
        )
    return gaps
