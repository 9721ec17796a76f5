"""Whether a cold battery gets wet in warm air."""

from __future__ import annotations

import math

from planner.constants import ZERO_CELSIUS_K

# Magnus form over water, Alduchov & Eskridge, J. Appl. Meteorology 35 (1996) 601; within 0.4 % of the
# vapour pressure from -40 to 50 degC.
MAGNUS_A, MAGNUS_B_C = 17.625, 243.04


def dew_point_k(air_k: float, relative_humidity: float) -> float:
    """Dew point [K] of air at `air_k` [K] and a relative humidity (0 to 1).

    Raises ValueError for a humidity outside 0 to 1 or of 0, which has no dew point.
    """
    if not 0.0 < relative_humidity <= 1.0:
        raise ValueError(f"relative humidity {relative_humidity} is not above 0 and at most 1")
    air_c = air_k - ZERO_CELSIUS_K
    log_share = math.log(relative_humidity) + MAGNUS_A * air_c / (MAGNUS_B_C + air_c)
    return MAGNUS_B_C * log_share / (MAGNUS_A - log_share) + ZERO_CELSIUS_K


def condenses(cell_k: float, air_k: float, relative_humidity: float) -> bool:
    """Whether water condenses on a battery at `cell_k` brought into this air: it is at or below the dew point."""
    return cell_k <= dew_point_k(air_k, relative_humidity)


def wait_until_dry_s(cell_k: float, air_k: float, relative_humidity: float, tau_s: float) -> float:
    """Time until the battery has warmed above the dew point [s]: 0 when it is dry, inf in saturated air."""
    dew_k = dew_point_k(air_k, relative_humidity)
    if cell_k > dew_k:
        return 0.0
    if dew_k >= air_k:
        return math.inf
    return tau_s * math.log((air_k - cell_k) / (air_k - dew_k))
