"""Whether a log counts discharge as positive, settled by the direction of energy.

A battery's terminal voltage falls when it is made to give more: at a sudden change, voltage and current
move against each other when discharge is positive. Without such a change the trend decides: voltage
falls while the battery gives, and rises while it takes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planner.constants import COULOMB_PER_AH
from planner.log_file.columns import FloatArray
from planner.record.log_steps import OPENED, Step
from planner.record.log_totals import Totals

LOADED = 0.05  # of the largest current: below this the battery is at rest (common practice, no source)
ONE_SIGN = (
    0.005  # share of charge the other way that a meter's zero error explains (common practice, no source)
)
TREND_PARTS = 5  # the first and the last fifth of the loaded samples are compared
CLEAR_TREND = 0.002  # of the voltage: a smaller change of the mean settles nothing


@dataclass(frozen=True, slots=True)
class Sign:
    """What the current's sign means.

    factor : +1 when positive current is discharge, −1 when the file has it the other way.
    settled : False when the log itself does not tell.
    warnings : what the user should know; empty for a plain discharge log.
    """

    factor: float
    settled: bool
    warnings: tuple[str, ...] = ()


def settle_sign(totals: Totals, steps: Sequence[Step], table: FloatArray, stated: str | None = None) -> Sign:
    """The meaning of the sign.

    steps : in the file's own sign. table : outline, shape (4, n). stated : "positive" or "negative", of discharge.
    """
    if stated is not None:
        return Sign(1.0 if stated == "positive" else -1.0, True)
    out_c, in_c = totals.positive.charge_c, totals.negative.charge_c
    whole = out_c + in_c
    if whole <= 0.0:
        return Sign(1.0, True)
    by_steps, by_trend = _slope_of_steps(steps), _trend(table)
    out_ah, in_ah = f"{out_c / COULOMB_PER_AH:.3f} Ah", f"{in_c / COULOMB_PER_AH:.3f} Ah"
    if in_c <= ONE_SIGN * whole:
        return _all_positive(out_ah, by_steps, by_trend)
    if out_c <= ONE_SIGN * whole:
        return _all_negative(in_ah, by_steps, by_trend)
    if by_steps < 0.0:
        warning = (
            "Sign turned: in this file negative current lowers the voltage, so negative is discharge. "
            f"Discharged {in_ah}, charged {out_ah}; by the file's own sign it would be the reverse."
        )
        return Sign(-1.0, True, (warning,))
    warning = f"The log holds charging too: {in_ah} put back are kept apart from the {out_ah} discharged."
    return Sign(1.0, by_steps > 0.0, (warning,))


def _all_positive(out_ah: str, by_steps: float, by_trend: float) -> Sign:
    """Current positive throughout: a discharge, with a warning when the voltage behaves as in a charge."""
    if by_steps > 0.0 or (by_steps == 0.0 and by_trend <= 0.0):
        return Sign(1.0, True)
    warning = (
        f"The current is positive but the voltage behaves as in a charge: {out_ah} are counted as discharged "
        'by the sign. If this file counts charge as positive, say discharge = "negative".'
    )
    return Sign(1.0, True, (warning,))


def _all_negative(in_ah: str, by_steps: float, by_trend: float) -> Sign:
    """Current negative throughout: a discharge with the sign turned, a charge, or a question."""
    if by_steps < 0.0 or (by_steps == 0.0 and by_trend < 0.0):
        warning = (
            f"All current is negative while the voltage falls: taken as a discharge of {in_ah} with the sign "
            "turned."
        )
        return Sign(-1.0, True, (warning,))
    if by_steps > 0.0 or by_trend > 0.0:
        warning = (
            f"All current is negative while the voltage rises: taken as a charge of {in_ah}; nothing was "
            "discharged."
        )
        return Sign(1.0, True, (warning,))
    return Sign(1.0, False)


def _slope_of_steps(steps: Sequence[Step]) -> float:
    """+1 when voltage falls as current rises at the steps, −1 when it rises, 0 without steps."""
    # Terminals cut off from the cells fall to nothing when the current stops: that says nothing of its sign.
    told = [step for step in steps if abs(step.first_v - step.from_v) < OPENED * abs(step.from_v)]
    slope = sum((step.from_v - step.first_v) * (step.to_a - step.from_a) for step in told)
    return float(np.sign(slope))


def _trend(table: FloatArray) -> float:
    """Sign of the change of mean voltage from the first to the last fifth of the loaded samples."""
    _, voltage_v, current_a, _ = table
    loaded = voltage_v[np.abs(current_a) > LOADED * np.max(np.abs(current_a))]
    if loaded.size < 2:
        return 0.0
    part = max(1, loaded.size // TREND_PARTS)
    change = float(loaded[-part:].mean() - loaded[:part].mean())
    return float(np.sign(change)) if abs(change) > CLEAR_TREND * abs(float(loaded.mean())) else 0.0
