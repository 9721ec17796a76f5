"""Thermal time constant of a terminal (or of the cells) from temperature readings under one steady load.

θ(t) = θ_end − b·exp(−t/τ). With three evenly spaced readings this is q = (θ3 − θ2)/(θ2 − θ1), τ = −Δt/ln q;
q ≥ 1 means that nothing settles yet, and no time constant is given (hand calculation).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planner.log_file.columns import FloatArray
from planner.record.exponential_fit import fit_settling
from planner.record.log_sign import LOADED

FEWEST_READINGS = 3
LEAST_RISE_K = 1.0  # a smaller rise is within the resolution of common probes
READING_ERROR_K = 0.5  # the last readings are moved by this to show what it does (common practice, no source)


@dataclass(frozen=True, slots=True)
class Thermal:
    """Settling of a temperature under a steady current.

    readings : how many. tau_s : None when it does not settle; low and high by half a kelvin on the last
    reading, high None when the upper one does not settle. end_k : temperature it settles at.
    """

    current_a: float
    readings: int
    first_k: float
    last_k: float
    tau_s: float | None
    tau_low_s: float | None
    tau_high_s: float | None
    end_k: float | None


def find_thermal(table: FloatArray) -> Thermal | None:
    """The thermal time constant under the longest steady load; None without such a load, three readings or a rise.

    table : outline with discharge positive, shape (4, n).
    """
    time_s, _, current_a, temperature_k = table
    if np.count_nonzero(np.isfinite(temperature_k)) < FEWEST_READINGS:
        return None
    first, last = _steady_piece(time_s, current_a)
    if not np.median(current_a[first:last]) > 0.0:
        return None
    told = np.flatnonzero(np.isfinite(temperature_k[first:last])) + first
    if told.size < FEWEST_READINGS or abs(temperature_k[told[-1]] - temperature_k[told[0]]) < LEAST_RISE_K:
        return None
    at_s, value_k = time_s[told], temperature_k[told]
    fit = fit_settling(at_s, value_k)
    # The last reading of three; the last tenth of many, since one of a hundred decides nothing.
    shift = np.zeros(told.size)
    shift[-max(1, told.size // 10) :] = READING_ERROR_K * np.sign(value_k[-1] - value_k[0])
    low, high = fit_settling(at_s, value_k - shift), fit_settling(at_s, value_k + shift)
    return Thermal(
        float(np.median(current_a[first:last])),
        int(told.size),
        float(value_k[0]),
        float(value_k[-1]),
        fit.tau_s[0] if fit else None,
        low.tau_s[0] if low else None,
        high.tau_s[0] if high else None,
        fit.end if fit else None,
    )


def _steady_piece(time_s: FloatArray, current_a: FloatArray) -> tuple[int, int]:
    """First and one past the last sample of the longest stretch without a change of current."""
    largest = float(np.max(np.abs(current_a)))
    cuts = np.flatnonzero(np.abs(np.diff(current_a)) > LOADED * largest) + 1
    edges = np.concatenate(([0], cuts, [current_a.size]))
    starts, ends = edges[:-1], edges[1:]
    loaded = current_a[(starts + ends) // 2] > LOADED * largest
    longest = int(np.argmax(np.where(loaded, time_s[ends - 1] - time_s[starts], -1.0)))
    return int(edges[longest]), int(edges[longest + 1])
