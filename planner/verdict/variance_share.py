"""How much of a result's variance one input explains by itself, from draws that are at hand.

The first-order share Var(E[Y|X]) / Var(Y) is the correlation ratio: the draws are put in groups of equal size by X,
and the variance between the groups' means is set against the whole, less what groups of chance would show (Kelley, An
unbiased correlation ratio measure, Proc. Natl. Acad. Sci. 21 (1935) 554, from memory).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

LEAST_DRAWS = 50  # with fewer, chance alone shows a tenth of the variance (hand calculation: 7 groups of 7)


def variance_share(values: Floats, result: Floats) -> float | None:
    """First-order share of one input, 0 to 1 but for chance, which may take it a little below 0.

    values, result : (draws,) of the input and of what came of it. None with too few draws, a result that does
    not vary, or one that is not finite.
    """
    draws = len(result)
    if draws < LEAST_DRAWS or not np.isfinite(result).all():
        return None
    whole = float(result.var())
    if whole <= 1e-18 * float(result.mean()) ** 2:
        return None
    groups = int(math.sqrt(draws))
    parts = np.array_split(result[np.argsort(values, kind="stable")], groups)
    means = np.array([part.mean() for part in parts])
    sizes = np.array([len(part) for part in parts])
    between = float((sizes * (means - result.mean()) ** 2).sum() / draws)
    return 1.0 - (1.0 - between / whole) * (draws - 1) / (draws - groups)
