"""An invented cold year, a battery and a climate the tests of this room share.

Air of hour j: 3 - 13 cos(2 pi (j/24 - 15)/365) + 5 cos(2 pi ((j mod 24) - 14)/24) degC, so every number
taken from it can be had again by hand from this line.
"""

from __future__ import annotations

import numpy as np

from planner.winter.schema import ChargeSource, Climate, DayWindow, GateEnds, GatePair, WinterUnit
from planner.winter.weather import Weather

ZERO_K = 273.15
HOUR_S = 3600.0
AH = 3600.0
J = np.arange(8760)
AIR_K = (
    3.0
    - 13.0 * np.cos(2.0 * np.pi * (J / 24.0 - 15.0) / 365.0)
    + 5.0 * np.cos(2.0 * np.pi * ((J % 24) - 14) / 24.0)
    + ZERO_K
)
IN_WINDOW = (J % 24 >= 9) & (J % 24 < 15)
OPEN_TAU_S = 11.2 * 1000.0 / (8.0 * 0.28)  # 11.2 kg, 1000 J/(kg K), 8 W/(m2 K) on 0.28 m2
BOXED_TAU_S = 11.2 * 1000.0 / 0.55

WEATHER = Weather("invented", AIR_K)
UNIT = WinterUnit(capacity_c=103.4 * AH, mass_kg=11.2)
SHORE = ChargeSource("shore", DayWindow(9 * HOUR_S, 15 * HOUR_S), current_a=10.0)
CLIMATE = Climate(
    "Cold year (invented)",
    conductance_w_per_k=2.24,
    heat_capacity_j_per_k=11200.0,
    use_per_day_c=18.5 * AH,
    charges=(SHORE,),
)


def ends(low: tuple[float, float], high: tuple[float, float]) -> GateEnds:
    """Both pairs of (block, resume) thresholds, given in degC."""
    pairs = [GatePair(block + ZERO_K, resume + ZERO_K) for block, resume in (low, high)]
    return GateEnds(*pairs)


# Cooling: blocked at -2, accepted at +1; warming: blocked at 3, accepted at 5; probe 1 K.
TESTED = ends((-3.0, 2.0), (2.0, 6.0))
# No test: never blocks, or blocks below 5 and resumes at 8 degC.
UNTESTED = ends((-np.inf, -np.inf), (5.0, 8.0))
