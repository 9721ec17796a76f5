"""Limits of error of a bench reading, and the uncertainties that follow from them.

A limit of error is a rectangular half-width. What a record does not state comes from a handbook prior,
and is marked so: the reader of the answer must see which meters were guessed.
Source of the method: JCGM 100:2008 (GUM), clauses 4.3.7, 5.1.2, 5.2.2, 6.2 and G.4.1.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.record.schema import CapacityTest, Instrument

# Priors for what no instrument states: common practice, no source.
PRIOR_CURRENT_GAIN = 0.03
PRIOR_CURRENT_FLOOR_A = 1.0
PRIOR_VOLTAGE_GAIN = 0.005
PRIOR_TIME_S = 1.0
PRIOR_TEMPERATURE_K = 1.0

# Standard uncertainties of a discharge beside its meters, relative: common practice, no source.
REPEATABILITY = 0.005  # the same unit, charged and discharged again
CUTOFF_EFFECT = 0.001  # charge gained or lost by the error of the cut-off voltage

COVERAGE_FACTOR = 2.0  # about 95 % of a normal distribution, JCGM 100:2008 6.3.3


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit of error. half_width : in the reading's unit. stated : False when it is a handbook prior."""

    half_width: float
    stated: bool


def current_limit(instrument: Instrument | None, reading_a: float) -> Limit:
    """Limit of error of a current reading [A]: gain x reading + floor.

    instrument : None, or one without a current gain, gives the prior 3 % + 1 A (or the larger floor
        stated). reading_a : magnitude counts [A].
    Source: common data-sheet form; the prior is common practice, no source.
    """
    if instrument is None or instrument.current_gain is None:
        floor_a = max(PRIOR_CURRENT_FLOOR_A, instrument.current_floor_a if instrument else 0.0)
        return Limit(PRIOR_CURRENT_GAIN * abs(reading_a) + floor_a, stated=False)
    return Limit(instrument.current_gain * abs(reading_a) + instrument.current_floor_a, stated=True)


def voltage_limit(instrument: Instrument | None, reading_v: float) -> Limit:
    """Limit of error of a voltage reading [V]: gain x reading + floor; prior 0.5 % when not stated."""
    if instrument is None or instrument.voltage_gain is None:
        floor_v = instrument.voltage_floor_v if instrument else 0.0
        return Limit(PRIOR_VOLTAGE_GAIN * abs(reading_v) + floor_v, stated=False)
    return Limit(instrument.voltage_gain * abs(reading_v) + instrument.voltage_floor_v, stated=True)


def time_limit(instrument: Instrument | None) -> Limit:
    """Limit of error of a duration [s]; prior 1 s when not stated."""
    if instrument is None or instrument.time_s is None:
        return Limit(PRIOR_TIME_S, stated=False)
    return Limit(instrument.time_s, stated=True)


def temperature_limit(instrument: Instrument | None) -> Limit:
    """Limit of error of a probe [K]; prior 1 K when not stated."""
    if instrument is None or instrument.temperature_k is None:
        return Limit(PRIOR_TEMPERATURE_K, stated=False)
    return Limit(instrument.temperature_k, stated=True)


def standard_uncertainty(half_width: float) -> float:
    """Standard uncertainty of a rectangular limit of error, in its unit: half-width / sqrt(3).

    Source: JCGM 100:2008 4.3.7.
    """
    return half_width / math.sqrt(3.0)


def expanded_uncertainty(standard: float) -> float:
    """Expanded uncertainty with k = 2, in the unit of `standard`. Source: JCGM 100:2008 6.2.1."""
    return COVERAGE_FACTOR * standard


def combine(contributions: ArrayLike, correlation: ArrayLike | None = None) -> float:
    """Combined standard uncertainty of c_i u_i, in their unit.

    contributions : (n,) sensitivity times standard uncertainty of each input, signs kept.
    correlation : (n, n) correlation coefficients of the inputs; None when independent.
    Raises ValueError when the shapes disagree.
    Source: JCGM 100:2008 5.1.2 (independent) and 5.2.2 (correlated).
    """
    parts = np.asarray(contributions, dtype=np.float64)
    if correlation is None:
        return float(np.sqrt(np.sum(parts**2)))
    matrix: NDArray[np.float64] = np.asarray(correlation, dtype=np.float64)
    if matrix.shape != (parts.size, parts.size):
        raise ValueError(f"correlation has shape {matrix.shape}, {parts.size} contributions were given")
    # Full correlation can leave a sum a rounding error below zero.
    return math.sqrt(max(float(parts @ matrix @ parts), 0.0))


def charge_uncertainty(test: CapacityTest) -> float:
    """Relative standard uncertainty of a discharge's charge.

    Meter of current, timer, effect of the cut-off voltage, repeatability; independent.
    Source: JCGM 100:2008 5.1.2; the last two sizes are common practice, no source.
    """
    return combine(_charge_parts(test))


def energy_uncertainty(test: CapacityTest) -> float:
    """Relative standard uncertainty of a discharge's energy: that of its charge and of its voltage.

    Without an energy in the test, the voltage is taken at the cut-off, where the floor weighs most.
    Source: JCGM 100:2008 5.1.2.
    """
    mean_v = test.cutoff_v if test.energy_j is None else test.energy_j / test.charge_c
    voltage = standard_uncertainty(voltage_limit(test.at.instrument, mean_v).half_width / mean_v)
    return combine([*_charge_parts(test), voltage])


def _charge_parts(test: CapacityTest) -> list[float]:
    current_a = test.mean_current_a
    return [
        standard_uncertainty(current_limit(test.at.instrument, current_a).half_width / current_a),
        standard_uncertainty(time_limit(test.at.instrument).half_width / test.duration_s),
        CUTOFF_EFFECT,
        REPEATABILITY,
    ]
