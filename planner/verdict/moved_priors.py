"""Does an assumption decide: whether a handbook value, moved, turns the answer round."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.verdict.batch import Batch


def deciding_prior(batch: Batch, holds: NDArray[np.bool_], base: bool) -> str | None:
    """The first handbook parameter that, moved by two standard deviations, turns good to bad or the reverse.

    holds : whether the question's condition holds in each column, (n,) or at least up to the first draw. base :
    whether the answer as it stands is a good one.
    """
    for place, name in enumerate(batch.scenarios.moved):
        if np.any(holds[1 + 2 * place : 3 + 2 * place] != base):
            return name
    return None
