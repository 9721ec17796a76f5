"""What a conductor may carry: 33 CFR 183.425 Table 5 with its two notes.

The regulation binds boats with gasoline engines, outboards excepted (183.401); elsewhere it is guidance.
It leaves aside intermittent surges, circuits under 1 A, pigtails under 7 in and cranking conductors.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from planner.constants import COPPER_ALPHA_PER_K, COPPER_REFERENCE_K, ZERO_CELSIUS_K
from planner.install.conductor import largest_awg_within
from planner.install.sources import TABLE_5

INSULATION_CLASSES_C: tuple[int, ...] = (60, 75, 80, 90, 105, 125, 200)

# Allowable amperage, 30 degC around; columns as INSULATION_CLASSES_C. 33 CFR 183.425 Table 5.
TABLE_5_A: dict[int, tuple[int, ...]] = {
    18: (10, 10, 15, 20, 20, 25, 25),
    16: (15, 15, 20, 25, 25, 30, 35),
    14: (20, 20, 25, 30, 35, 40, 45),
    12: (25, 25, 35, 40, 45, 50, 55),
    10: (40, 40, 50, 55, 60, 70, 70),
    8: (55, 65, 70, 70, 80, 90, 100),
    6: (80, 95, 100, 100, 120, 125, 135),
    4: (105, 125, 130, 135, 160, 170, 180),
    3: (120, 145, 150, 155, 180, 195, 210),
    2: (140, 170, 175, 180, 210, 225, 240),
    1: (165, 195, 210, 210, 245, 265, 280),
    0: (195, 230, 245, 245, 285, 305, 325),
    -1: (225, 265, 285, 285, 330, 355, 370),
    -2: (260, 310, 330, 330, 385, 410, 430),
    -3: (300, 360, 385, 385, 445, 475, 510),
}

# Note 1: factor in an engine space, 50 degC around. 33 CFR 183.425 Table 5.
ENGINE_SPACE_FACTORS: dict[int, float] = {
    60: 0.58,
    75: 0.75,
    80: 0.78,
    90: 0.82,
    105: 0.85,
    125: 0.89,
    200: 1.00,
}

# Note 2: current-carrying conductors in a bundle, from this many on. 33 CFR 183.425 Table 5; required at
# 50 V and above only (183.435), so at 12 V it is applied because the user says the cable is bundled.
BUNDLE_FACTORS: tuple[tuple[int, float], ...] = ((25, 0.40), (7, 0.50), (4, 0.60), (3, 0.70))

TABLE_AMBIENT_K = 30.0 + ZERO_CELSIUS_K  # 33 CFR 183.425 Table 5 heading
ENGINE_SPACE_AMBIENT_K = 50.0 + ZERO_CELSIUS_K  # 33 CFR 183.425 Table 5 note 1

_KELVIN_ROUNDING_K = 1e-6  # 105 degC typed and turned into kelvin must still read as 105
_PRODUCT_ROUNDING_A = 1e-9  # 0.58 x 50 must not floor to 28 for the last bit of a float


@dataclass(frozen=True, slots=True)
class Ampacity:
    """What the table allows for one conductor.

    awg : row used. column_c : insulation column used [degC].
    table_a : the cell itself [A]. engine_factor, bundle_factor : notes 1 and 2, 1 where not applied.
    """

    awg: int
    column_c: int
    table_a: float
    engine_factor: float
    bundle_factor: float

    @property
    def value_a(self) -> float:
        """Cell times factors, not rounded [A]."""
        return self.table_a * self.engine_factor * self.bundle_factor

    @property
    def source(self) -> str:
        """Table, column and factors, as a reader needs them to check the figure."""
        text = f"{TABLE_5.text}, {self.column_c} degC column"
        if self.engine_factor != 1.0:
            text += f", engine space x {self.engine_factor:.2f} (note 1)"
        if self.bundle_factor != 1.0:
            text += f", bundle x {self.bundle_factor:.2f} (note 2)"
        return text


def insulation_column(insulation_k: float | None) -> int | None:
    """Column of the table for an insulation's temperature class [degC].

    insulation_k : class of the insulation [K]; None, not stated, takes the lowest column.
    Returns the highest column at or below the class, None below 60 degC, where the table is silent.
    """
    if insulation_k is None:
        return INSULATION_CLASSES_C[0]
    stated_c = insulation_k - ZERO_CELSIUS_K + _KELVIN_ROUNDING_K
    return max((column for column in INSULATION_CLASSES_C if column <= stated_c), default=None)


def bundle_factor(conductors: int | None) -> float:
    """Factor for current-carrying conductors lying in one bundle [1]; None or fewer than three: 1.

    Source: 33 CFR 183.425 Table 5 note 2.
    """
    if conductors is None:
        return 1.0
    return next((factor for least, factor in BUNDLE_FACTORS if conductors >= least), 1.0)


def ampacity(
    area_m2: float, insulation_k: float | None, engine_space: bool, bundled: int | None
) -> Ampacity | None:
    """Allowable current of a copper conductor.

    area_m2 : copper area [m2]; between two rows the thinner row counts.
    insulation_k : temperature class of the insulation [K], None when not stated.
    engine_space : the cable runs through an engine space, 50 degC around.
    bundled : current-carrying conductors in the bundle, None when not bundled.
    Returns None where the table has no cell: thinner than AWG 18, or insulation below 60 degC.
    Source: 33 CFR 183.425 Table 5, notes 1 and 2.
    """
    awg, column_c = largest_awg_within(area_m2), insulation_column(insulation_k)
    if awg is None or column_c is None:
        return None
    return Ampacity(
        awg=awg,
        column_c=column_c,
        table_a=float(TABLE_5_A[awg][INSULATION_CLASSES_C.index(column_c)]),
        engine_factor=ENGINE_SPACE_FACTORS[column_c] if engine_space else 1.0,
        bundle_factor=bundle_factor(bundled),
    )


def whole_amperes(value_a: float) -> int:
    """An allowable current as whole amperes for print: rounded down, the safe side.

    The published engine-space column rounds to the nearest, half to even (178.5 -> 178, 29.75 -> 30).
    """
    return math.floor(value_a + _PRODUCT_ROUNDING_A)


def metal_temperature_k(current_a: float, limit: Ampacity, engine_space: bool) -> float | None:
    """Steady temperature of the copper at a current, its own warming fed back into its resistance [K].

    current_a : RMS current [A]. limit : the table's cell. engine_space : 50 degC around instead of 30.
    Returns None when the loop gain reaches one: no steady temperature, the metal runs away.
    Source: heat I2R(T) against unchanged cooling, anchored where the table puts the column's temperature
    (cell current, 30 degC around); the cells are rounded, so this is an estimate.
    """
    column_k = limit.column_c + ZERO_CELSIUS_K
    load = current_a / (limit.table_a * limit.bundle_factor)
    warm = 1.0 + COPPER_ALPHA_PER_K * (column_k - COPPER_REFERENCE_K)
    rise_at_reference_k = (column_k - TABLE_AMBIENT_K) * load**2 / warm
    gain = rise_at_reference_k * COPPER_ALPHA_PER_K
    if gain >= 1.0:
        return None
    around_k = ENGINE_SPACE_AMBIENT_K if engine_space else TABLE_AMBIENT_K
    return (around_k + rise_at_reference_k * (1.0 - COPPER_ALPHA_PER_K * COPPER_REFERENCE_K)) / (1.0 - gain)
