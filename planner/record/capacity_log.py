"""A full discharge read from its raw log: charge, energy, duration and curve, in place of typed figures."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputRefused, Problem
from planner.log_file.stated import LogOptions
from planner.record.log_nodes import LogNodes, thin

Floats = NDArray[np.float64]

MOST_CURVE_POINTS = 200
STEADY = (
    0.02  # of the mean: within this, the middle 90 % of readings is one value; common practice, no source
)
LOAD_SHARE = 0.02  # of the largest current: less is the load's own leakage or an offset of the meter
AS_IT_IS = LogOptions()
LONGEST_PAUSE = 0.01  # of the duration: more lets the voltage recover and bends the curve


@dataclass(frozen=True, slots=True)
class LogFigures:
    """What a discharge log says. current_a or power_w is None, whichever was not held steady.

    end_v, span_v : the last voltage under load; the lowest and the highest. cell_k : the log's first temperature [K],
    None without such a column.
    curve : (charge C, voltage V), at most MOST_CURVE_POINTS; empty when the load was not steady.
    moving : the log thinned, from first to last load; None when the load was steady.
    """

    current_a: float | None
    power_w: float | None
    duration_s: float
    charge_c: float
    energy_j: float
    end_v: float
    span_v: tuple[float, float]
    cell_k: float | None
    curve: tuple[tuple[float, float], ...]
    moving: LogNodes | None
    warnings: tuple[str, ...]


def capacity_from_log(path: Path, options: LogOptions = AS_IT_IS) -> LogFigures:
    """Charge and energy by trapezoid over the discharge; duration is the time under load.

    path : a log with time, voltage and current. A current that is negative throughout is taken as
    discharge with its sign the other way, and a warning says so. options : what is stated of the file.
    Raises InputRefused when the log cannot be read or holds no discharge.
    """
    log = options.read(path, ("time", "voltage", "current"))
    if log.voltage_v is None or log.current_a is None:
        raise _refused(path, "without voltage or current", "time, voltage and current columns")
    warnings = list(log.warnings)
    current_a = _discharge_positive(path, log.time_s, options.turned(log.current_a), options, warnings)
    loaded = current_a > LOAD_SHARE * current_a.max()
    dt_s = np.diff(log.time_s)
    # Half of each interval belongs to either of its ends, as in the trapezoid.
    duration_s = float(dt_s @ (0.5 * (loaded[1:].astype(float) + loaded[:-1])))
    drawn_a = np.where(loaded, current_a, 0.0)
    power_w = drawn_a * log.voltage_v
    moved_c = np.concatenate(([0.0], np.cumsum(0.5 * dt_s * (drawn_a[1:] + drawn_a[:-1]))))
    if not (duration_s > 0.0 and moved_c[-1] > 0.0):
        raise _refused(path, "without a discharge", "at least two rows under load")
    steady_a = _spread(drawn_a[loaded]) <= STEADY
    steady_w = not steady_a and _spread(power_w[loaded]) <= STEADY
    ends = np.flatnonzero(loaded)
    pause_s = float(log.time_s[ends[-1]] - log.time_s[ends[0]]) - duration_s
    if not (steady_a or steady_w):
        warnings.append(_unsteady(drawn_a[loaded]))
    elif pause_s > LONGEST_PAUSE * duration_s:
        warnings.append(_paused(pause_s))
    usable = (steady_a or steady_w) and pause_s <= LONGEST_PAUSE * duration_s
    moving = None if usable else _loaded_part(log.time_s, log.voltage_v, current_a, loaded, log.temperature_k)
    return LogFigures(
        current_a=None if steady_w else float(moved_c[-1]) / duration_s,
        power_w=float(np.mean(power_w[loaded])) if steady_w else None,
        duration_s=duration_s,
        charge_c=float(moved_c[-1]),
        energy_j=float(dt_s @ (0.5 * (power_w[1:] + power_w[:-1]))),
        end_v=float(log.voltage_v[ends[-1]]),
        span_v=(float(log.voltage_v[loaded].min()), float(log.voltage_v[loaded].max())),
        cell_k=_first_temperature(log.temperature_k),
        curve=_thinned(moved_c[loaded], log.voltage_v[loaded]) if usable else (),
        moving=moving,
        warnings=tuple(warnings),
    )


def _discharge_positive(path: Path, time_s: Floats, current_a: Floats, options: LogOptions,
                        warnings: list[str]) -> Floats:  # fmt: skip
    """The current with discharge positive; refuses a log in which more was charged than discharged."""
    if current_a.max() <= 0.0 and current_a.min() < 0.0 and options.discharge is None:
        warnings.append(
            "the log's current is negative throughout: read as discharge with its sign the other way"
        )
        return -current_a
    if not current_a.max() > 0.0:
        raise _refused(path, "without a discharge", "at least two rows under load")
    charged_c = -float(np.trapezoid(np.minimum(current_a, 0.0), time_s))
    drawn_c = float(np.trapezoid(np.maximum(current_a, 0.0), time_s))
    if charged_c > drawn_c:
        found = f"{charged_c / 3600.0:.4g} Ah of negative and {drawn_c / 3600.0:.4g} Ah of positive current"
        allowed = "a log of one discharge, discharge positive or stated as negative by discharge in log_options"
        raise _refused(path, found, allowed)
    if charged_c > 0.01 * drawn_c:
        warnings.append(
            f"the log also holds {charged_c / 3600.0:.4g} Ah of charging, left out of the discharge"
        )
    return current_a


def _loaded_part(time_s: Floats, voltage_v: Floats, current_a: Floats, loaded: NDArray[np.bool_],
                 temperature_k: Floats | None) -> LogNodes:  # fmt: skip
    """The log from the last row before its load to the last row under load, time from there."""
    under = np.flatnonzero(loaded)
    part = slice(max(int(under[0]) - 1, 0), int(under[-1]) + 1)
    kelvin = None if temperature_k is None else temperature_k[part]
    return thin(time_s[part] - time_s[part][0], voltage_v[part], current_a[part], kelvin)


def _spread(values: Floats) -> float:
    """Half-width of the middle 90 % of the values, over their mean: edges and single slips left aside."""
    low, high = np.percentile(values, [5.0, 95.0])
    mean = float(np.mean(values))
    return float(0.5 * (high - low)) / mean if mean > 0.0 else math.inf


def _unsteady(drawn_a: Floats) -> str:
    return (
        f"the current moved between {drawn_a.min():.4g} A and {drawn_a.max():.4g} A: charge and energy are"
        " counted; beside a discharge at a steady current the model is fitted to every reading, alone to the mean"
    )


def _paused(pause_s: float) -> str:
    return (
        f"the load paused for {pause_s:.0f} s: charge and energy are counted; beside a discharge without a pause "
        "the model is fitted to every reading, alone to the mean"
    )


def _first_temperature(temperature_k: Floats | None) -> float | None:
    if temperature_k is None:
        return None
    known = temperature_k[np.isfinite(temperature_k)]
    return float(known[0]) if known.size else None


def _thinned(charge_c: Floats, voltage_v: Floats) -> tuple[tuple[float, float], ...]:
    """At most MOST_CURVE_POINTS samples, evenly along the curve's length, so that the knee keeps its share.

    Length is taken on axes scaled to 1: equal steps of charge alone would leave the knee three points.
    """
    rising = np.concatenate(([True], charge_c[1:] > np.maximum.accumulate(charge_c)[:-1]))
    charge_c, voltage_v = charge_c[rising] - charge_c[0], voltage_v[rising]
    count = charge_c.size
    if count > MOST_CURVE_POINTS:
        wide = np.diff(charge_c) / charge_c[-1]
        tall = np.diff(voltage_v) / max(float(np.ptp(voltage_v)), 1e-9)  # a flat voltage has no height
        length = np.concatenate(([0.0], np.cumsum(np.hypot(wide, tall))))
        at = np.searchsorted(length, np.linspace(0.0, length[-1], MOST_CURVE_POINTS))
        kept = np.unique(np.concatenate(([0], np.minimum(at, count - 1))))
        charge_c, voltage_v = charge_c[kept], voltage_v[kept]
    return tuple((float(c), float(v)) for c, v in zip(charge_c, voltage_v, strict=True))


def _refused(path: Path, value: str, allowed: str) -> InputRefused:
    fix = "Log one discharge, from full, with time, voltage and current."
    return InputRefused([Problem(str(path), "(file)", value, allowed, fix)])
