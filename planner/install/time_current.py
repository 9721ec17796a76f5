"""When a fuse or breaker opens: bands of named published operating classes.

A band has two edges. The fast edge answers "does it open when it should not?", the slow edge "does it
protect?". Where nothing is published the answer is None: unknown, never a pass.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from planner.constants import SECONDS_PER_HOUR, SECONDS_PER_MINUTE
from planner.install.sources import Source

Answer = Literal["yes", "no", "unknown"]


@dataclass(frozen=True, slots=True)
class Gate:
    """One acceptance point: at this multiple of the rating it opens no earlier and no later.

    ratio : current over rating [1]. fast_s, slow_s : edges [s], None where none is published.
    """

    ratio: float
    fast_s: float | None
    slow_s: float | None


@dataclass(frozen=True, slots=True)
class RatingRange:
    """The gates of one range of ratings [A], both ends included, ratio rising."""

    from_a: float
    until_a: float
    gates: tuple[Gate, ...]


@dataclass(frozen=True, slots=True)
class OperatingClass:
    """A published operating class.

    hold_s : how long it carries its own rating, at least [s]; inf where no opening is allowed.
    constant_i2t_beyond : past the last gate the let-through I2t stays constant.
    """

    name: str
    hold_s: float
    ranges: tuple[RatingRange, ...]
    constant_i2t_beyond: bool
    source: Source
    reservation: str


@dataclass(frozen=True, slots=True)
class OpeningBand:
    """Earliest and latest opening [s]; None for an edge nobody publishes."""

    fast_s: float | None
    slow_s: float | None


_BLADE = OperatingClass(
    name="ISO 8820-3 blade",
    hold_s=100.0 * SECONDS_PER_HOUR,
    ranges=(
        RatingRange(
            1.0,
            30.0,
            (
                Gate(1.35, 0.75, 600.0), Gate(1.60, 0.25, 50.0), Gate(2.00, 0.15, 5.0),
                Gate(3.50, 0.04, 0.5), Gate(6.00, 0.02, 0.1),
            ),
        ),
        RatingRange(
            35.0,
            40.0,
            (
                Gate(1.35, 0.75, 600.0), Gate(1.60, 0.25, 50.0), Gate(2.00, 0.15, 5.0),
                Gate(3.50, 0.08, 0.5), Gate(6.00, None, 0.15),
            ),
        ),
    ),
    constant_i2t_beyond=True,
    source=Source("ISO 8820-3, acceptance points as makers state them", "reprint"),
    reservation="350 % and 600 % below 35 A are from memory; beyond 600 % constant I2t is assumed",
)  # fmt: skip

_LARGE_BLADE = OperatingClass(
    name="DIN 72581-3 type E",
    hold_s=100.0 * SECONDS_PER_HOUR,
    ranges=(
        RatingRange(
            20.0,
            80.0,
            (Gate(1.35, 60.0, 1800.0), Gate(2.00, 2.0, 60.0), Gate(3.50, 0.2, 7.0), Gate(6.00, 0.04, 1.0)),
        ),
    ),
    constant_i2t_beyond=False,
    source=Source("DIN 72581-3 type E, excerpt of acceptance points", "reprint"),
    reservation="200 % is also printed as 50 s; the later edge is taken. Range of ratings from memory",
)

_SMALL_FUSE = OperatingClass(
    name="UL 248-14",
    hold_s=math.inf,
    ranges=(
        RatingRange(
            0.0,
            30.0,
            (Gate(1.35, None, SECONDS_PER_HOUR), Gate(2.00, None, 2.0 * SECONDS_PER_MINUTE)),
        ),
        RatingRange(
            35.0,
            60.0,
            (Gate(1.35, None, SECONDS_PER_HOUR), Gate(2.00, None, 4.0 * SECONDS_PER_MINUTE)),
        ),
    ),
    constant_i2t_beyond=False,
    source=Source("UL/CSA/NMX 248-14, two summaries", "reprint"),
    reservation="no fast edge is published; time-delay kinds stand 5 s or 12 s at 200 %",
)

_MOULDED_CASE = OperatingClass(
    name="UL 489",
    hold_s=math.inf,
    ranges=(
        RatingRange(
            0.0,
            30.0,
            (Gate(1.35, None, SECONDS_PER_HOUR), Gate(2.00, None, 2.0 * SECONDS_PER_MINUTE)),
        ),
        RatingRange(
            31.0,
            50.0,
            (Gate(1.35, None, SECONDS_PER_HOUR), Gate(2.00, None, 4.0 * SECONDS_PER_MINUTE)),
        ),
        RatingRange(
            51.0,
            100.0,
            (Gate(1.35, None, 2.0 * SECONDS_PER_HOUR), Gate(2.00, None, 6.0 * SECONDS_PER_MINUTE)),
        ),
    ),
    constant_i2t_beyond=False,
    source=Source("UL 489 calibration tests, summaries", "reprint"),
    reservation="200 % above 30 A and 135 % above 50 A are from memory; instantaneous part not published",
)

OPERATING_CLASSES: Mapping[str, OperatingClass] = {
    known.name: known for known in (_BLADE, _LARGE_BLADE, _SMALL_FUSE, _MOULDED_CASE)
}


def operating_class(name: str) -> OperatingClass | None:
    """The published class of a name, spelling of capitals aside; None when it is none of them."""
    wanted = name.strip().casefold()
    return next((c for c in OPERATING_CLASSES.values() if c.name.casefold() == wanted), None)


def _between(low: tuple[float, float | None], high: tuple[float, float | None], ratio: float) -> float | None:
    """Log-log line through two (ratio, time) points, None when an end is unknown."""
    (x0, y0), (x1, y1) = low, high
    if ratio in (x0, x1):  # a gate is met exactly, not to the last bit of a logarithm
        return y0 if ratio == x0 else y1
    if y0 is None or y1 is None:
        return None
    slope = math.log(y1 / y0) / math.log(x1 / x0)
    return float(y0 * (ratio / x0) ** slope)


def _band_between_gates(gates: tuple[Gate, ...], ratio: float) -> OpeningBand:
    for low, high in pairwise(gates):
        if low.ratio <= ratio <= high.ratio:
            return OpeningBand(
                _between((low.ratio, low.fast_s), (high.ratio, high.fast_s), ratio),
                _between((low.ratio, low.slow_s), (high.ratio, high.slow_s), ratio),
            )
    raise AssertionError("the caller keeps the ratio between the first and the last gate")


def opening_time_band(kind: OperatingClass, rating_a: float, current_a: float) -> OpeningBand | None:
    """Earliest and latest opening of a protection of a class at a steady current.

    kind : published class; rating_a : of the device [A]; current_a [A].
    Returns None where nothing is published: rating outside the class, current between the rating and the
    first gate, or beyond the last gate unless the class keeps I2t constant there. Log-log between gates.
    At or below the rating: at least hold_s, no latest opening.
    """
    gates = next((r.gates for r in kind.ranges if r.from_a <= rating_a <= r.until_a), None)
    if gates is None:
        return None
    ratio = current_a / rating_a
    if ratio <= 1.0:
        return OpeningBand(kind.hold_s, None)
    last = gates[-1]
    if gates[0].ratio <= ratio <= last.ratio:
        return _band_between_gates(gates, ratio)
    if ratio > last.ratio and kind.constant_i2t_beyond:
        shrink = (last.ratio / ratio) ** 2
        return OpeningBand(
            None if last.fast_s is None else last.fast_s * shrink,
            None if last.slow_s is None else last.slow_s * shrink,
        )
    return None


def nuisance(kind: OperatingClass, rating_a: float, surge_a: float, surge_s: float) -> Answer:
    """Whether a surge may open the protection, by its fast edge.

    kind : published class; rating_a [A]; surge_a : current of the surge [A]; surge_s : its length [s].
    """
    band = opening_time_band(kind, rating_a, surge_a)
    if band is None or band.fast_s is None:
        return "unknown"
    return "yes" if surge_s >= band.fast_s else "no"


def protects(kind: OperatingClass, rating_a: float, fault_a: float, stands_s: float) -> Answer:
    """Whether the protection surely opens in time, by its slow edge.

    kind : published class; rating_a [A]; fault_a : fault current [A]; stands_s : how long the conductor
    stands it [s].
    """
    band = opening_time_band(kind, rating_a, fault_a)
    if band is None:
        return "unknown"
    if band.slow_s is None:
        # At or below the rating it never opens; elsewhere a missing edge is only unpublished.
        return "no" if fault_a <= rating_a else "unknown"
    return "yes" if band.slow_s <= stands_s else "no"
