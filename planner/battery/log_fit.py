"""What a log of moving loads adds to a fit: every reading of its voltage against the model.

A discharge at a steady current is told by its charge, energy and curve. One at moving loads is not: what it says
lies in each fall and each recovery. It is fitted beside a steady full discharge, which fixes charge and curve; alone
it would leave the two to each other.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import Circuit
from planner.battery.curve import SOC_GRID
from planner.battery.full_discharge import full_discharges
from planner.battery.log_march import voltage_along
from planner.battery.parameters import Layout, Reference, circuit_of
from planner.battery.prior import CHARGE_MODEL, STEP_MODEL, VOLTAGE_MODEL_V, Guess
from planner.record.instrument import charge_uncertainty, standard_uncertainty, voltage_limit
from planner.record.log_nodes import LogNodes
from planner.record.schema import CapacityTest, Record

Floats = NDArray[np.float64]

READING_MODEL_V = 2e-3  # what the circuit misses from one reading to the next
PRIOR_CURVE_V = 0.030  # spread of the prior's curve shape, where no discharge of the record traced it
# Diffusion has many time constants and the circuit one. Pulses see the short ones: on the electrochemical truth that
# the tests keep, 1,080 to 1,150 s, where steady currents see 1,600 s, a ratio whose logarithm is 0.37. So a log's
# time constant is the model's own only to within this
LOG_SHIFT = "log_diffusion_shift"
LOG_SHIFT_GUESS = Guess(0.0, 0.30, logarithmic=False)
# Where the curve's error stands for itself, straight between: closer in the knee and at the top, where cells
# differ by END_SHARE times what they do on the plateau
KNOTS = np.concatenate([np.linspace(0.0, 0.10, 9)[:-1], np.linspace(0.10, 0.26, 9)[:-1], np.linspace(0.26, 0.98, 19),
                        [0.985, 0.99, 0.995, 1.0]])  # fmt: skip
KNEE_SOC, TOP_SOC, END_SHARE = 0.25, 0.97, 10.0
FAST_S, FAST_PAIRS = 4.0, 2  # sampled at least this often, a log can tell a second pair from the first
EDGE_SHARE = 0.05  # of the largest current: a larger change is a load switching


@dataclass(frozen=True, slots=True)
class LogErrors:
    """Errors of one log that are linear in its voltage.

    single_v : (n,) of each reading. knot_v : (knots,) of the curve.
    common_v : (n, c) what each shared error, one standard deviation of it, does to every reading.
    alike : readings that err as one; single_v counts it already.
    """

    single_v: Floats
    knot_v: Floats
    common_v: Floats
    alike: float

    def taken_out(self, off_v: Floats, x: Floats) -> tuple[Floats, Floats]:
        """Errors (r, knots + c) that explain off_v (n, r) best, and what they leave over (r, n).

        Both in standard deviations. x : (n, r) where each reading stands on the curve.
        """
        sets = off_v.shape[1]
        shared = np.broadcast_to(self.common_v, (sets, *self.common_v.shape))
        design = np.concatenate([_hats(x) * self.knot_v, shared], axis=2) / self.single_v[:, np.newaxis]
        off = (off_v / self.single_v[:, np.newaxis]).T
        turned = design.transpose(0, 2, 1)
        whole = turned @ design + np.eye(design.shape[2])
        found: Floats = np.asarray(np.linalg.solve(whole, turned @ off[:, :, np.newaxis]), dtype=np.float64)
        left: Floats = off - (design @ found)[:, :, 0]
        return found[:, :, 0], left

    def widened(self, off_v: Floats, x: Floats) -> LogErrors:
        """The same, with single readings as far off as they were found to be, never less than they were taken for.

        Source: the ratio of Birge, Phys. Rev. 40 (1932) 207, from memory: residuals larger than their errors say
        that the errors were taken too small.
        """
        left = self.taken_out(off_v, x)[1]
        ratio = float(np.sqrt(max(self.alike * (left**2).mean(), 1.0)))
        return replace(self, single_v=ratio * self.single_v)


def moving_tests(record: Record) -> tuple[CapacityTest, ...]:
    """Tests whose log of moving loads can be fitted: none where no steady full discharge stands beside."""
    found = tuple(test for test in record.capacity_tests if test.moving is not None)
    return found if any(test.moving is None for test in full_discharges(record)) else ()


def pairs_told(tests: tuple[CapacityTest, ...]) -> int:
    """Resistor-capacitor pairs that the logs can tell apart; 0 where they say nothing of it."""
    fast = any(test.moving is not None and test.moving.interval_s <= FAST_S for test in tests)
    return FAST_PAIRS if fast else 0


def with_shift(plan: Layout) -> Layout:
    """The vector with how far the logs' diffusion time stands from the model's own."""
    return replace(plan, names=(*plan.names, LOG_SHIFT), guesses=(*plan.guesses, LOG_SHIFT_GUESS))


class LogOfTest:
    """One test's log against models: residuals for a fit. Its errors are weighed at the model found before."""

    def __init__(self, test: CapacityTest, plan: Layout, reference: Reference) -> None:
        assert test.moving is not None
        self.test, self.plan, self.reference = test, plan, reference
        self.nodes = test.moving
        self.start_soc = 1.0 if test.at.state_of_charge is None else test.at.state_of_charge

    def circuit(self, theta: Floats) -> Circuit:
        """Circuits as the log's loads see them, (1, 1, r). theta : (r, names) with LOG_SHIFT."""
        seen = theta.copy()
        seen[:, self.plan.names.index("diffusion_tau_s")] += theta[:, self.plan.names.index(LOG_SHIFT)]
        return circuit_of(self.plan, seen, self.reference)

    def against(self, theta: Floats, gain: float = 1.0) -> tuple[Floats, Floats]:
        """What was read less the model [V], and the place on the curve, (n, r)."""
        volts, x = voltage_along(self.circuit(theta), self.nodes, self.test.at.cell_k, self.start_soc, gain)
        return self.nodes.voltage_v[:, np.newaxis] - volts, x

    def residuals(self, theta: Floats, errors: LogErrors) -> Floats:
        """Residuals (r, m): the log's with its linear errors taken out, and those errors."""
        return np.hstack(errors.taken_out(*self.against(theta)))

    def errors_at(self, centre: Floats) -> LogErrors:
        """How far readings may be off, at the model found so far: meters, curve, and what a circuit cannot follow."""
        theta, nodes, meter = centre[np.newaxis], self.nodes, self.test.at.instrument
        start = self.circuit(theta)
        off, x = self.against(theta)
        by_charge = off - self.against(theta, 1.0 + charge_uncertainty(self.test))[0]
        by_meter = np.array(
            [standard_uncertainty(voltage_limit(meter, v).half_width) for v in nodes.voltage_v]
        )
        floor = standard_uncertainty(meter.voltage_floor_v) if meter else 0.0
        ohm = float((start.metal_ohm + start.cell_ohm + start.pair_ohm.sum(axis=0)).item())
        step = STEP_MODEL * ohm * (nodes.current_a - nodes.current_a.mean())
        # in the knee a reading tells the charge left, and tells it no better than the circuit knows it
        known = np.interp(nodes.voltage_v + ohm * nodes.current_a, start.curve.volts[0], SOC_GRID)
        steep = np.maximum(*(start.curve.look_up(place, start.offset[0, 0])[1] for place in (known, x[:, 0])))
        alike = _alike(nodes)
        single = np.sqrt(alike * (READING_MODEL_V**2 + floor**2 + (CHARGE_MODEL * steep) ** 2 + step**2))
        knee, top = (
            np.clip((KNEE_SOC - KNOTS) / KNEE_SOC, 0, 1),
            np.clip((KNOTS - TOP_SOC) / (1 - TOP_SOC), 0, 1),
        )
        traced = len(self.reference.curve_charge_c) >= 3
        knot = (VOLTAGE_MODEL_V if traced else PRIOR_CURVE_V) * (1.0 + (END_SHARE - 1.0) * (knee + top))
        return LogErrors(single, knot, np.stack([by_charge[:, 0], by_meter, step], axis=1), alike)


def _alike(nodes: LogNodes) -> float:
    """Readings that err alike: a circuit's miss lasts until the load next changes, a fast and a slow part of it."""
    change = np.abs(np.diff(nodes.current_a)) > EDGE_SHARE * np.abs(nodes.current_a).max()
    return max(1.0, len(nodes.time_s) / (2.0 * (np.count_nonzero(change) + 1.0)))


def _hats(x: Floats) -> Floats:
    """Weights (r, n, knots) of the straight lines between KNOTS at x (n, r)."""
    place = np.clip(x.T, 0.0, 1.0)
    cell = np.clip(np.searchsorted(KNOTS, place, side="right") - 1, 0, len(KNOTS) - 2)
    part = (place - KNOTS[cell]) / (KNOTS[cell + 1] - KNOTS[cell])
    hats = np.zeros((*place.shape, len(KNOTS)))
    np.put_along_axis(hats, cell[..., np.newaxis], (1.0 - part)[..., np.newaxis], axis=2)
    np.put_along_axis(hats, cell[..., np.newaxis] + 1, part[..., np.newaxis], axis=2)
    return hats
