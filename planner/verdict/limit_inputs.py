"""The inputs that a limit is sought of: what each is worth at a step, and the case there.

Steps are whole numbers, 0 the present, further from it the more is asked. Values are rounded to the digits that are
told, so that the value told is one that was tried.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from planner.constants import COULOMB_PER_AH, SECONDS_PER_HOUR, ZERO_CELSIUS_K
from planner.install.conductor import STANDARD_AWG, awg_area_m2, awg_name
from planner.outing.build import count_pieces
from planner.outing.change import at_speed, scale_inverters, scale_outing, stretch_outing
from planner.outing.reader import COLDEST_K, LONGEST_S
from planner.outing.schema import Outing
from planner.record.scaled import scaled_unit
from planner.record.schema import Record
from planner.verdict.compare import best_discharge

RATIO = 1.0025  # of one step to the next: half of what is promised
DIGITS = 5  # significant, so that rounding is well below a step
STEP_K = 0.1
SPEED_STEPS = 400  # of full speed
LEAST_SPEED_STEP = 20
MOST_PIECES = 100_000  # a longer outing switched more often is not tried: the answer would take minutes
MORE = (1.5, 2.5, 5.0, 10.0, 20.0)  # multiples that are scanned
LESS = (0.7, 0.5, 0.3, 0.15, 0.05)
LONGER = MORE[:-1]
SCAN_K = 10.0
COLDEST_SCAN_K = (
    ZERO_CELSIUS_K - 40.0
)  # below it a lithium battery's electrolyte is out of its range (handbook)
WARMEST_SCAN_K = ZERO_CELSIUS_K + 45.0
SCAN_GAUGES = 3
SCAN_SPEED = 120

Value = float | str


@dataclass(frozen=True, slots=True)
class Case:
    """One battery and one outing."""

    record: Record
    outing: Outing


@dataclass(frozen=True, slots=True)
class Steps:
    """An input that moves in steps.

    further, nearer : steps of the scan, rising from above 0, falling from below. off_grid : the present value is none
    of the steps, so that step 0 is only the nearest one. refits : another record at every step. ratio : of what
    is asked at one step to what is asked at the last; None where it is not even. stretches : by lasting longer.
    """

    id: str
    unit: str
    value: Callable[[int], Value]
    case: Callable[[int], Case]
    further: Sequence[int]
    nearer: Sequence[int]
    off_grid: bool = False
    refits: bool = False
    ratio: float | None = None
    stretches: bool = False


def load_steps(here: Case) -> Steps | str:
    """All currents, powers and surges times a factor."""

    def value(step: int) -> float:
        return _rounded(RATIO**step)

    def changed(step: int) -> Case:
        return replace(here, outing=scale_outing(here.outing, value(step)))

    return Steps("load_factor", "1", value, changed, _steps(MORE), _steps(LESS), ratio=RATIO)


def duration_steps(here: Case) -> Steps | str:
    """The outing's length; what reaches its end stretches with it."""

    def value(step: int) -> float:
        return _rounded(here.outing.duration_s / SECONDS_PER_HOUR * RATIO**step)

    def stretched(step: int) -> Case:
        return replace(here, outing=stretch_outing(here.outing, value(step) * SECONDS_PER_HOUR))

    def bearable(step: int) -> bool:
        longer = stretched(step).outing
        return longer.duration_s <= LONGEST_S and count_pieces(longer.duration_s, longer.loads) <= MOST_PIECES

    further = [step for step in _steps(LONGER) if bearable(step)]
    return Steps("duration", "h", value, stretched, further, _steps(LESS), ratio=RATIO, stretches=True)


def cell_steps(here: Case) -> Steps | str:
    """Cell temperature at the start, colder by steps; the air stays."""
    outing = here.outing

    def value(step: int) -> float:
        return round(outing.cell_k - ZERO_CELSIUS_K - STEP_K * step, 2)

    def changed(step: int) -> Case:
        return replace(here, outing=replace(outing, cell_k=value(step) + ZERO_CELSIUS_K))

    lowest = max(COLDEST_SCAN_K, COLDEST_K)
    colder = _spaced(max(outing.cell_k - lowest, 0.0))
    warmer = [-step for step in _spaced(max(WARMEST_SCAN_K - outing.cell_k, 0.0))]
    return Steps("cell_temperature", "degC", value, changed, colder, warmer)


def gauge_steps(here: Case) -> Steps | str:
    """The thinnest conductor of the table. The present one may lie between two rows."""
    wiring = here.outing.wiring
    if wiring is None:
        return "cable"
    thickest_first = STANDARD_AWG[::-1]
    last = len(thickest_first) - 1
    near = min(
        range(last + 1), key=lambda row: abs(math.log(awg_area_m2(thickest_first[row]) / wiring.area_m2))
    )

    def value(step: int) -> str:
        return awg_name(thickest_first[near + step])

    def changed(step: int) -> Case:
        number = thickest_first[near + step]
        other = replace(wiring, size=awg_name(number), area_m2=awg_area_m2(number))
        return replace(here, outing=replace(here.outing, wiring=other))

    same = abs(awg_area_m2(thickest_first[near]) / wiring.area_m2 - 1.0) < 1e-9
    further = [*range(SCAN_GAUGES, last - near, SCAN_GAUGES), *([last - near] if near < last else [])]
    nearer = [*range(-SCAN_GAUGES, -near, -SCAN_GAUGES), *([-near] if near else [])]
    return Steps("gauge", "AWG", value, changed, further, nearer, off_grid=not same)


def inverter_steps(here: Case) -> Steps | str:
    """The largest AC power of the largest inverter, all inverters scaled alike."""
    powers = [load.power_w or 0.0 for load in here.outing.loads if load.kind == "inverter"]
    if not powers or max(powers) <= 0.0:
        return "load on an inverter"
    largest = max(powers)

    def value(step: int) -> float:
        return _rounded(largest * RATIO**step)

    def changed(step: int) -> Case:
        return replace(here, outing=scale_inverters(here.outing, value(step) / largest))

    return Steps("inverter_power", "W", value, changed, _steps(MORE), _steps(LESS), ratio=RATIO)


def speed_steps(here: Case) -> Steps | str:
    """One speed for every use of every motor, from a twentieth of full speed to full speed."""
    uses = [use for load in here.outing.loads if load.kind == "motor" for use in load.uses if use.speed]
    if not uses:
        return "motor with a speed"
    span = sum(use.length_s for use in uses)
    mean = sum((use.speed or 0.0) * use.length_s for use in uses) / span
    start = min(max(round(mean * SPEED_STEPS), LEAST_SPEED_STEP), SPEED_STEPS)

    def value(step: int) -> float:
        return (start + step) / SPEED_STEPS

    def changed(step: int) -> Case:
        return replace(here, outing=at_speed(here.outing, value(step)))

    fastest, slowest = SPEED_STEPS - start, start - LEAST_SPEED_STEP
    further = [*range(SCAN_SPEED, fastest, SCAN_SPEED), *([fastest] if fastest else [])]
    nearer = [*range(-SCAN_SPEED, -slowest, -SCAN_SPEED), *([-slowest] if slowest else [])]
    return Steps("steady_speed", "of full speed", value, changed, further, nearer, off_grid=True)


def battery_steps(here: Case) -> Steps | str:
    """The charge of a unit alike in everything but size. Fewer amp-hours is further."""
    test = best_discharge(here.record)
    if test is None:
        return "full discharge of the battery"
    charge_ah = test.charge_c / COULOMB_PER_AH

    def value(step: int) -> float:
        return _rounded(charge_ah * RATIO**-step)

    def changed(step: int) -> Case:
        return replace(here, record=scaled_unit(here.record, value(step) / charge_ah))

    larger = [-step for step in _steps(MORE)]
    smaller = [-step for step in _steps(LESS)]
    return Steps("smallest_battery", "Ah", value, changed, smaller, larger, refits=True, ratio=RATIO)


STEPS: dict[str, Callable[[Case], Steps | str]] = {
    "load_factor": load_steps,
    "duration": duration_steps,
    "cell_temperature": cell_steps,
    "gauge": gauge_steps,
    "inverter_power": inverter_steps,
    "steady_speed": speed_steps,
    "smallest_battery": battery_steps,
}


def _steps(ratios: Sequence[float]) -> list[int]:
    return [round(math.log(ratio) / math.log(RATIO)) for ratio in ratios]


def _rounded(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")


def _spaced(whole_k: float) -> list[int]:
    """Steps about SCAN_K apart over a span [K], its end included."""
    count = math.ceil(whole_k / SCAN_K - 1e-9)
    last = int(whole_k / STEP_K + 1e-9)
    return sorted({round(last * place / count) for place in range(1, count + 1)} - {0}) if count else []
