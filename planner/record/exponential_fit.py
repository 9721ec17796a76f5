"""Least squares of a settling curve: y = end + Σ a·exp(−t/τ), with one or two time constants.

The curve is linear in all but the time constants, so only those are searched (variable projection,
Golub and Pereyra, SIAM J. Numer. Anal. 10 (1973) 413).
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from planner.log_file.columns import FloatArray

GRID = 24  # time constants tried between the shortest and the longest
MOST_POINTS = 300
SECOND_TERM_GAIN = 0.5  # the second term must halve the squared misfit to be told from the first
RIDGE = 1e-12  # keeps nearly equal shapes solvable without moving the answer
LOG_BOUND = 30.0  # of a logarithm of seconds: keeps the search clear of overflow
UNSETTLED = 0.9  # of the longest time constant tried: the curve has not begun to settle


@dataclass(frozen=True, slots=True)
class Settling:
    """Fitted settling curve. tau_s, amplitude : one entry a term, shortest first; end : value at rest."""

    end: float
    tau_s: tuple[float, ...]
    amplitude: tuple[float, ...]
    rms: float


def fit_settling(time_s: FloatArray, values: FloatArray, most_terms: int = 1) -> Settling | None:
    """Fit one exponential, or two where the data tell them apart.

    time_s : ndarray, shape (n,) rising [s]; values : ndarray, shape (n,); most_terms : 1 or 2.
    Returns None with fewer points than unknowns, or when the curve does not settle within what is seen.
    """
    time_s, values = _thinned(time_s - time_s[0], values)
    if time_s.size < 3 or time_s[-1] <= 0.0 or np.ptp(values) == 0.0:
        return None
    shortest, longest = 0.3 * float(np.min(np.diff(time_s))), 5.0 * float(time_s[-1])
    taus = np.geomspace(max(shortest, 1e-4 * longest), longest, GRID)
    one = _refined(time_s, values, _best_start(time_s, values, taus, 1))
    if one.tau_s[0] > UNSETTLED * longest:
        return None
    if most_terms == 1 or time_s.size < 8:
        return one
    two = _refined(time_s, values, _best_start(time_s, values, taus, 2))
    same_way = two.amplitude[0] * two.amplitude[1] > 0.0
    told = two.rms**2 < SECOND_TERM_GAIN * one.rms**2 and two.tau_s[1] < UNSETTLED * longest
    return two if same_way and told else one


def _thinned(time_s: FloatArray, values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """At most MOST_POINTS, denser where the curve is young; of equal times the last."""
    last = np.append(np.diff(time_s) > 0.0, True)
    time_s, values = time_s[last], values[last]
    if time_s.size <= MOST_POINTS:
        return time_s, values
    at = np.unique(np.geomspace(1.0, time_s.size, MOST_POINTS).astype(np.intp) - 1)
    return time_s[at], values[at]


def _best_start(time_s: FloatArray, values: FloatArray, taus: FloatArray, terms: int) -> tuple[float, ...]:
    """The time constants of the grid that fit best, by the normal equations of all choices at once."""
    shapes = np.column_stack([np.ones_like(time_s), np.exp(-time_s[:, None] / taus)])
    centred = values - values.mean()
    gram, right = shapes.T @ shapes, shapes.T @ centred
    # Neighbours of the grid are too much alike to be told apart, so two terms stand at least two apart.
    picks = [(0, *pick) for pick in combinations(range(1, taus.size + 1), terms) if np.ptp(pick) != 1]
    at = np.array(picks)
    ridge = RIDGE * time_s.size * np.eye(terms + 1)
    weights = np.linalg.solve(gram[at[:, :, None], at[:, None, :]] + ridge, right[at][..., None])[..., 0]
    best = at[int(np.argmax(np.sum(weights * right[at], axis=1)))]  # what is explained, so least misfit
    return tuple(float(taus[i - 1]) for i in best[1:])


def _solved(time_s: FloatArray, values: FloatArray, taus: tuple[float, ...]) -> tuple[FloatArray, float]:
    shapes = np.column_stack([np.ones_like(time_s), *(np.exp(-time_s / tau) for tau in taus)])
    weights, *_ = np.linalg.lstsq(shapes, values, rcond=None)
    missed = values - shapes @ weights
    return np.asarray(weights), float(missed @ missed)


def _misfit(time_s: FloatArray, values: FloatArray, taus: tuple[float, ...]) -> float:
    return _solved(time_s, values, taus)[1]


def _refined(time_s: FloatArray, values: FloatArray, start: tuple[float, ...]) -> Settling:
    from scipy.optimize import minimize

    def objective(logs: FloatArray) -> float:
        return _misfit(time_s, values, tuple(np.exp(np.clip(logs, -LOG_BOUND, LOG_BOUND))))

    found = minimize(
        objective,
        np.log(np.array(start, dtype=np.float64)),
        method="Nelder-Mead",
        options={"xatol": 1e-5, "fatol": np.inf, "maxiter": 400},
    )
    taus = tuple(float(tau) for tau in np.sort(np.exp(np.clip(found.x, -LOG_BOUND, LOG_BOUND))))
    weights, misfit = _solved(time_s, values, taus)
    return Settling(
        float(weights[0]), taus, tuple(float(w) for w in weights[1:]), float(np.sqrt(misfit / time_s.size))
    )
