"""What an inverter loses on the way from its DC terminals to its AC side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import nnls

# Weights of efficiency over the fraction of rated power. Made for solar inverters; a battery's one idles far more.
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

    def dc_power_w(self, ac_w: float) -> float:
        """DC power for an AC power [W]."""
        return ac_w + self.idle_w + self.slope * ac_w + self.square_per_w * ac_w**2

    def efficiency(self, ac_w: float) -> float:
        """AC over DC power [1]; 0 without load. A model without idle loss needs ac_w > 0."""
        return ac_w / self.dc_power_w(ac_w)

    def times(self, factor: float) -> LossModel:
        """The inverter whose DC power is `factor` times as large at `factor` times the AC power."""
        return LossModel(self.idle_w * factor, self.slope, self.square_per_w / factor)


def loss_model_from_efficiencies(points: Sequence[tuple[float, float]]) -> LossModel:
    """Model through, or closest to, stated efficiencies: two terms from two powers, three from more.

    points : (AC power [W], efficiency [1]), two or more, at distinct powers above zero.
    Raises ValueError for fewer than two distinct powers, which cannot tell idle from the rest.
    Source: least squares of the loss P(1/eta - 1) on 1, P and, from three powers on, P^2; exact for two or three, but
    where that has a loss that falls with power: carried on to more power it would give out more than it takes. Then no
    term is below 0, which is the closest physical model.
    """
    power_w = np.array([power for power, _ in points], dtype=np.float64)
    terms = min(np.unique(power_w).size, LOSS_TERMS)
    if terms < 2:
        raise ValueError(f"2 distinct powers are needed, got {terms}")
    loss_w = power_w * (1.0 / np.array([eta for _, eta in points], dtype=np.float64) - 1.0)
    scale_w = float(power_w.max())  # keeps the columns alike in size
    columns = np.vander(power_w / scale_w, terms, increasing=True)
    found = np.linalg.lstsq(columns, loss_w, rcond=None)[0].tolist()
    if found[0] >= 0.0 and min(found[1:]) < 0.0:
        found = nnls(columns, loss_w)[0].tolist()
    square = found[2] / scale_w**2 if terms == LOSS_TERMS else 0.0
    return LossModel(found[0], found[1] / scale_w, square)


def weighted_efficiency(model: LossModel, rated_w: float, weights: Mapping[float, float]) -> float:
    """Weighted mean of the efficiencies at fractions of rated power [1].

    weights : EUROPEAN_WEIGHTS or CEC_WEIGHTS.
    Source: European weighted efficiency; California Energy Commission weighted efficiency.
    """
    return sum(weight * model.efficiency(fraction * rated_w) for fraction, weight in weights.items())
