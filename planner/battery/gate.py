"""The charge gate: below which cell temperature the unit refuses charge, and where it takes it again.

Both thresholds are brackets between readings; both ends are always run. A block is the protection
working, not proof that charging just above it does no harm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.constants import ZERO_CELSIUS_K
from planner.record.conditions import assumed_of
from planner.record.instrument import temperature_limit
from planner.record.schema import ColdChargeTest, Record

# Priors for a leg that was not tested (handbook class): common practice, no source.
PRIOR_BLOCK_HIGH_K = ZERO_CELSIUS_K + 5.0
PRIOR_RESUME_HIGH_K = ZERO_CELSIUS_K + 8.0
PRIOR_HYSTERESIS_K = 3.0
NEVER_BLOCKS_K = -math.inf

SOAK_TIME_CONSTANTS = 3.0  # after three the cells are within 5 % of the air: exp(-3), hand calculation


@dataclass(frozen=True, slots=True)
class Gate:
    """Brackets of the two thresholds [K].

    evidence : measured, handbook (an end comes from a prior) or unknown (no test at all).
    missing : the ends that come from a prior, of block_low, block_high, resume_low, resume_high.
    """

    block_low_k: float
    block_high_k: float
    resume_low_k: float
    resume_high_k: float
    evidence: str
    missing: tuple[str, ...]
    warnings: tuple[str, ...] = ()
    questions: tuple[str, ...] = ()


def build_gate(record: Record, thermal_time_constant_s: float | None = None) -> Gate:
    """Brackets of the block and resume thresholds from a record's cold-charge tests.

    thermal_time_constant_s : of the cells in their case [s], to judge the soak; None leaves it unjudged.
    Block: from the highest blocked reading on cooling less the probe's error to the lowest accepted one
    plus it; resume the same on warming. A missing end comes from the priors above.
    """
    tests = record.cold_charge_tests
    questions: list[str] = []
    missing: list[str] = []
    block = _bracket(tests, "cooling")
    resume = _bracket(tests, "warming")
    block_low_k, block_high_k = _with_priors(
        "block", block, NEVER_BLOCKS_K, PRIOR_BLOCK_HIGH_K, missing, questions
    )
    resume_low_k, resume_high_k = _with_priors(
        "resume",
        resume,
        block_low_k,
        max(PRIOR_RESUME_HIGH_K, block_high_k + PRIOR_HYSTERESIS_K),
        missing,
        questions,
    )
    return Gate(
        block_low_k,
        block_high_k,
        # A gate cannot open colder than it shuts; readings may say so within the probe's error.
        max(resume_low_k, block_low_k),
        max(resume_high_k, block_high_k),
        "unknown" if not tests else "handbook" if missing else "measured",
        tuple(missing),
        _warnings(tests, thermal_time_constant_s),
        tuple(questions),
    )


def allowed(cell_k: ArrayLike, block_k: ArrayLike, resume_k: ArrayLike) -> NDArray[np.bool_]:
    """In which hours the gate lets charge through.

    cell_k : (..., hours) [K]. block_k, resume_k : scalars, or arrays of the leading shape [K].
    Blocks strictly below block_k, resumes at or above resume_k, keeps its state between; starts open
    only at or above resume_k. Returns (..., hours).
    """
    cells = np.asarray(cell_k, dtype=np.float64)
    block = np.asarray(block_k, dtype=np.float64)[..., None]
    resume = np.maximum(np.asarray(resume_k, dtype=np.float64)[..., None], block)
    opens = cells >= resume
    # Each switching hour is coded 2 x hour + open; the largest code so far is the last switching, and
    # its lowest bit the gate's state. Hour 0 without a switching has code 0: shut.
    hours = np.arange(0, 2 * cells.shape[-1], 2, dtype=np.int32)
    switched = np.where(opens | (cells < block), hours, np.int32(0))
    switched += opens
    state: NDArray[np.bool_] = (np.maximum.accumulate(switched, axis=-1) & 1).astype(np.bool_)
    return state


def _bracket(tests: Sequence[ColdChargeTest], direction: str) -> tuple[float | None, float | None]:
    """Lower and upper end that the readings of one leg give [K]; None where there is none."""
    leg = [test for test in tests if test.direction == direction]
    low = [test.at.cell_k - probe_error_k(test) for test in leg if test.charging == "blocked"]
    high = [test.at.cell_k + probe_error_k(test) for test in leg if test.charging == "accepted"]
    return max(low, default=None), min(high, default=None)


def _with_priors(
    name: str,
    bracket: tuple[float | None, float | None],
    prior_low_k: float,
    prior_high_k: float,
    missing: list[str],
    questions: list[str],
) -> tuple[float, float]:
    low_k, high_k = bracket
    if low_k is None:
        missing.append(f"{name}_low")
        # A prior never narrows past a reading.
        low_k = min(prior_low_k, high_k) if high_k is not None else prior_low_k
    if high_k is None:
        missing.append(f"{name}_high")
        high_k = max(prior_high_k, low_k)
    if low_k > high_k:
        questions.append(
            f"Charging in the cold: probe error allowed for, the {name} threshold lies above "
            f"{low_k - ZERO_CELSIUS_K:.1f} degC by one reading and below {high_k - ZERO_CELSIUS_K:.1f} degC "
            "by another. Which is right? Both ends are run until then."
        )
        low_k, high_k = high_k, low_k
    return low_k, high_k


def probe_error_k(test: ColdChargeTest) -> float:
    """How far the probe of a try may be off, to either side [K]."""
    return temperature_limit(test.at.instrument).half_width


def _warnings(tests: Sequence[ColdChargeTest], time_constant_s: float | None) -> tuple[str, ...]:
    found = []
    for test in tests:
        if not temperature_limit(test.at.instrument).stated:
            found.append(f"{test.at.place}: {assumed_of(test.at.instrument, 'temperature')}")
        if time_constant_s is None:
            continue
        needed_s = SOAK_TIME_CONSTANTS * time_constant_s
        if test.soak_s is None:
            found.append(f"{test.at.place}: soak not stated; the reading may be of the air, not of the cells")
        elif test.soak_s < needed_s:
            found.append(
                f"{test.at.place}: soak of {test.soak_s / 3600.0:.1f} h is shorter than three time constants "
                f"({needed_s / 3600.0:.1f} h); the reading is of the air, not of the cells"
            )
    return tuple(found)
