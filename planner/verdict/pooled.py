"""What one unit, or several of a kind, say about the capacity of the kind and of the buyer's own unit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from scipy.special import stdtrit

from planner.battery.fit import GROUP_K, full_discharges
from planner.battery.prior import UNIT_SPREAD_CHARGE
from planner.record.instrument import charge_uncertainty, combine, expanded_uncertainty
from planner.record.schema import CapacityTest, Record

INTERVAL = 0.9  # of the buyer's own unit: nine in ten (a chosen level)
SAME_CURRENT = 1.1  # discharges within this ratio of current are of one kind (common practice, no source)


@dataclass(frozen=True, slots=True)
class Pooled:
    """Capacity of one or several units of a kind, at one current and temperature.

    units, left_out : names. mean_c, u_mean : mean [C] and its expanded uncertainty (k = 2, relative).
    spread : standard deviation between units, relative; spread_measured says whether it was.
    u_spread : relative standard uncertainty of the spread itself, None where it is assumed.
    low_c, high_c : where nine in ten further units lie.
    """

    units: tuple[str, ...]
    left_out: tuple[str, ...]
    mean_c: float
    u_mean: float
    spread: float
    spread_measured: bool
    u_spread: float | None
    low_c: float
    high_c: float


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


def headline_discharge(record: Record) -> CapacityTest | None:
    """The full discharge that gave most charge: the one a claim is fairest set against; None without one."""
    return max(full_discharges(record), key=lambda test: test.charge_c, default=None)


def pool(record: Record) -> Pooled | None:
    """Capacity over the record and its repeats; None without a full discharge."""
    first = headline_discharge(record)
    if first is None:
        return None
    alike, left_out = [(_name(record), first)], []
    for unit in record.repeats:
        found = _same_kind(unit, first)
        if found is None:
            left_out.append(_name(unit))
        else:
            alike.append((_name(unit), found))
    tests = [test for _, test in alike]
    charges = np.array([test.charge_c for test in tests])
    mean, meter = float(charges.mean()), charge_uncertainty(first)
    names = tuple(name for name, _ in alike)
    n = len(charges)
    if n == 1:
        half = NormalDist().inv_cdf(0.5 + INTERVAL / 2.0) * buyer_uncertainty(UNIT_SPREAD_CHARGE, meter, 1)
        return Pooled(names, tuple(left_out), mean, expanded_uncertainty(meter), UNIT_SPREAD_CHARGE, False, None,
                      max(mean * (1.0 - half), 0.0), mean * (1.0 + half))  # fmt: skip
    seen = float(charges.std(ddof=1)) / mean
    factor = float(stdtrit(n - 1, 0.5 + INTERVAL / 2.0))  # Student's t
    half = math.hypot(
        factor * seen * math.sqrt(1.0 + 1.0 / n), NormalDist().inv_cdf(0.5 + INTERVAL / 2.0) * meter
    )
    u_mean = expanded_uncertainty(combine([seen / math.sqrt(n), meter]))
    return Pooled(names, tuple(left_out), mean, u_mean, seen, True, spread_uncertainty(n),
                  max(mean * (1.0 - half), 0.0), mean * (1.0 + half))  # fmt: skip


def buyer_uncertainty(spread: float, meter: float, units: int) -> float:
    """Relative standard uncertainty of another unit's capacity.

    spread : between units, on the mean of the `units` tested and on the buyer's own. meter : of the tests,
    which is common to all. Source: hand calculation, independent contributions (JCGM 100:2008 5.1.2).
    """
    return combine([spread, spread / math.sqrt(units), meter])


def chance_of_at_least(charge_c: float, mean_c: float, relative: float) -> float:
    """Chance that another unit holds `charge_c` [C] or more, normal about the mean."""
    return NormalDist().cdf((mean_c - charge_c) / (relative * mean_c))


def _same_kind(unit: Record, first: CapacityTest) -> CapacityTest | None:
    """That unit's discharge at the same temperature and about the same current, None without one."""
    alike: Sequence[CapacityTest] = [
        test
        for test in full_discharges(unit)
        if abs(test.at.cell_k - first.at.cell_k) <= GROUP_K
        and max(test.mean_current_a, first.mean_current_a)
        <= SAME_CURRENT * min(test.mean_current_a, first.mean_current_a)
    ]
    return min(alike, key=lambda test: abs(test.mean_current_a / first.mean_current_a - 1.0), default=None)


def _name(record: Record) -> str:
    return record.tag or record.name
