"""The charge ledger: what goes in, what is drawn, what the uses lack, hour by hour.

While the gate is open a source feeds the uses first and charges with the rest; the current tapers near
full. While it is shut the battery carries the uses alone: many chargers and most solar controllers stop
when the battery does not take charge. Self-discharge and sleep current are left out of the year (about
0.3 Ah a day together on 100 Ah; see `planner.winter.storage`).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from planner.constants import CHARGE_EFFICIENCY, CHARGE_TAPER_S, SECONDS_PER_HOUR

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

DARK_C = 1e-6  # lacking charge below it is rounding, not darkness [C]
NO_CURRENT_C_PER_S = 1e-30  # stands for none, so that the room may be divided by it


@dataclass(slots=True)
class Ledger:
    """Running books of many batteries at once; every array has the shape of `charge_c`.

    charge_c : charge in the cells [C]. taken_c : put into the cells since the start. drawn_c : drawn from
    the cells. unserved_c : what the uses lacked. dark_today, days_dark : days with any lack.
    """

    capacity_c: float
    charge_c: Array
    taken_c: Array = field(init=False)
    drawn_c: Array = field(init=False)
    unserved_c: Array = field(init=False)
    days_dark: Array = field(init=False)
    _dark_today: Flags = field(init=False)

    def __post_init__(self) -> None:
        self.charge_c = np.array(self.charge_c)  # an own copy: the books are kept in place
        shape = self.charge_c.shape
        self.taken_c, self.drawn_c, self.unserved_c = np.zeros(shape), np.zeros(shape), np.zeros(shape)
        self.days_dark = np.zeros(shape)
        self._dark_today = np.zeros(shape, dtype=bool)

    def hour(
        self, offered_a: Array | float, use_a: Array | float, is_open: Flags, accept_a: Array | float
    ) -> None:
        """One hour.

        offered_a, use_a : current of the sources and of the uses [A]. is_open : the gate.
        accept_a : largest charge current allowed at this temperature [A].
        """
        net_a = is_open * offered_a - use_a
        if net_a.max() > 0.0:
            taken = self._taken(np.minimum(np.maximum(net_a, 0.0), accept_a))
            self.charge_c += taken
            self.taken_c += taken
        self._draw(np.maximum(-net_a, 0.0) * SECONDS_PER_HOUR)

    def quiet_hour(self, use_a: Array | float) -> None:
        """One hour in which no source is present."""
        self._draw(use_a * SECONDS_PER_HOUR)

    def _draw(self, need_c: Array | float) -> None:
        """Draw what the uses need, as far as there is charge; note what is lacking."""
        drawn = np.minimum(need_c, self.charge_c)
        self.charge_c -= drawn
        self.drawn_c += drawn
        lack = need_c - drawn
        if lack.max() > 0.0:
            self.unserved_c += lack
            self._dark_today |= lack > DARK_C

    def _taken(self, current_a: Array) -> Array:
        """Charge put into the cells in one hour [C], tapering once the room is below 900 s of current."""
        into_c_per_s = np.maximum(CHARGE_EFFICIENCY * current_a, NO_CURRENT_C_PER_S)
        room = np.maximum(self.capacity_c - self.charge_c, 0.0)
        steady_s = room / into_c_per_s - CHARGE_TAPER_S
        steady_s = np.minimum(np.maximum(steady_s, 0.0), SECONDS_PER_HOUR)
        steady = into_c_per_s * steady_s
        # Tapering fills the rest of the room; where the knee is not reached steady_s is the whole hour.
        taken: Array = steady - (room - steady) * np.expm1((steady_s - SECONDS_PER_HOUR) / CHARGE_TAPER_S)
        return taken

    def end_day(self) -> None:
        """Count the day as dark where anything was lacking in it."""
        self.days_dark += self._dark_today
        self._dark_today[:] = False
