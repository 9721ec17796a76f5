"""Fuse or breaker: the window between load and conductor, where it sits, and what it must interrupt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from planner.install.sources import Source

# A continuous load at no more than 80 % of the fuse: trade habit, from memory.
CONTINUOUS_FACTOR = 1.25
# Ceiling of the device over the table's cell below 50 V: 33 CFR 183.455. A ceiling, never an aim.
LEGAL_FACTOR = 1.50
# "Well above" the estimate, as a number: common practice, no source. The estimate rests on a resistance read
# some tenths of a second late and through the protection switch, so the first instant may exceed it.
INTERRUPT_MARGIN = 1.5

# General sizes of fuses for 12 V installations, from memory.
STANDARD_FUSES_A: tuple[float, ...] = (
    5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0, 110.0, 125.0,
    150.0, 175.0, 200.0, 225.0, 250.0, 300.0, 350.0, 400.0,
)  # fmt: skip

# Comparing a rating in whole amperes with a computed current: the last bits of an RMS are no finding.
RELATIVE_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Placement:
    """How far along the conductor from the source the protection may sit [m], and when."""

    within_m: float
    condition: str
    source: Source


PLACEMENTS: tuple[Placement, ...] = (
    Placement(
        0.1778,  # 7 in
        "within 7 in (178 mm) of the source of power, along the conductor, where it cannot sit at the source",
        Source("33 CFR 183.455", "read"),
    ),
    Placement(
        1.016,  # 40 in
        "within 40 in (1016 mm) when the whole length up to it lies in a sheath or enclosure",
        Source("33 CFR 183.455", "read"),
    ),
    Placement(
        1.8288,  # 72 in
        "within 72 in (1829 mm) of the battery for a battery's output conductor, cranking feed excepted",
        Source("33 CFR 183.460", "read"),
    ),
)

Interrupt = Literal["unknown", "below", "close", "well above"]


def exceeds(value: float, limit: float) -> bool:
    """Whether a value lies above a limit by more than the rounding of a float."""
    return value > limit * (1.0 + RELATIVE_ROUNDING)


def fuse_low_a(current_a: float) -> float:
    """Smallest fuse that carries a current for good [A]. current_a : RMS over a minute [A].

    Source: load at 80 % of the fuse, trade habit, from memory.
    """
    return CONTINUOUS_FACTOR * current_a


def legal_fuse_max_a(table_a: float) -> float:
    """Legal ceiling of the device on a conductor below 50 V [A]. Shown, never recommended.

    table_a : the table's cell [A]; the cautious reading takes the cell with its factors instead.
    Source: 33 CFR 183.455, 150 %.
    """
    return LEGAL_FACTOR * table_a


def suggest_fuse_a(low_a: float, high_a: float) -> float | None:
    """Smallest standard fuse inside a window [A], None when no standard size lies in it."""
    return next(
        (size for size in STANDARD_FUSES_A if not exceeds(low_a, size) and not exceeds(size, high_a)), None
    )


def short_circuit_a(open_v: float, source_ohm: float, cable_ohm: float) -> float:
    """Prospective short-circuit current, an estimate and not an upper bound [A].

    open_v : open-circuit voltage of the bank when full [V].
    source_ohm : its resistance by the earliest reading, parallel branches taken together [ohm].
    cable_ohm : loop up to the short, 0 at the battery's terminals [ohm].
    Source: Ohm's law.
    """
    return open_v / (source_ohm + cable_ohm)


def judge_interrupt(rating_a: float | None, prospective_a: float) -> Interrupt:
    """Interrupting rating of a fuse against the estimated short-circuit current.

    rating_a : stated rating [A], None when not stated. prospective_a : estimate at the terminals [A].
    Returns "below", "close" (less than 1.5 times the estimate), "well above", or "unknown".
    """
    if rating_a is None:
        return "unknown"
    if rating_a < prospective_a:
        return "below"
    return "well above" if rating_a >= INTERRUPT_MARGIN * prospective_a else "close"
