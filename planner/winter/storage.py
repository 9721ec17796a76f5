"""How long a battery may be left alone."""

from __future__ import annotations

import math

from planner.constants import SECONDS_PER_DAY, SELF_DISCHARGE_PER_MONTH

DAYS_PER_MONTH = 30.0  # the month self-discharge is stated for


def storage_days(
    capacity_c: float,
    from_soc: float,
    to_soc: float,
    sleep_current_a: float,
    self_discharge_per_month: float = SELF_DISCHARGE_PER_MONTH,
    parasite_a: float = 0.0,
) -> float:
    """Days from one state of charge to a lower one with nothing but losses; inf when nothing is lost.

    sleep_current_a : the unit's own, measured. parasite_a : of what stays connected.
    self_discharge_per_month : share of the capacity lost in 30 days, not compounded; handbook when not
    measured. Raises ValueError when from_soc is below to_soc.
    """
    if from_soc < to_soc:
        raise ValueError(f"storage runs down, not from {from_soc} up to {to_soc}")
    per_day_c = daily_loss_c(capacity_c, sleep_current_a, self_discharge_per_month, parasite_a)
    return (from_soc - to_soc) * capacity_c / per_day_c if per_day_c > 0.0 else math.inf


def daily_loss_c(
    capacity_c: float, sleep_current_a: float, self_discharge_per_month: float, parasite_a: float
) -> float:
    """Charge lost in a day [C]."""
    chemistry_c = self_discharge_per_month / DAYS_PER_MONTH * capacity_c
    return (sleep_current_a + parasite_a) * SECONDS_PER_DAY + chemistry_c
