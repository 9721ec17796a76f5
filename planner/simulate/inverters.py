"""Inverters that give up at their own terminals, and those that start again by themselves."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.outing.timeline import Timeline
from planner.simulate.watch import VoltageAt, VoltageWatch

Floats = NDArray[np.float64]


@dataclass(slots=True)
class InverterWatch:
    """One load's inverter. restart_v : NaN where it stays off until someone restarts it.

    off : (n,) scenarios in which it has cut out and waits for restart_v. Without a restart the load goes on
    being served, so that the same run also tells whether the charge would last; the cut-out is only noted.
    off_since_s : (n,) when it last cut out.
    """

    load: int
    watch: VoltageWatch
    restart_v: float
    off: NDArray[np.bool_]
    off_since_s: Floats

    def keep(self, mask: NDArray[np.bool_]) -> None:
        """Drop the scenarios that are over."""
        self.watch.keep(mask)
        self.off, self.off_since_s = self.off[mask], self.off_since_s[mask]

    def rest(self) -> bool:
        """The load is not in use: forget what was counted. True when something was off."""
        if self.watch.below_s.any():
            self.watch.below_s = np.zeros_like(self.watch.below_s)
        was_off = bool(self.off.any())
        if was_off:
            self.off = np.zeros_like(self.off)
        return was_off

    def look(self, first_v: Floats, last_v: Floats, span_s: float, voltage_at: VoltageAt) -> Floats | None:
        """Seconds into the step at which each scenario cuts out, inf where it does not; None if none does."""
        if self.off.any():
            first_v, last_v = np.where(self.off, np.inf, first_v), np.where(self.off, np.inf, last_v)
        return self.watch.look(first_v, last_v, span_s, voltage_at)

    def switch(self, fired_s: Floats | None, last_v: Floats, clock_s: Floats) -> bool:
        """Go off where it fired, on again where the voltage is back. True when anything changed."""
        if math.isnan(self.restart_v):
            return False
        before = self.off
        off = before & (last_v < self.restart_v)
        if fired_s is not None:
            fires = np.isfinite(fired_s)
            off = off | fires
            self.off_since_s = np.where(fires, clock_s + np.where(fires, fired_s, 0.0), self.off_since_s)
        self.off = off
        return bool((off != before).any())


def inverter_watches(timeline: Timeline, n: int) -> list[InverterWatch]:
    """One watch for each load whose inverter has a cut-out."""
    return [
        InverterWatch(
            load,
            VoltageWatch(float(timeline.cutout_v[load]), float(timeline.cutout_delay_s[load]), np.zeros(n)),
            float(timeline.restart_v[load]),
            np.zeros(n, dtype=bool),
            np.full(n, np.inf),
        )
        for load in range(len(timeline.names))
        if math.isfinite(timeline.cutout_v[load])
    ]
