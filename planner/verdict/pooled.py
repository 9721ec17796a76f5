"""What one unit, or several of a kind, say about the capacity of the kind and of the buyer's own unit."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from scipy.special import stdtrit

from planner.battery.full_discharge import full_discharges
from planner.battery.kind import alike_discharges, kind_of
from planner.record.instrument import charge_uncertainty, combine, expanded_uncertainty
from planner.record.schema import CapacityTest, Record

INTERVAL = 0.9  # of the buyer's own unit: nine in ten (a chosen level)


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


def headline_discharge(record: Record) -> CapacityTest | None:
    """The full discharge that gave most charge: the one a claim is fairest set against; None without one."""
    return max(full_discharges(record), key=lambda test: test.charge_c, default=None)


def pool(record: Record) -> Pooled | None:
    """Capacity over the record and its repeats; None without a full discharge."""
    alike = alike_discharges(record)
    if alike is None:
        return None
    meter, kind = charge_uncertainty(alike.tests[0][1]), kind_of(record).charge
    mean = alike.tests[0][1].charge_c * math.exp(kind.shift)
    n, names = kind.units, tuple(name for name, _ in alike.tests)
    normal = NormalDist().inv_cdf(0.5 + INTERVAL / 2.0)
    if kind.measured:
        factor = float(stdtrit(n - 1, 0.5 + INTERVAL / 2.0))  # Student's t
        half = math.hypot(factor * kind.spread * math.sqrt(1.0 + 1.0 / n), normal * meter)
        u_mean = expanded_uncertainty(combine([kind.spread / math.sqrt(n), meter]))
    else:
        half = normal * buyer_uncertainty(kind.spread, meter)
        u_mean = expanded_uncertainty(meter)
    return Pooled(names, alike.left_out, mean, u_mean, kind.spread, kind.measured,
                  kind.spread_doubt,
                  max(mean * (1.0 - half), 0.0), mean * (1.0 + half))  # fmt: skip


def buyer_uncertainty(spread: float, meter: float) -> float:
    """Relative standard uncertainty of another unit's capacity where one was tested.

    spread : between units, on the one tested and on the buyer's own. meter : of the test.
    Source: hand calculation, independent contributions (JCGM 100:2008 5.1.2).
    """
    return combine([spread, spread, meter])
