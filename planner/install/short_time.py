"""How long a conductor stands a short circuit: all heat stays in the copper, up to five seconds."""

from __future__ import annotations

import math

from planner.install.ampacity import insulation_column

# Copper, A sqrt(s) per mm2 and degC. IEC 60949; the k of IEC 60364-4-43 Table 43A follow from them.
COPPER_K_FACTOR = 226.0
COPPER_ZERO_C = 234.5
MM2_PER_M2 = 1e6  # exact
ADIABATIC_UNTIL_S = 5.0  # IEC 60364-4-43: beyond it heat leaves the copper and the rule understates the time

PVC_FINAL_C = 160.0  # IEC 60364-4-43 Table 43A, up to 300 mm2
SILICONE_FINAL_C = 350.0  # IEC 60364-5-54, as reprinted
SILICONE_FROM_C = 200  # the one column above what a cross-linked or thermoplastic sheath stands


def copper_k(initial_c: float, final_c: float) -> float:
    """Short-time constant of copper between two temperatures [A sqrt(s)/mm2].

    initial_c, final_c : metal before and after [degC].
    Source: IEC 60949 / IEC 60364-4-43, k = 226 sqrt(ln((234.5 + final)/(234.5 + initial))).
    """
    return COPPER_K_FACTOR * math.sqrt(math.log((COPPER_ZERO_C + final_c) / (COPPER_ZERO_C + initial_c)))


def conductor_k(insulation_k: float | None) -> float | None:
    """Short-time constant of a cable starting at its class temperature [A sqrt(s)/mm2].

    insulation_k : temperature class [K], None when not stated.
    Returns None below 60 degC. The end is PVC's 160 degC, safe for cross-linked too, and 350 degC from the
    200 degC class on.
    Source: final temperatures IEC 60364-4-43 and -5-54; which class is which material is an assumption.
    """
    column_c = insulation_column(insulation_k)
    if column_c is None:
        return None
    return copper_k(float(column_c), SILICONE_FINAL_C if column_c >= SILICONE_FROM_C else PVC_FINAL_C)


def time_to_limit_s(area_m2: float, current_a: float, k: float) -> float:
    """Time until a conductor reaches its short-time limit [s]: (k S / I)^2.

    area_m2 [m2]; current_a [A]; k [A sqrt(s)/mm2]. Valid to 5 s (ADIABATIC_UNTIL_S).
    Source: IEC 60364-4-43, clause 434.5.2.
    """
    return (k * area_m2 * MM2_PER_M2 / current_a) ** 2
