"""How much more: the last value of one input, all else kept, at which the overall verdict is good.

Every value is found on the engine by whole assessments with the same seed and draws, the record fitted once.
Steps are rounded to the digits that are told, so the value told is one that was tried.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from planner.battery.fit import Fitted, fit_record
from planner.constants import SECONDS_PER_HOUR, ZERO_CELSIUS_K
from planner.install.conductor import STANDARD_AWG, awg_area_m2, awg_name
from planner.outing.build import count_pieces
from planner.outing.change import scale_inverters, scale_outing, stretch_outing
from planner.outing.reader import COLDEST_K, LONGEST_S
from planner.outing.schema import Outing
from planner.record.schema import Record
from planner.verdict.assess import DRAWS, SEED, Assessment, assess
from planner.verdict.boundary import BOUNDARY, Found, find_boundary
from planner.verdict.check import GOOD, Check
from planner.verdict.spare import Spare, spare_of
from planner.winter.schema import Climate

RATIO = 1.0025  # of one step to the next: half of what is promised
DIGITS = 5  # significant, so that rounding is well below a step
STEP_K = 0.1
MOST_PIECES = 100_000  # a longer outing switched more often is not tried: the answer would take minutes
MORE = (1.5, 2.5, 5.0, 10.0, 20.0)  # multiples that are scanned
LESS = (0.7, 0.5, 0.3, 0.15, 0.05)
LONGER = MORE[:-1]
SCAN_K = 10.0
COLDEST_SCAN_K = ZERO_CELSIUS_K - 40.0  # below it a lithium battery's electrolyte is out of its range (handbook)
WARMEST_SCAN_K = ZERO_CELSIUS_K + 45.0
SCAN_GAUGES = 3

USUAL = ("load_factor", "duration", "cell_temperature", "gauge")
ALL = (*USUAL, "inverter_power")


@dataclass(frozen=True, slots=True)
class Probe:
    """One assessment of a changed outing: the verdict, and the first check that decides it."""

    verdict: str
    check: Check | None

    @property
    def good(self) -> bool:
        """Fits, with or without limits."""
        return self.verdict in GOOD


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit. Values in `unit` ("1", "h", "degC", "AWG", "W"); a gauge is its name.

    found : None when the outing has no such input; then missing says what to enter.
    searched : first and last value looked at. inside, outside : the probes at the value and one step further.
    probes : assessments made for this limit, the present one left aside.
    """

    id: str
    unit: str
    found: Found | None
    value: float | str | None = None
    searched: tuple[float | str, float | str] | None = None
    inside: Probe | None = None
    outside: Probe | None = None
    probes: int = 0
    missing: str | None = None


@dataclass(frozen=True, slots=True)
class Limits:
    """The present answer and its limits. spare : what the present run says of turning back and of the pull."""

    present: Assessment
    limits: tuple[Limit, ...]
    spare: Spare


@dataclass(frozen=True, slots=True)
class _Input:
    """An input that can be moved in steps: what it is worth at a step, and the outing there."""

    id: str
    unit: str
    value: Callable[[int], float | str]
    outing: Callable[[int], Outing]
    further: Sequence[int]
    nearer: Sequence[int]


def find_limits(record: Record, outing: Outing, climate: Climate | None = None, draws: int = DRAWS,
                seed: int = SEED, ids: Sequence[str] = USUAL, fitted: Fitted | None = None,
                units: tuple[Record, ...] = ()) -> Limits:  # fmt: skip
    """The limits of an outing on a battery: load, length, cold, cable.

    ids : which limits, of ALL; each takes about a dozen assessments. units : records of a bank's units where they
    differ. Every probe is `assess` with the same draws and seed.
    """
    known = fitted or fit_record(record)
    present = assess(record, outing, climate, draws, seed, known, units)

    def probe(changed: Outing) -> Probe:
        return _probe_of(assess(record, changed, climate, draws, seed, known, units))

    here = _probe_of(present)
    return Limits(present, tuple(_SEARCHES[name](outing, here, probe) for name in ids), spare_of(present))


Tried = Callable[[Outing], Probe]


def _probe_of(found: Assessment) -> Probe:
    return Probe(found.verdict, found.deciding[0] if found.deciding else None)


def _limit(given: _Input, present: Probe, probe: Tried, start: int = 0) -> Limit:
    """Search one input; every step is tried once. start : the step that the present value stands on."""
    seen: dict[int, Probe] = {start: present}

    def at(step: int) -> Probe:
        if step not in seen:
            seen[step] = probe(given.outing(step))
        return seen[step]

    found = find_boundary(lambda step: at(step + start).good, given.further, given.nearer)
    ends = (given.value(found.searched[0] + start), given.value(found.searched[1] + start))
    if found.kind != BOUNDARY or found.inside is None or found.outside is None:
        return Limit(given.id, given.unit, found, searched=ends, probes=len(seen) - 1)
    inside, outside = found.inside + start, found.outside + start
    return Limit(
        given.id, given.unit, found, given.value(inside), ends, at(inside), at(outside), len(seen) - 1,
    )  # fmt: skip


def _steps(ratios: Sequence[float]) -> list[int]:
    return [round(math.log(ratio) / math.log(RATIO)) for ratio in ratios]


def _rounded(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")


def _load_limit(outing: Outing, present: Probe, probe: Tried) -> Limit:
    """All currents, powers and surges times a factor."""

    def value(step: int) -> float:
        return _rounded(RATIO**step)

    def changed(step: int) -> Outing:
        return scale_outing(outing, value(step))

    return _limit(_Input("load_factor", "1", value, changed, _steps(MORE), _steps(LESS)), present, probe)


def _duration_limit(outing: Outing, present: Probe, probe: Tried) -> Limit:
    """The outing's length; what reaches its end stretches with it."""

    def value(step: int) -> float:
        return _rounded(outing.duration_s / SECONDS_PER_HOUR * RATIO**step)

    def stretched(step: int) -> Outing:
        return stretch_outing(outing, value(step) * SECONDS_PER_HOUR)

    def bearable(step: int) -> bool:
        longer = stretched(step)
        return longer.duration_s <= LONGEST_S and count_pieces(longer.duration_s, longer.loads) <= MOST_PIECES

    further = [step for step in _steps(LONGER) if bearable(step)]
    return _limit(_Input("duration", "h", value, stretched, further, _steps(LESS)), present, probe)


def _cell_limit(outing: Outing, present: Probe, probe: Tried) -> Limit:
    """Cell temperature at the start, colder by steps; the air stays."""

    def value(step: int) -> float:
        return round(outing.cell_k - ZERO_CELSIUS_K - STEP_K * step, 2)

    def changed(step: int) -> Outing:
        return replace(outing, cell_k=value(step) + ZERO_CELSIUS_K)

    lowest = max(COLDEST_SCAN_K, COLDEST_K)
    colder = _spaced(max(outing.cell_k - lowest, 0.0))
    warmer = [-step for step in _spaced(max(WARMEST_SCAN_K - outing.cell_k, 0.0))]
    return _limit(_Input("cell_temperature", "degC", value, changed, colder, warmer), present, probe)


def _spaced(whole_k: float) -> list[int]:
    """Steps about SCAN_K apart over a span [K], its end included."""
    count = math.ceil(whole_k / SCAN_K - 1e-9)
    last = int(whole_k / STEP_K + 1e-9)
    return sorted({round(last * place / count) for place in range(1, count + 1)} - {0}) if count else []


def _gauge_limit(outing: Outing, present: Probe, probe: Tried) -> Limit:
    """The thinnest conductor of the table. The present one may lie between two rows, so it is no step."""
    wiring = outing.wiring
    if wiring is None:
        return Limit("gauge", "AWG", None, missing="[wiring]")
    thickest_first = STANDARD_AWG[::-1]

    def changed(step: int) -> Outing:
        number = thickest_first[step]
        return replace(outing, wiring=replace(wiring, size=awg_name(number), area_m2=awg_area_m2(number)))

    def value(step: int) -> str:
        return awg_name(thickest_first[step])

    last = len(thickest_first) - 1
    near = min(range(last + 1), key=lambda step: abs(math.log(awg_area_m2(thickest_first[step]) / wiring.area_m2)))
    same = abs(awg_area_m2(thickest_first[near]) / wiring.area_m2 - 1.0) < 1e-9
    further = [*range(SCAN_GAUGES, last - near, SCAN_GAUGES), *([last - near] if near < last else [])]
    nearer = [*range(-SCAN_GAUGES, -near, -SCAN_GAUGES), *([-near] if near else [])]
    start = present if same else probe(changed(near))
    found = _limit(_Input("gauge", "AWG", value, changed, further, nearer), start, probe, near)
    return found if same else replace(found, probes=found.probes + 1)


def _inverter_limit(outing: Outing, present: Probe, probe: Tried) -> Limit:
    """The largest AC power of the largest inverter, all inverters scaled alike."""
    powers = [load.power_w or 0.0 for load in outing.loads if load.kind == "inverter"]
    if not powers or max(powers) <= 0.0:
        return Limit("inverter_power", "W", None, missing='a load of kind = "inverter"')
    largest = max(powers)

    def value(step: int) -> float:
        return _rounded(largest * RATIO**step)

    def changed(step: int) -> Outing:
        return scale_inverters(outing, value(step) / largest)

    return _limit(_Input("inverter_power", "W", value, changed, _steps(MORE), _steps(LESS)), present, probe)


_SEARCHES: dict[str, Callable[[Outing, Probe, Tried], Limit]] = {
    "load_factor": _load_limit,
    "duration": _duration_limit,
    "cell_temperature": _cell_limit,
    "gauge": _gauge_limit,
    "inverter_power": _inverter_limit,
}
