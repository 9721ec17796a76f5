"""Random cases whose limits are fed back into the whole answer. Invented; a case is a function of its number."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from planner.constants import ZERO_CELSIUS_K
from planner.outing.change import at_speed, scale_inverters, scale_outing, stretch_outing
from planner.outing.schema import Load, Outing, Use, Wiring
from planner.record.scaled import scaled_unit
from planner.record.schema import Record
from planner.verdict.assess import Assessment, assess
from planner.verdict.compare import best_discharge
from planner.verdict.limits import Limit, find_limits
from tests.verdict.invented_records import AH, UNIT, need

DRAWS = 20  # enough for a tenth and nine tenths to differ
CASES = 200
IDS = ("load_factor", "duration", "cell_temperature", "inverter_power", "steady_speed", "smallest_battery")
# printed digits: numbers to 0.5 %, temperatures to a tenth of a degree, speeds to a hundredth of full speed
RELATIVE, STEP_K, SPEED = 0.005, 0.1, 0.01


def case(number: int) -> tuple[Record, Outing, str]:
    """A unit of some size, an outing, and the limit that is asked for."""
    rng = np.random.default_rng([7, number])
    name = IDS[number % len(IDS)]
    record = scaled_unit(UNIT, float(rng.uniform(0.5, 2.0)))
    hours, air_k = float(rng.uniform(0.2, 3.0)), ZERO_CELSIUS_K + float(rng.uniform(-8.0, 33.0))
    amps = float(rng.uniform(5.0, 70.0))
    outing = need(amps, hours, float(rng.uniform(0.0, 150.0)), float(rng.uniform(1.0, 30.0)), air_k, 0.1)
    outing = replace(
        outing, questions=("energy", "peak_current"), reserve_fraction=float(rng.choice([0.0, 0.2]))
    )
    if name == "inverter_power":
        plate = Load("plate", "inverter", (Use(60.0, 1800.0 * hours),), "measured", 0.05, power_w=12.0 * amps,
                     efficiency=0.88, idle_w=8.0, cutout_v=10.5, cutout_delay_s=2.0)  # fmt: skip
        outing = replace(outing, loads=(plate,), wiring=Wiring("AWG 2", 33.6e-6, 1.0, 1e-3, 378.15),
                         questions=("energy", "peak_current", "inverter"))  # fmt: skip
    if name == "steady_speed":
        motor = Load("motor", "motor", (Use(0.0, 3600.0 * hours, float(rng.uniform(0.2, 0.9))),), "measured", 0.05,
                     full_current_a=float(rng.uniform(30.0, 150.0)))  # fmt: skip
        outing = replace(outing, loads=(motor,))
    return record, outing, name


def found(record: Record, outing: Outing, name: str) -> Limit:
    """The limit of a case."""
    return find_limits(record, outing, draws=DRAWS, ids=(name,)).limits[0]


def fed_back(record: Record, outing: Outing, name: str, value: float, further: bool) -> Assessment:
    """The whole answer at a value, or one printed digit further."""
    more = 1.0 + RELATIVE if further else 1.0
    if name == "load_factor":
        outing = scale_outing(outing, value * more)
    elif name == "duration":
        outing = stretch_outing(outing, 3600.0 * value * more)
    elif name == "cell_temperature":
        outing = replace(outing, cell_k=ZERO_CELSIUS_K + value - (STEP_K if further else 0.0))
    elif name == "inverter_power":
        outing = scale_inverters(outing, value * more / (outing.loads[0].power_w or 1.0))
    elif name == "steady_speed":
        outing = at_speed(outing, value + (SPEED if further else 0.0))
    else:
        test = best_discharge(record)
        assert test is not None
        record = scaled_unit(record, value * AH / test.charge_c / more)
    return assess(record, outing, draws=DRAWS)
