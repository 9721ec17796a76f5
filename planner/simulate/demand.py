"""What all loads together ask of each scenario, piece by piece."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.battery.source import Demand
from planner.outing.timeline import Timeline

Floats = NDArray[np.float64]

USUAL_V = 12.0  # only to size steps, never in a result


class Demands:
    """Sums the loads of one timeline for n scenarios.

    factor : (L, n) multiplies each load. size_a : (pieces,) rough currents to size steps by, `rough_current_a` of the
    timeline when None.
    """

    def __init__(self, timeline: Timeline, factor: Floats, size_a: Floats | None = None) -> None:
        self.timeline, self.factor, self._asked = timeline, factor, factor
        self._rough_a = rough_current_a(timeline) if size_a is None else size_a
        self._steady = np.asarray(np.all(timeline.current_start_a == timeline.current_end_a, axis=0))
        self._has_power = np.asarray(np.any(timeline.power_w != 0.0, axis=0))

    def keep(self, mask: NDArray[np.bool_]) -> None:
        """Drop the scenarios that are over."""
        self.factor, self._asked = self.factor[:, mask], self._asked[:, mask]

    def switch(self, load: int, off: NDArray[np.bool_]) -> None:
        """Let a load draw nothing in the scenarios of off, and what it asks in the others."""
        self.factor = self.factor.copy()
        self.factor[load] = np.where(off, 0.0, self._asked[load])

    def steady(self, piece: int) -> bool:
        """Whether the piece's currents stand still."""
        return bool(self._steady[piece])

    def at(self, piece: int, fraction: float) -> Demand:
        """The demand at a fraction 0..1 of the piece; conductance and power do not move inside it."""
        line = self.timeline
        amps = line.current_start_a[:, piece]
        if not self._steady[piece]:
            amps = amps + fraction * (line.current_end_a[:, piece] - amps)
        return Demand(
            load_sum(amps, self.factor),
            load_sum(line.power_w[:, piece], self.factor),
            load_sum(line.conductance_s[:, piece], self.factor),
            linear=not self._has_power[piece],
        )

    def swing(self, piece: int) -> tuple[Floats, Floats, Floats] | None:
        """What the piece's mean hides: holding and top current above it, and variance, each (n,)."""
        hidden, line = self.timeline.swing, self.timeline
        if hidden is None:
            return None
        mean = line.current_start_a[:, piece]
        return (
            load_sum(hidden.hold_a[:, piece] - mean, self.factor),
            load_sum(hidden.top_a[:, piece] - mean, self.factor),
            load_sum(hidden.variance_a2[:, piece], self.factor * self.factor),
        )

    def largest_a(self, piece: int) -> float:
        """Rough largest current of the loads as stated [A], to size steps.

        No scenario's own, so that none depends on its company.
        """
        return float(self._rough_a[piece])


def rough_current_a(timeline: Timeline) -> Floats:
    """Rough largest current of all loads together in each piece, (pieces,) [A]."""
    amps = np.maximum(timeline.current_start_a, timeline.current_end_a)
    rough: Floats = (amps + timeline.power_w / USUAL_V + timeline.conductance_s * USUAL_V).sum(axis=0)
    return rough


def load_sum(values: Floats, factor: Floats) -> Floats:
    """values (L,) times factor (L, n), summed over the loads: (n,).

    Load by load and not as a matrix product, whose last digit depends on how many columns there are.
    """
    total = np.zeros(factor.shape[1])
    for value, row in zip(values, factor, strict=True):
        if value != 0.0:
            total += value * row
    return total
