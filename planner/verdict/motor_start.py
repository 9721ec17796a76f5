"""A motor's thrust claim against its current, and its start and stall against what the unit was shown to hold."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from planner.battery.envelope import Envelope, classify, largest_demonstrated_a
from planner.constants import NOMINAL_UNIT_V, SECONDS_PER_MINUTE
from planner.install.motor_thrust import (
    locked_rotor_a,
    start_time_above_s,
    thrust_claim_possible,
    thrust_power_floor_w,
)
from planner.outing.motor import motor_current_a
from planner.outing.schema import Load
from planner.verdict.batch import Batch
from planner.verdict.wiring_check import full_open_v, source_ohm

LASTING_S = 900.0  # what is held this long counts as held for good (common practice, no source)
STALL_S = SECONDS_PER_MINUTE  # until somebody sees to a fouled propeller (common practice, no source)


@dataclass(frozen=True, slots=True)
class ThrustClaim:
    """A claim beside the least power it takes. floor_w, input_w : at the shaft; at the battery at full speed [W]."""

    load: str
    thrust_n: float
    propeller_m: float
    floor_w: float
    input_w: float
    possible: bool


@dataclass(frozen=True, slots=True)
class MotorStart:
    """A start.

    locked_a : at standstill, full battery [A]. level_a : held for 15 minutes on the bench, None when nothing is.
    above_s : how long the start draws more than that, None without a spin-up time. start_zone, stall_zone : of that
    start, and of a minute at standstill.
    """

    load: str
    locked_a: float
    level_a: float | None
    above_s: float | None
    start_zone: str | None
    stall_zone: str


def thrust_claims(batch: Batch) -> tuple[ThrustClaim, ...]:
    """Every claimed thrust against volts times amps at full speed."""
    found = []
    for load in batch.outing.loads:
        if load.thrust_n is None or load.propeller_m is None:
            continue
        input_w = motor_current_a(load, 1.0) * NOMINAL_UNIT_V * batch.setup.series
        floor = thrust_power_floor_w(load.thrust_n, load.propeller_m)
        possible = thrust_claim_possible(load.thrust_n, load.propeller_m, input_w)
        found.append(ThrustClaim(load.name, load.thrust_n, load.propeller_m, floor, input_w, possible))
    return tuple(found)


def motor_starts(batch: Batch, envelope: Envelope) -> tuple[MotorStart, ...]:
    """Start and stall of every motor whose winding resistance is stated.

    A bank's branches are taken to share alike. Other loads of the moment are left out.
    """
    branches = len(batch.setup.lead_ohm)
    loop = source_ohm(batch) + float(np.max(batch.setup.wiring_ohm))
    return tuple(
        _start(
            load, locked_rotor_a(full_open_v(batch), loop + load.winding_ohm) / branches, envelope, branches
        )
        for load in batch.outing.loads
        if load.winding_ohm is not None
    )


def _start(load: Load, unit_a: float, envelope: Envelope, branches: int) -> MotorStart:
    level = largest_demonstrated_a(envelope, LASTING_S)
    above = zone = None
    if load.spin_up_s is not None and level is not None:
        above = start_time_above_s(unit_a, motor_current_a(load, 1.0) / branches, level, load.spin_up_s)
        zone = classify(envelope, unit_a, above).name if 0.0 < above < math.inf else None
    stall = classify(envelope, unit_a, STALL_S).name
    return MotorStart(
        load.name, unit_a * branches, None if level is None else level * branches, above, zone, stall
    )
