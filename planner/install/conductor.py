"""Copper conductors: gauge, area, resistance, and the voltage lost in them.

A cable run is there and back: every length here named ``loop`` counts both conductors.
"""

from __future__ import annotations

import math

from planner.constants import COPPER_ALPHA_PER_K, COPPER_REFERENCE_K, COPPER_RESISTIVITY_OHM_M

# The rows of 33 CFR 183.425 Table 5, thinnest first; 1/0 … 4/0 are numbered 0 … -3 (ASTM B258).
STANDARD_AWG: tuple[int, ...] = (18, 16, 14, 12, 10, 8, 6, 4, 3, 2, 1, 0, -1, -2, -3)

AWG_36_DIAMETER_M = 0.127e-3  # exact, ASTM B258: 0.005 in
AWG_STEPS = 39  # from number 36 to 4/0, ASTM B258
AWG_RATIO = 92.0  # diameter of 4/0 over that of number 36, ASTM B258: 0.46 in over 0.005 in

# A strand runs a helix longer than the cable. The NEC's table of stranded copper (chapter 9, table 8) lies
# 2 % above the formula for its own area, every row from AWG 18 to 4/0 within 0.5 % of it.
STRANDING_ALLOWANCE = 1.02

CIRCULAR_MIL_M2 = 5.06707479097e-10  # NIST SP 811 appendix B
FOOT_M = 0.3048  # exact, NIST SP 811 appendix B
# "Mil-foot resistance of copper" as printed beside the drop formula of ABYC E-11: copper at 29.3 degC, not
# stranded. The 12.9 of land wiring is the same copper at 75 degC with stranding; the two do not mix.
ABYC_K_CIRCULAR_MIL_OHM_PER_FT = 10.75

# Smallest circular-mil area a cable sold under the SAE number may have; up to 12 % below AWG of that number.
# ABYC E-11 picks by these. None is given for 3.
SAE_CIRCULAR_MILS: dict[int, int] = {
    18: 1537, 16: 2336, 14: 3702, 12: 5833, 10: 9343, 8: 14810, 6: 24538, 4: 37360, 2: 62450, 1: 77790,
    0: 98980, -1: 125100, -2: 158600, -3: 205500,
}  # fmt: skip

# Half the last digit of an area printed to three figures must not push a size below its own row.
AREA_PRINTING_TOLERANCE = 0.01


def awg_name(number: int) -> str:
    """Name of a gauge number: 4 -> "AWG 4", 0 -> "AWG 1/0", -3 -> "AWG 4/0". Source: ASTM B258."""
    return f"AWG {number}" if number > 0 else f"AWG {1 - number}/0"


def shown_size(size: str) -> str:
    """A size as typed, in the writing of print: "25 mm^2" -> "25 mm²"."""
    return size.replace("^2", "²")


def awg_diameter_m(number: int) -> float:
    """Diameter of the solid wire of a gauge number [m].

    number : gauge number; 0, -1, -2, -3 for 1/0, 2/0, 3/0, 4/0.
    Source: ASTM B258, d = 0.127 mm x 92^((36 - n)/39).
    """
    return float(AWG_36_DIAMETER_M * AWG_RATIO ** ((36 - number) / AWG_STEPS))


def awg_area_m2(number: int) -> float:
    """Copper area of a gauge number [m2]. Source: ASTM B258, circle of the gauge's diameter."""
    return math.pi / 4.0 * awg_diameter_m(number) ** 2


def largest_awg_within(area_m2: float) -> int | None:
    """Thickest standard gauge whose copper is no more than an area: the row a metric cable may use.

    area_m2 : copper area of one conductor [m2]; up to 1 % short counts as the size itself, because
    areas are printed rounded.
    Returns a gauge number of STANDARD_AWG, or None when the area is below the thinnest.
    """
    within = [n for n in STANDARD_AWG if awg_area_m2(n) * (1.0 - AREA_PRINTING_TOLERANCE) <= area_m2]
    return within[-1] if within else None


def sae_area_m2(number: int) -> float | None:
    """Smallest copper area of an SAE-numbered cable [m2], None where the table has no row.

    Source: SAE minimum circular-mil areas as ABYC E-11 lists them.
    """
    mils = SAE_CIRCULAR_MILS.get(number)
    return None if mils is None else mils * CIRCULAR_MIL_M2


def resistance_ohm(area_m2: float, length_m: float, temp_k: float, stranded: bool) -> float:
    """Resistance of a copper conductor [ohm].

    area_m2 : copper area [m2]; length_m : length of conductor, both ways for a loop [m].
    temp_k : temperature of the metal [K].
    stranded : add the 2 % by which a strand is longer than its cable.
    Source: IEC 60028, 0.017241 ohm mm2/m at 20 degC and 0.00393 per kelvin; STRANDING_ALLOWANCE.
    """
    lay = STRANDING_ALLOWANCE if stranded else 1.0
    warmth = 1.0 + COPPER_ALPHA_PER_K * (temp_k - COPPER_REFERENCE_K)
    return COPPER_RESISTIVITY_OHM_M * length_m / area_m2 * warmth * lay


def loop_length_m(one_way_m: float) -> float:
    """Conductor in the loop there and back [m]: the current returns, so the length counts twice."""
    return 2.0 * one_way_m


def drop_v(current_a: float, loop_ohm: float) -> float:
    """Voltage lost around a loop [V]. Source: Ohm's law."""
    return current_a * loop_ohm


def drop_fraction(lost_v: float, base_v: float) -> float:
    """Voltage lost as a fraction of a base [1]. base_v : the base, to be named beside the figure [V]."""
    return lost_v / base_v


def area_for_drop_m2(current_a: float, loop_m: float, allowed_v: float) -> float:
    """Copper area that loses no more than a voltage, metal at 20 degC [m2].

    current_a [A]; loop_m : conductor there and back [m]; allowed_v [V].
    Source: IEC 60028 resistivity, A = rho I L / U.
    """
    return COPPER_RESISTIVITY_OHM_M * current_a * loop_m / allowed_v


def circular_mils_for_drop(current_a: float, loop_m: float, allowed_v: float) -> float:
    """Circular mils that lose no more than a voltage, by the small-craft form.

    current_a [A]; loop_m : conductor there and back [m]; allowed_v [V].
    Source: ABYC E-11 as quoted, CM = K I L / E with K = 10.75 and L in feet there and back.
    """
    return ABYC_K_CIRCULAR_MIL_OHM_PER_FT * current_a * (loop_m / FOOT_M) / allowed_v


def gauge_for_drop(current_a: float, loop_m: float, allowed_v: float) -> int | None:
    """Thinnest gauge that loses no more than a voltage, judged by the SAE minimum area.

    current_a [A]; loop_m : conductor there and back [m]; allowed_v [V].
    Returns a gauge number, None when 4/0 is too thin.
    Source: ABYC E-11 as quoted, which picks by the SAE minimum area and not by the nominal one of AWG.
    """
    wanted = circular_mils_for_drop(current_a, loop_m, allowed_v)
    return next((number for number, mils in SAE_CIRCULAR_MILS.items() if mils >= wanted), None)
