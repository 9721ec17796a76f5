"""Motors: the power a thrust needs at least, and the current of a start."""

from __future__ import annotations

import math

FRESH_WATER_KG_PER_M3 = 999.1  # at 15 degC


def thrust_power_floor_w(thrust_n: float, diameter_m: float) -> float:
    """Least shaft power that makes a static thrust in fresh water [W].

    thrust_n [N]; diameter_m : of the propeller [m]. No motor does better: a claim below it is impossible.
    Source: momentum theory of an ideal actuator disc, P = T^1.5 / sqrt(2 rho A).
    """
    disc_m2 = math.pi / 4.0 * diameter_m**2
    return float(thrust_n**1.5 / math.sqrt(2.0 * FRESH_WATER_KG_PER_M3 * disc_m2))


def thrust_claim_possible(thrust_n: float, diameter_m: float, input_w: float) -> bool:
    """Whether a claimed static thrust is possible at all from an electrical power.

    thrust_n [N]; diameter_m [m]; input_w : volts times amps at full speed [W].
    """
    return input_w >= thrust_power_floor_w(thrust_n, diameter_m)


def locked_rotor_a(voltage_v: float, loop_ohm: float) -> float:
    """Current of a motor that stands still [A]; a fouled propeller keeps it: treat that as a hold.

    voltage_v : without load [V]; loop_ohm : winding, cable and battery [ohm]. Source: Ohm's law, no back-EMF.
    """
    return voltage_v / loop_ohm


def start_time_above_s(locked_a: float, running_a: float, level_a: float, spin_up_s: float) -> float:
    """How long a starting motor draws more than a level [s].

    locked_a, running_a : current at standstill and when running [A]; level_a [A]; spin_up_s : time
    constant of the spin-up [s].
    Returns 0 at or above the locked-rotor current, inf at or below the running current.
    Source: exponential approach, tau ln((I_locked - I_running)/(level - I_running)).
    """
    if level_a >= locked_a:
        return 0.0
    if level_a <= running_a:
        return math.inf
    return spin_up_s * math.log((locked_a - running_a) / (level_a - running_a))
