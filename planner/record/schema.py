"""What the bench found about one unit. SI inside; discharge current is positive.

Every field that may be missing is None when it is: unknown, never zero and never a pass.
A record that exists is valid; the reader checks it, nothing further in re-checks it.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from pathlib import Path

from planner.record.log_nodes import LogNodes

FULL_ENDINGS = ("cutoff", "undervoltage")  # of a discharge: by a voltage that fell, so that the unit was empty


@dataclass(frozen=True, slots=True)
class Instrument:
    """Limits of error of one meter, rectangular half-widths. None: not stated.

    current_gain, voltage_gain : fraction of the reading.
    current_floor_a, voltage_floor_v : added to the gain part.
    time_s, temperature_k : of the timer and of the probe.
    """

    name: str
    current_gain: float | None = None
    current_floor_a: float = 0.0
    voltage_gain: float | None = None
    voltage_floor_v: float = 0.0
    time_s: float | None = None
    temperature_k: float | None = None


@dataclass(frozen=True, slots=True)
class Claims:
    """What label or seller says. Shown beside the measurement, never decides."""

    capacity_c: float | None = None
    energy_j: float | None = None
    continuous_current_a: float | None = None
    surges: tuple[tuple[float, float], ...] = ()  # (current A, duration s)
    charge_min_temperature_k: float | None = None
    charge_max_temperature_k: float | None = None
    discharge_min_temperature_k: float | None = None
    discharge_max_temperature_k: float | None = None
    charge_voltage_v: float | None = None
    charge_current_a: float | None = None
    # (from K, until K, largest charge current A) between the maker's bands
    charge_bands: tuple[tuple[float, float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class TestConditions:
    """What every kind of test may state.

    place : key of the test in the file, such as "capacity_test.1", for messages.
    cell_k : temperature of the cells; 298.15 when not stated (cell_k_stated False).
    """

    place: str
    instrument: Instrument | None = None
    cell_k: float = 298.15
    cell_k_stated: bool = False
    state_of_charge: float | None = None
    start_v: float | None = None
    end_v: float | None = None
    rest_s: float | None = None
    cell_voltages_v: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class CapacityTest:
    """A full discharge at constant current (current_a) or constant power (power_w).

    charge_c and duration_s are always there: the reader completes the one that is missing.
    curve : (charge taken out C, terminal V), charge rising; empty when not recorded.
    ended_by : cutoff | undervoltage | trip | clock | operator | meter.
    moving : the log, from first to last load, where its load was not steady; None otherwise.
    """

    at: TestConditions
    current_a: float | None
    power_w: float | None
    duration_s: float
    charge_c: float
    energy_j: float | None
    cutoff_v: float
    ended_by: str
    curve: tuple[tuple[float, float], ...] = ()
    log: Path | None = field(default=None, compare=False)  # what it says is in the figures beside it
    moving: LogNodes | None = field(default=None, compare=False)

    @property
    def mean_current_a(self) -> float:
        """Mean current [A]: charge over duration."""
        return self.charge_c / self.duration_s


@dataclass(frozen=True, slots=True)
class CurrentTest:
    """A hold (kind "hold", duration_s) or a ramp (kind "ramp", rate_a_per_s; current_a where it ended)."""

    at: TestConditions
    kind: str
    current_a: float
    duration_s: float | None
    rate_a_per_s: float | None
    ended_by: str
    terminal_start_k: float | None = None
    terminal_end_k: float | None = None
    recovery: str = "unknown"  # itself | reconnect | charger | unknown


@dataclass(frozen=True, slots=True)
class StepTest:
    """A current step: two steady readings, and after how long the second was taken."""

    at: TestConditions
    from_current_a: float
    to_current_a: float
    from_v: float
    to_v: float
    after_s: float

    @property
    def resistance_ohm(self) -> float:
        """DC resistance of the step [ohm]: change of voltage over change of current."""
        return (self.from_v - self.to_v) / (self.to_current_a - self.from_current_a)


@dataclass(frozen=True, slots=True)
class ColdChargeTest:
    """One try to charge cold cells. direction: cooling | warming; charging: blocked | accepted."""

    at: TestConditions
    direction: str
    charging: str
    soak_s: float | None = None


@dataclass(frozen=True, slots=True)
class TerminalTest:
    """Terminal temperature under a steady current: readings of (time s, temperature K)."""

    at: TestConditions
    current_a: float
    ambient_k: float
    readings: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class ChargeTest:
    """A charge: charger voltage, charge absorbed, how it ended."""

    at: TestConditions
    charger_v: float | None
    charge_c: float | None
    current_a: float | None
    ended_by: str | None


@dataclass(frozen=True, slots=True)
class Teardown:
    """What the look inside found. Areas in m2; insulation is its temperature class in K."""

    positive_lead: str | None = None
    negative_lead: str | None = None
    positive_area_m2: float | None = None
    negative_area_m2: float | None = None
    insulation_k: float | None = None
    temperature_sensor: bool | None = None
    surge_suppressor: bool | None = None
    notes: str = ""


@dataclass(frozen=True, slots=True)
class Record:
    """The tested battery: one unit, its claims and its tests."""

    name: str
    tag: str | None = None
    tested_on: datetime.date | None = None
    mass_kg: float | None = None
    price: float | None = None
    currency: str | None = None
    series_allowed: bool | None = None
    claims: Claims = Claims()
    capacity_tests: tuple[CapacityTest, ...] = ()
    current_tests: tuple[CurrentTest, ...] = ()
    step_tests: tuple[StepTest, ...] = ()
    cold_charge_tests: tuple[ColdChargeTest, ...] = ()
    terminal_tests: tuple[TerminalTest, ...] = ()
    charge_tests: tuple[ChargeTest, ...] = ()
    sleep_current_a: float | None = None
    self_discharge_per_month: float | None = None
    teardown: Teardown | None = None
    repeats: tuple[Record, ...] = ()
    # where it was read from is no part of what it says: one file named on two ways is one record
    path: Path | None = field(default=None, compare=False)
    files: tuple[Path, ...] = field(default=(), compare=False)  # every file it names, in order of mention
    warnings: tuple[str, ...] = ()
