"""What several units of one kind say of the kind: its centre beside the unit fitted, and its spread.

The record's own unit is fitted; further units of its kind (`repeats`) move the centre to their mean and show how
far units differ. Of one unit neither can be seen, and the spread is the prior's.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtri, ndtr

from planner.battery.full_discharge import GROUP_K, full_discharges
from planner.battery.prior import UNIT_SPREAD_CHARGE, UNIT_SPREAD_RESISTANCE
from planner.record.instrument import REPEATABILITY
from planner.record.schema import CapacityTest, Record, StepTest

Floats = NDArray[np.float64]

SAME_CURRENT = 1.1  # discharges within this ratio of current are of one kind (common practice, no source)
# likewise within this of the cut-off: near the usual 10 V a quarter volt is less than 0.5 % of charge
SAME_CUTOFF_V = 0.25
SAME_SOC, SAME_TIME = (
    0.1,
    1.1,
)  # steps within these of charge and (as a ratio) of reading time are alike, likewise
STEP_REPEATABILITY = (
    0.02  # of a resistance between two set-ups of one bench, relative (common practice, no source)
)
# of the natural logarithm: a unit of less than half its kind's charge is a defective one, which no spread describes
LARGEST_DEVIATION = math.log(2.0)


@dataclass(frozen=True, slots=True)
class Among:
    """One property over the units of a kind, as natural logarithms.

    shift : mean of the units less the unit fitted. spread : standard deviation between units. units : how many
    show it; with one the shift is 0 and the spread the prior's, else both were measured.
    """

    shift: float
    spread: float
    units: int

    @property
    def measured(self) -> bool:
        """Whether the spread was measured."""
        return self.units > 1

    @property
    def spread_doubt(self) -> float | None:
        """Relative standard uncertainty of the spread itself; None where it is assumed."""
        return spread_uncertainty(self.units) if self.measured else None

    def deviation(self, own: Floats, tested: Floats, doubt: Floats) -> Floats:
        """Where further units lie about the kind's centre, natural logarithms, own's shape.

        own : standard normals of each further unit. tested, doubt : one each a draw, broadcast, of the mean of
        the tested units and of the spread itself. Over draws a measured one is Student's t with units - 1
        degrees of freedom, scaled by spread * sqrt(1 + 1 / units).
        Source: prediction of one more normal reading from n (statistics texts); chi-squared law of a sample's
        variance.
        """
        away = self.spread * (own + tested / math.sqrt(self.units))
        if self.measured:
            degrees = self.units - 1
            away = away * np.sqrt(degrees / np.maximum(chdtri(degrees, ndtr(-doubt)), 1e-12))
        found: Floats = np.clip(away, -LARGEST_DEVIATION, LARGEST_DEVIATION)
        return found


def spread_uncertainty(readings: int) -> float:
    """Relative standard uncertainty of a standard deviation taken from n normal readings.

    Source: JCGM 100:2008 E.4.3 and Table E.1; exact for normal readings, sqrt(1 / c4^2 - 1).
    Raises ValueError below two readings.
    """
    if readings < 2:
        raise ValueError("one reading has no standard deviation")
    c4 = math.sqrt(2.0 / (readings - 1)) * math.exp(
        math.lgamma(readings / 2) - math.lgamma((readings - 1) / 2)
    )
    return math.sqrt(1.0 / c4**2 - 1.0)


@dataclass(frozen=True, slots=True)
class Kind:
    """Charge and resistances over the units of a kind."""

    charge: Among = Among(0.0, UNIT_SPREAD_CHARGE, 1)
    resistance: Among = Among(0.0, UNIT_SPREAD_RESISTANCE, 1)


@dataclass(frozen=True, slots=True)
class Alike:
    """Discharges of one sort over the units of a kind: (unit, test), the record's own first.

    left_out : units without a discharge of that sort.
    """

    tests: tuple[tuple[str, CapacityTest], ...]
    left_out: tuple[str, ...]


def kind_of(record: Record) -> Kind:
    """Pool the record's unit with its repeats."""
    alike = alike_discharges(record)
    charges = [test.charge_c for _, test in alike.tests] if alike else []
    return Kind(
        _among(charges, UNIT_SPREAD_CHARGE, REPEATABILITY),
        _among(_resistances(record), UNIT_SPREAD_RESISTANCE, STEP_REPEATABILITY),
    )


def alike_discharges(record: Record) -> Alike | None:
    """The record's full discharge that most of its repeats ran as well, and theirs; None without a full discharge.

    Of several with as many, the one that gave most charge.
    """
    found = [_beside(record, test) for test in full_discharges(record)]
    return max(found, key=lambda alike: (len(alike.tests), alike.tests[0][1].charge_c), default=None)


def _beside(record: Record, first: CapacityTest) -> Alike:
    tests, left_out = [(unit_name(record), first)], []
    for unit in record.repeats:
        same = min(
            (test for test in full_discharges(unit) if _one_sort(test, first)),
            key=lambda test: abs(test.mean_current_a / first.mean_current_a - 1.0), default=None,
        )  # fmt: skip
        if same is None:
            left_out.append(unit_name(unit))
        else:
            tests.append((unit_name(unit), same))
    return Alike(tuple(tests), tuple(left_out))


def unit_name(record: Record) -> str:
    """What a unit is called beside others of its kind: its tag, else its name."""
    return record.tag or record.name


def _one_sort(test: CapacityTest, first: CapacityTest) -> bool:
    return (
        abs(test.at.cell_k - first.at.cell_k) <= GROUP_K
        and (test.moving is None) == (first.moving is None)
        and _within(test.mean_current_a, first.mean_current_a, SAME_CURRENT)
        and abs(test.cutoff_v - first.cutoff_v) <= SAME_CUTOFF_V
    )


def _within(one: float, other: float, ratio: float) -> bool:
    return max(one, other) <= ratio * min(one, other)


def _among(readings: Sequence[float], prior_spread: float, least: float) -> Among:
    """From each unit's reading, the fitted unit first.

    least : what one unit differs from itself on one bench: a smaller spread cannot have been seen.
    """
    if len(readings) < 2:
        return Among(0.0, prior_spread, 1)
    values = np.array(readings)
    spread = float(values.std(ddof=1) / values.mean())
    return Among(math.log(values.mean() / values[0]), max(spread, least), len(values))


def _resistances(record: Record) -> list[float]:
    """Each unit's step resistances over the record's own at the same steps, geometric mean; the first is 1."""
    found = [1.0]
    for unit in record.repeats:
        ratios = [
            math.log(test.resistance_ohm / first.resistance_ohm)
            for first in record.step_tests
            for test in unit.step_tests
            if _same_step(test, first) and min(test.resistance_ohm, first.resistance_ohm) > 0.0
        ]
        if ratios:
            found.append(math.exp(sum(ratios) / len(ratios)))
    return found


def _same_step(test: StepTest, first: StepTest) -> bool:
    charges = [0.5 if each.at.state_of_charge is None else each.at.state_of_charge for each in (test, first)]
    return (
        abs(test.at.cell_k - first.at.cell_k) <= GROUP_K
        and abs(charges[0] - charges[1]) <= SAME_SOC
        and _within(test.after_s, first.after_s, SAME_TIME)
        and _within(abs(test.to_current_a), abs(first.to_current_a), SAME_CURRENT)
    )
