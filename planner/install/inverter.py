"""What an inverter takes from the battery: its current, its cut-out, its inrush."""

from __future__ import annotations

import math
from dataclasses import dataclass

PRECHARGED_AFTER_TIME_CONSTANTS = 5.0  # 0.7 % of the voltage left; common practice, no source


def input_current_a(power_w: float, open_v: float, loop_ohm: float) -> float | None:
    """Current of a constant DC power behind a resistance [A].

    power_w : at the load's own terminals [W]; open_v : voltage without load [V]; loop_ohm : all resistance
    up to the terminals, battery, cable both ways and contacts [ohm].
    Returns None when the power cannot be served (above open_v^2 / 4 loop_ohm).
    Source: I = 2 P / (E + sqrt(E^2 - 4 R P)), the root that stays exact for a small resistance.
    """
    under_root = open_v**2 - 4.0 * loop_ohm * power_w
    if under_root < 0.0:
        return None
    return 2.0 * power_w / (open_v + math.sqrt(under_root))


def needed_open_circuit_v(power_w: float, loop_ohm: float, cutout_v: float) -> float:
    """Open-circuit voltage below which an inverter reaches its cut-out [V]: Vc + R P / Vc.

    power_w : DC power [W]; loop_ohm : all resistance up to its terminals [ohm]; cutout_v [V].
    Source: constant power at the cut-out voltage, Ohm's law.
    """
    return cutout_v + loop_ohm * power_w / cutout_v


def power_at_cutout_w(open_v: float, loop_ohm: float, cutout_v: float) -> float:
    """Largest DC power before the cut-out is reached [W]: Vc (E - Vc) / R.

    Meaningful while cutout_v is at least half of open_v; below that the source itself gives out first.
    open_v [V]; loop_ohm [ohm]; cutout_v [V].
    """
    return cutout_v * (open_v - cutout_v) / loop_ohm


@dataclass(frozen=True, slots=True)
class Inrush:
    """Charging of an empty capacitor through a resistance.

    peak_a : first current [A]. tau_s : time constant [s]. i2t_a2s : integral of I squared [A2 s].
    settled_s : five time constants [s]. energy_j : stored in the end, and as much again lost as heat [J].
    """

    peak_a: float
    tau_s: float
    i2t_a2s: float
    settled_s: float
    energy_j: float


def inrush(voltage_v: float, loop_ohm: float, capacitance_f: float) -> Inrush:
    """Inrush into an inverter's input capacitors, inductance ignored (so a high estimate of the peak).

    voltage_v [V]; loop_ohm : loop, or a precharge resistor in its place [ohm]; capacitance_f [F].
    Source: exponential charging, I2t = peak^2 tau / 2.
    """
    peak_a, tau_s = voltage_v / loop_ohm, loop_ohm * capacitance_f
    return Inrush(
        peak_a=peak_a,
        tau_s=tau_s,
        i2t_a2s=peak_a**2 * tau_s / 2.0,
        settled_s=PRECHARGED_AFTER_TIME_CONSTANTS * tau_s,
        energy_j=capacitance_f * voltage_v**2 / 2.0,
    )
