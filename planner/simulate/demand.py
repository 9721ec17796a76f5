"""What all loads together ask of each scenario, piece by piece."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.battery.source import Demand
from planner.outing.timeline import Timeline

Floats = NDArray[np.float64]

USUAL_V = 12.0  # only to size steps, never in a result


class Demands:
    """Sums the loads of one timeline for n scenarios. factor : (L, n) multiplies each load."""

    def __init__(self, timeline: Timeline, factor: Floats) -> None:
        self.timeline, self.factor, self._asked = timeline, factor, factor
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
            amps @ self.factor,
            line.power_w[:, piece] @ self.factor,
            line.conductance_s[:, piece] @ self.factor,
            linear=not self._has_power[piece],
        )

    def swing(self, piece: int) -> tuple[Floats, Floats, Floats] | None:
        """What the piece's mean hides: holding and top current above it, and variance, each (n,)."""
        hidden, line = self.timeline.swing, self.timeline
        if hidden is None:
            return None
        mean = line.current_start_a[:, piece]
        return (
            (hidden.hold_a[:, piece] - mean) @ self.factor,
            (hidden.top_a[:, piece] - mean) @ self.factor,
            hidden.variance_a2[:, piece] @ (self.factor * self.factor),
        )

    def largest_a(self, piece: int) -> float:
        """Rough largest current of the loads as stated [A], to size steps.

        No scenario's own, so that none depends on its company.
        """
        line = self.timeline
        amps = np.maximum(line.current_start_a[:, piece], line.current_end_a[:, piece])
        rough = amps + line.power_w[:, piece] / USUAL_V + line.conductance_s[:, piece] * USUAL_V
        return float(rough.sum())
