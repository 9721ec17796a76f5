"""A record's discharges against its model, reading by reading: voltage as measured less as modelled."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.battery.circuit import Circuit
from planner.battery.fit import Fitted
from planner.battery.log_march import voltage_along
from planner.record.log_nodes import LogNodes
from planner.record.schema import CapacityTest, Record

Floats = NDArray[np.float64]

FEWEST_POINTS = 3  # of a typed curve


@dataclass(frozen=True, slots=True)
class Residual:
    """One discharge. Arrays (n,): charge taken out [C], and voltage measured less modelled [V]."""

    place: str
    charge_c: Floats
    off_v: Floats

    @property
    def rms_v(self) -> float:
        """Root mean square over the readings [V]."""
        return float(np.sqrt((self.off_v**2).mean()))

    @property
    def worst_v(self) -> float:
        """The largest difference, whichever its sign [V]."""
        return float(np.abs(self.off_v).max())


def residuals_of(record: Record, fitted: Fitted) -> tuple[Residual, ...]:
    """Every discharge of which the voltage along the way is known: a curve, or a log of moving loads."""
    circuit = fitted.circuit(fitted.centre[np.newaxis])
    found = (_residual(test, circuit) for test in record.capacity_tests)
    return tuple(one for one in found if one is not None)


def _residual(test: CapacityTest, circuit: Circuit) -> Residual | None:
    start = 1.0 if test.at.state_of_charge is None else test.at.state_of_charge
    if test.moving is None and len(test.curve) < FEWEST_POINTS:
        return None
    nodes = test.moving or _nodes_of(test)
    volts, _ = voltage_along(circuit, nodes, test.at.cell_k, start)
    # the first reading of a curve may be one at rest, before its load
    told = slice(0, None) if test.moving is not None else slice(1, None)
    return Residual(test.at.place, nodes.charge_c[told], (nodes.voltage_v - volts[:, 0])[told])


def _nodes_of(test: CapacityTest) -> LogNodes:
    """A typed curve as the log it was read from, its times from charge and current, a first node at no charge."""
    charge_c, volts = np.array(test.curve).T
    if charge_c[0] > 0.0:
        charge_c, volts = np.append(0.0, charge_c), np.append(volts[0], volts)
    amps = np.full(len(volts), test.mean_current_a) if test.power_w is None else test.power_w / volts
    mean_a = 0.5 * (amps[1:] + amps[:-1])
    span_s = np.diff(charge_c) / mean_a
    time_s = np.append(0.0, np.cumsum(span_s))
    return LogNodes(time_s, volts, amps, None, charge_c, span_s, mean_a, float(np.median(span_s)))
