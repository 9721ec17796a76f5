"""What the tests of a record tell of each parameter of the model, and which they cannot tell apart."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.battery.fit import Fitted

Floats = NDArray[np.float64]

SAME = 0.95  # two parameters correlated beyond it move as one (a chosen edge)
UNTOLD = 0.5  # of the prior's standard deviation: a parameter that keeps more was hardly told (likewise)


@dataclass(frozen=True, slots=True)
class Untold:
    """Two parameters that cannot be told apart. correlation : of their posterior."""

    first: str
    second: str
    correlation: float


def shares(fitted: Fitted) -> Floats:
    """Of each parameter, its standard deviation after the tests over that of its prior, (names,)."""
    after: Floats = np.sqrt(np.diag(fitted.covariance))
    return after / np.maximum(fitted.plan.spread(), 1e-12)


def hardly_told(fitted: Fitted) -> tuple[str, ...]:
    """Parameters that rest on their prior: no test of the record says much of them."""
    return tuple(
        name for name, share in zip(fitted.plan.names, shares(fitted), strict=True) if share > UNTOLD
    )


def untold_pairs(fitted: Fitted) -> tuple[Untold, ...]:
    """Pairs whose posterior moves as one while each keeps much of its prior."""
    deviation, share = np.sqrt(np.diag(fitted.covariance)), shares(fitted)
    correlation = fitted.covariance / np.outer(deviation, deviation)
    names = fitted.plan.names
    return tuple(
        Untold(names[i], names[k], float(correlation[i, k]))
        for i in range(len(names)) for k in range(i + 1, len(names))
        if abs(correlation[i, k]) > SAME and min(share[i], share[k]) > UNTOLD
    )  # fmt: skip
