"""What an inverter takes from the battery: its losses, its current, its cut-out, its inrush."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Weights of efficiency over the fraction of rated power. Solar use: a battery's inverter idles far more.
EUROPEAN_WEIGHTS: Mapping[float, float] = {
    0.05: 0.03,
    0.10: 0.06,
    0.20: 0.13,
    0.30: 0.10,
    0.50: 0.48,
    1.00: 0.20,
}
CEC_WEIGHTS: Mapping[float, float] = {0.10: 0.04, 0.20: 0.05, 0.30: 0.12, 0.50: 0.21, 0.75: 0.53, 1.00: 0.05}

LOSS_TERMS = 3  # constant, linear, square
PRECHARGED_AFTER_TIME_CONSTANTS = 5.0  # 0.7 % of the voltage left; common practice, no source


@dataclass(frozen=True, slots=True)
class LossModel:
    """DC power of an inverter: P_dc = P_ac + idle + slope P_ac + square P_ac^2.

    idle_w : loss without load [W]. slope : share lost in proportion [1]. square_per_w : resistive part
    [1/W]; zero leaves the two-term form.
    Source: constant, voltage-drop and resistive loss, the usual physical form (from memory).
    """

    idle_w: float
    slope: float
    square_per_w: float = 0.0

    def dc_power_w(self, ac_w: ArrayLike) -> NDArray[np.float64]:
        """DC power for an AC power, same shape [W]."""
        power_w = np.asarray(ac_w, dtype=np.float64)
        return power_w + self.idle_w + self.slope * power_w + self.square_per_w * power_w**2

    def efficiency(self, ac_w: ArrayLike) -> NDArray[np.float64]:
        """AC over DC power, same shape [1]; 0 without load. A model without idle loss needs ac_w > 0."""
        power_w = np.asarray(ac_w, dtype=np.float64)
        return power_w / self.dc_power_w(power_w)


def loss_model_from_efficiencies(points: Sequence[tuple[float, float]]) -> LossModel:
    """Three-term model through, or closest to, stated efficiencies.

    points : (AC power [W], efficiency [1]), three or more, at distinct powers above zero.
    Raises ValueError for fewer than three distinct powers, which cannot tell the three terms apart.
    Source: least squares of the loss P(1/eta - 1) on 1, P, P^2; exact for three points.
    """
    power_w = np.array([power for power, _ in points], dtype=np.float64)
    if np.unique(power_w).size < LOSS_TERMS:
        raise ValueError(f"{LOSS_TERMS} distinct powers are needed, got {np.unique(power_w).size}")
    loss_w = power_w * (1.0 / np.array([eta for _, eta in points], dtype=np.float64) - 1.0)
    scale_w = float(power_w.max())  # keeps the columns alike in size
    columns = np.vander(power_w / scale_w, LOSS_TERMS, increasing=True)
    constant, linear, square = np.linalg.lstsq(columns, loss_w, rcond=None)[0]
    return LossModel(float(constant), float(linear) / scale_w, float(square) / scale_w**2)


def weighted_efficiency(efficiencies: Mapping[float, float], weights: Mapping[float, float]) -> float:
    """Weighted mean of efficiencies read at fractions of rated power [1].

    efficiencies : fraction of rated power -> efficiency, at least those the weights name.
    weights : EUROPEAN_WEIGHTS or CEC_WEIGHTS.
    Raises KeyError when a fraction is missing.
    Source: European weighted efficiency; California Energy Commission weighted efficiency.
    """
    return sum(weight * efficiencies[fraction] for fraction, weight in weights.items())


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
