"""For which cells a pass speaks: their temperature and their charge.

An opening for current hardly depends on charge; an opening for low voltage does, so a pass reaches
further while the modelled voltage keeps clear of the cut-off. Every size below is common practice, no
source, and printed with the answer by `printed_constants`.
"""

from __future__ import annotations

from collections.abc import Iterable

from planner.battery.current_evidence import Pass, at_most
from planner.constants import ZERO_CELSIUS_K

BELOW_TEST_K = 15.0  # a pass speaks for cells this much colder than its own
WARMEST_CELL_K = ZERO_CELSIUS_K + 40.0  # and up to here
COLDEST_BY_VOLTAGE_K = ZERO_CELSIUS_K  # and down to here while the voltage keeps clear
# and down to here where it sags no more than its own test did. Colder cells only a cold test speaks for: makers end the
# use of such units about here, and a protection may refuse to discharge
COLDEST_BY_SAG_K = ZERO_CELSIUS_K - 20.0
HEADROOM_V = 0.5  # the voltage of nine draws in ten this far above the cut-off
LOWEST_CHARGE = 0.20  # a hold speaks from this state of charge up


def speaks_at(
    held: Pass,
    cell_k: float,
    covering_temperatures_k: Iterable[float],
    v90_headroom_v: float,
    ir_ratio: float,
) -> bool:
    """Whether a pass speaks for cells at `cell_k`, at the start of the piece and own heating left aside.

    covering_temperatures_k : cell temperatures [K] of the passes that cover the same need.
    v90_headroom_v : modelled voltage of nine draws in ten less the cut-off [V].
    ir_ratio : modelled current x resistance of the need at `cell_k`, over the same of the pass at its
        own current and temperature.
    Source: common practice, no source.
    """
    if held.cell_k - BELOW_TEST_K <= cell_k <= max(WARMEST_CELL_K, held.cell_k):
        return True
    if any(min(held.cell_k, k) <= cell_k <= max(held.cell_k, k) for k in covering_temperatures_k):
        return True
    if cell_k > held.cell_k or cell_k < COLDEST_BY_SAG_K:
        return False
    return (cell_k >= COLDEST_BY_VOLTAGE_K and v90_headroom_v >= HEADROOM_V) or at_most(ir_ratio, 1.0)


def speaks_at_charge(held: Pass, state_of_charge: float, v90_headroom_v: float) -> bool:
    """Whether a pass speaks for a unit at `state_of_charge` (fraction, lowest within the piece).

    A full discharge speaks down to empty at its current or less; every other pass from 20 % charge up
    while the voltage keeps clear of the cut-off. A discharge ended early counts among the others.
    Source: common practice, no source.
    """
    if held.full_discharge:
        return True
    return at_most(LOWEST_CHARGE, state_of_charge) and v90_headroom_v >= HEADROOM_V


def printed_constants() -> tuple[tuple[str, float, str], ...]:
    """The rule's sizes for the reader of the answer: (what it is, value, unit)."""
    return (
        ("a pass speaks for cells colder than its own by up to", BELOW_TEST_K, "K"),
        ("a pass speaks for cells up to", WARMEST_CELL_K - ZERO_CELSIUS_K, "degC"),
        ("with clear voltage a pass speaks down to", COLDEST_BY_VOLTAGE_K - ZERO_CELSIUS_K, "degC"),
        ("with no more sag than its own a pass speaks down to", COLDEST_BY_SAG_K - ZERO_CELSIUS_K, "degC"),
        ("clear voltage is above the cut-off by", HEADROOM_V, "V"),
        ("a hold speaks from a state of charge of", 100.0 * LOWEST_CHARGE, "%"),
    )
