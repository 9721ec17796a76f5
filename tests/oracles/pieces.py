"""Loads as the outside solvers take them: pieces of time in which no load switches.

Kept apart from the planner on purpose: an oracle that shared the planner's own timeline could
share its mistakes.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class LoadPiece:
    """One piece of constant demand; discharge is positive, demands add up.

    length_s : duration [s].
    current_a : drawn whatever the voltage [A], at the battery's terminals.
    power_w : drawn whatever the voltage [W], at the far end of wiring_ohm.
    conductance_s : current per volt at the battery's terminals [S].
    wiring_ohm : both ways between the battery and the power load [ohm]; only its current flows there.
    """

    length_s: float
    current_a: float = 0.0
    power_w: float = 0.0
    conductance_s: float = 0.0
    wiring_ohm: float = 0.0


PULSE_S = 300.0
_MINUTE_S = 60.0

# Invented: an hour of trolling with an echo sounder and a radio (15 W) running throughout,
# currents of an electric motor at several speeds; repeated until the battery ends.
MIXED_TROLLING = (
    LoadPiece(4 * _MINUTE_S, current_a=45.0, power_w=15.0),
    LoadPiece(20 * _MINUTE_S, current_a=12.0, power_w=15.0),
    LoadPiece(6 * _MINUTE_S, current_a=0.0, power_w=15.0),
    LoadPiece(15 * _MINUTE_S, current_a=25.0, power_w=15.0),
    LoadPiece(1 * _MINUTE_S, current_a=60.0, power_w=15.0),
    LoadPiece(14 * _MINUTE_S, current_a=8.0, power_w=15.0),
)


def steady(current_a: float = 0.0, power_w: float = 0.0) -> tuple[LoadPiece, ...]:
    """An hour of one demand, to be repeated until the battery ends."""
    return (LoadPiece(3600.0, current_a=current_a, power_w=power_w),)


def pulsed(high_a: float, low_a: float, length_s: float = PULSE_S) -> tuple[LoadPiece, ...]:
    """A burst first, then an equal time at the lower current; to be repeated [A, A, s]."""
    return (LoadPiece(length_s, current_a=high_a), LoadPiece(length_s, current_a=low_a))
