"""Current of a trolling motor at a fraction of its full speed.

Between measured points the current follows a straight line in log-log; where nothing was measured it
follows a fixed part of 3 % plus the cube of the speed, which is a handbook law. Discharge is positive.
"""

from __future__ import annotations

import math

from planner.outing.schema import Load

# Share of the full current that does not fall with the speed (controller, bearings, seal): common
# practice, no source. A motor with stepped series resistors keeps far more and needs a table.
FIXED_SHARE = 0.03


def cube_share(speed: float) -> float:
    """Share of the full current at a fraction of full speed: fixed part plus cube.

    speed : fraction of full speed, 0 to 1. Returns the share, 1 at full speed.
    Source: propeller power goes with the cube of the speed at a fixed advance ratio (definition of the
    power coefficient, P = C_P rho n^3 D^5); the fixed part is common practice, no source.
    """
    return FIXED_SHARE + (1.0 - FIXED_SHARE) * speed**3


def motor_points(load: Load) -> tuple[tuple[float, float], ...]:
    """The known (speed, current [A]) points; the full current closes a table that ends below speed 1."""
    points = load.motor_table
    if load.full_current_a is not None and (not points or points[-1][0] < 1.0):
        points = (*points, (1.0, load.full_current_a))
    return points


def follows_cube_law(load: Load, speed: float) -> bool:
    """Whether the current at this speed rests on the handbook law and not between the points known.

    speed : fraction of full speed, 0 to 1. Off (0) rests on nothing. Two points are needed for a line.
    """
    points = motor_points(load)
    return speed > 0.0 and not points[0][0] <= speed <= points[-1][0]


def motor_current_a(load: Load, speed: float) -> float:
    """Battery current of a motor at a fraction of its full speed [A].

    load : a load of kind "motor" with a full current, a table, or both.
    speed : fraction of full speed, 0 to 1; 0 is off.
    Returns exactly the table's current at a table point and 0 at speed 0. Below the lowest point, and above
    the highest where no full current is known, the cube law is multiplied by one factor that makes it pass
    through that end point: I = I_end * cube_share(speed) / cube_share(speed_end).
    """
    if speed <= 0.0:
        return 0.0
    points = motor_points(load)
    for known, current in points:
        if known == speed:
            return current
    if follows_cube_law(load, speed):
        known, current = points[0] if speed < points[0][0] else points[-1]
        return current * cube_share(speed) / cube_share(known)
    above = next(place for place, (known, _) in enumerate(points) if known > speed)
    (low, low_a), (high, high_a) = points[above - 1], points[above]
    share = math.log(speed / low) / math.log(high / low)
    return low_a * math.exp(share * math.log(high_a / low_a))
