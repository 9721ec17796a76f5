"""Each claim of a record beside what the bench measured. A claim never decides; here it is only compared."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from planner.battery.current_evidence import Pass, at_most
from planner.battery.envelope import Envelope, build_envelope
from planner.battery.full_discharge import full_discharges
from planner.battery.gate import probe_error_k
from planner.record.instrument import (
    charge_uncertainty,
    current_limit,
    energy_uncertainty,
    expanded_uncertainty,
    standard_uncertainty,
    temperature_limit,
    voltage_limit,
)
from planner.record.schema import CapacityTest, ChargeTest, CurrentTest, Record
from planner.verdict.check import Amount
from planner.verdict.pooled import headline_discharge

CONTINUOUS_S = (
    900.0  # held so long, a current counts as tested for continuous use (common practice, no source)
)


@dataclass(frozen=True, slots=True)
class ClaimCheck:
    """One claim against its measurement.

    claimed, measured : SI with the unit they are told in; measured None where nothing was measured.
    expanded : expanded uncertainty (k = 2) of the measurement, its SI unit; None with it.
    agrees : True | False | None, not tested far enough to say. by : places of the tests used.
    duration_s : of a claimed surge. trip_s : after which the unit opened, where a trip refutes the claim.
    """

    key: str
    claimed: Amount
    measured: Amount | None
    expanded: float | None
    agrees: bool | None
    by: tuple[str, ...] = ()
    duration_s: float | None = None
    trip_s: float | None = None

    @property
    def difference_in_u(self) -> float | None:
        """Measured less claimed, in expanded uncertainties."""
        if self.measured is None or not self.expanded:
            return None
        return (self.measured.value_si - self.claimed.value_si) / self.expanded


def check_claims(record: Record) -> tuple[ClaimCheck, ...]:
    """Every claim of the record, in a fixed order."""
    envelope = build_envelope(record)
    found = [*_charge_and_energy(record), *_currents(record, envelope), *_cold_charging(record)]
    found += [*_charging(record), *_discharge_temperatures(record)]
    return tuple(found)


def _at_least(measured: float, expanded: float, claimed: float) -> bool:
    """A rating is of at least so much: it is met when the measurement may reach it within its uncertainty."""
    return at_most(claimed, measured + expanded)


def _charge_and_energy(record: Record) -> list[ClaimCheck]:
    claims, found = record.claims, []
    best = headline_discharge(record)
    if claims.capacity_c is not None:
        claimed = Amount(claims.capacity_c, "Ah")
        if best is None:
            found.append(ClaimCheck("capacity", claimed, None, None, None))
        else:
            u = expanded_uncertainty(charge_uncertainty(best)) * best.charge_c
            agrees = _at_least(best.charge_c, u, claims.capacity_c)
            found.append(
                ClaimCheck("capacity", claimed, Amount(best.charge_c, "Ah"), u, agrees, (best.at.place,))
            )
    if claims.energy_j is not None:
        claimed = Amount(claims.energy_j, "Wh")
        most, energy = _most_energy(record)
        if most is None:
            found.append(ClaimCheck("energy", claimed, None, None, None))
        else:
            u = expanded_uncertainty(energy_uncertainty(most)) * energy
            agrees = _at_least(energy, u, claims.energy_j)
            found.append(ClaimCheck("energy", claimed, Amount(energy, "Wh"), u, agrees, (most.at.place,)))
    return found


def _most_energy(record: Record) -> tuple[CapacityTest | None, float]:
    """The full discharge that gave most energy, and that energy [J]."""
    read = [(test, test.energy_j) for test in full_discharges(record) if test.energy_j is not None]
    return max(read, key=lambda pair: pair[1], default=(None, math.nan))


def _currents(record: Record, envelope: Envelope) -> list[ClaimCheck]:
    claims, found = record.claims, []
    if claims.continuous_current_a is not None:
        found.append(_held("continuous_current", claims.continuous_current_a, CONTINUOUS_S, envelope, None))
    for number, (current_a, duration_s) in enumerate(claims.surges, start=1):
        found.append(_held(f"surges.{number}", current_a, duration_s, envelope, duration_s))
    return found


def _held(
    key: str, claimed_a: float, needed_s: float, envelope: Envelope, duration_s: float | None
) -> ClaimCheck:
    """A claimed current: refuted by a trip at no more than it, met by a pass, or not tested that far.

    A continuous current (duration_s None) is refuted by a trip however late it came.
    """
    claimed = Amount(claimed_a, "A")
    latest = math.inf if duration_s is None else duration_s
    trips = [trip for trip in envelope.trips if trip.condemns(claimed_a, latest)]
    best = max(
        (held for held in envelope.passes if held.largest_a(needed_s) > 0.0),
        key=lambda held: held.largest_a(needed_s), default=None,
    )  # fmt: skip
    reading, u = _reading(best, needed_s)
    met = best is not None and _at_least(reading, u, claimed_a)
    if trips:
        trip = min(trips, key=lambda one: (one.current_a, one.duration_s))
        if met and best is not None and best.covers(trip.current_a, trip.duration_s):
            both = (best.source, trip.source)  # the record contradicts itself: its questions say so
            return ClaimCheck(key, claimed, Amount(reading, "A"), u, None, both, duration_s, trip.duration_s)
        u_trip = expanded_uncertainty(standard_uncertainty(trip.limit_a))
        return ClaimCheck(key, claimed, Amount(trip.current_a, "A"), u_trip, False, (trip.source,), duration_s,
                          trip.duration_s)  # fmt: skip
    if best is None:
        return ClaimCheck(key, claimed, None, None, None, (), duration_s)
    return ClaimCheck(
        key, claimed, Amount(reading, "A"), u, True if met else None, (best.source,), duration_s
    )


def _reading(held: Pass | None, needed_s: float) -> tuple[float, float]:
    """What a pass read for that time [A], and its expanded uncertainty."""
    if held is None:
        return math.nan, math.nan
    return held.largest_a(needed_s) + held.limit_a, expanded_uncertainty(standard_uncertainty(held.limit_a))


def _cold_charging(record: Record) -> list[ClaimCheck]:
    """The lowest charging temperature: charge let in below it, or refused above it, refutes the claim."""
    limit = record.claims.charge_min_temperature_k
    if limit is None:
        return []
    key, claimed = "charge_min_temperature", Amount(limit, "degC")
    cooling = [test for test in record.cold_charge_tests if test.direction == "cooling"]
    refused = max((t for t in cooling if t.charging == "blocked"), key=lambda t: t.at.cell_k, default=None)
    let_in = [test for test in record.cold_charge_tests if test.charging == "accepted"]
    taken = min(let_in, key=lambda t: t.at.cell_k, default=None)
    for test, wrong in ((taken, -1.0), (refused, 1.0)):
        if test is not None and wrong * (test.at.cell_k - limit) > probe_error_k(test):
            u = expanded_uncertainty(standard_uncertainty(probe_error_k(test)))
            return [ClaimCheck(key, claimed, Amount(test.at.cell_k, "degC"), u, False, (test.at.place,))]
    warmest_open = min(
        (t for t in cooling if t.charging == "accepted"), key=lambda t: t.at.cell_k, default=None
    )
    if refused is None or warmest_open is None:
        return [ClaimCheck(key, claimed, None, None, None)]
    low, high = refused.at.cell_k - probe_error_k(refused), warmest_open.at.cell_k + probe_error_k(warmest_open)
    u = expanded_uncertainty(standard_uncertainty(0.5 * abs(high - low)))
    places = (refused.at.place, warmest_open.at.place)
    return [ClaimCheck(key, claimed, Amount(0.5 * (low + high), "degC"), u, True, places)]


def _charging(record: Record) -> list[ClaimCheck]:
    """Charger limits: met by a charge at that size that did not open the unit, refuted by one that did."""
    claims, tests = record.claims, record.charge_tests
    found = []
    if claims.charge_max_temperature_k is not None:
        key, limit = "charge_max_temperature", claims.charge_max_temperature_k
        found.append(
            _reached(key, Amount(limit, "degC"), ((t, t.at.cell_k) for t in tests if t.at.cell_k_stated))
        )
    if claims.charge_voltage_v is not None:
        read = ((t, t.charger_v) for t in tests if t.charger_v is not None)
        found.append(_reached("charge_voltage", Amount(claims.charge_voltage_v, "V"), read))
    if claims.charge_current_a is not None:
        amps = ((t, t.current_a) for t in tests if t.current_a is not None)
        found.append(_reached("charge_current", Amount(claims.charge_current_a, "A"), amps))
    for number, (from_k, until_k, current_a) in enumerate(claims.charge_bands, start=1):
        inside = [t for t in tests if t.at.cell_k_stated and from_k <= t.at.cell_k <= until_k]
        amps = ((t, t.current_a) for t in inside if t.current_a is not None)
        found.append(_reached(f"charge_bands.{number}", Amount(current_a, "A"), amps))
    return found


def _reached(key: str, claimed: Amount, readings: Iterable[tuple[ChargeTest, float]]) -> ClaimCheck:
    """How far charges went towards a claimed limit."""
    rows = list(readings)
    if not rows:
        return ClaimCheck(key, claimed, None, None, None)
    opened = [
        (test, value) for test, value in rows if test.ended_by == "trip" and at_most(value, claimed.value_si)
    ]
    test, value = min(opened, key=lambda row: row[1]) if opened else max(rows, key=lambda row: row[1])
    u = expanded_uncertainty(standard_uncertainty(_limit_of(test, value, claimed.unit)))
    agrees = False if opened else True if _at_least(value, u, claimed.value_si) else None
    return ClaimCheck(key, claimed, Amount(value, claimed.unit), u, agrees, (test.at.place,))


def _limit_of(test: ChargeTest, value: float, unit: str) -> float:
    meter = test.at.instrument
    if unit == "A":
        return current_limit(meter, value).half_width
    return voltage_limit(meter, value).half_width if unit == "V" else temperature_limit(meter).half_width


def _discharge_temperatures(record: Record) -> list[ClaimCheck]:
    """Discharge limits of temperature: met by a test out there that the unit did not break off."""
    claims, found = record.claims, []
    tests: list[CapacityTest | CurrentTest] = [*record.capacity_tests, *record.current_tests]
    tested = [t for t in tests if t.at.cell_k_stated and t.ended_by != "trip"]
    rows = (("discharge_min_temperature", claims.discharge_min_temperature_k, -1.0),
            ("discharge_max_temperature", claims.discharge_max_temperature_k, 1.0))  # fmt: skip
    for key, limit, way in rows:
        if limit is None:
            continue
        furthest = max(tested, key=lambda t: way * t.at.cell_k, default=None)
        if furthest is None:
            found.append(ClaimCheck(key, Amount(limit, "degC"), None, None, None))
            continue
        u = expanded_uncertainty(standard_uncertainty(temperature_limit(furthest.at.instrument).half_width))
        reached = way * (furthest.at.cell_k - limit) >= -u
        found.append(ClaimCheck(key, Amount(limit, "degC"), Amount(furthest.at.cell_k, "degC"), u,
                                True if reached else None, (furthest.at.place,)))  # fmt: skip
    return found
