"""How far a test speaks, told with the sizes of the rule wherever an answer rests on it."""

from __future__ import annotations

from planner.battery.speaks import printed_constants


def how_far_a_test_speaks() -> str:
    """The rule's sizes in one sentence."""
    sizes = "; ".join(
        f"{what} {value:g} {'°C' if unit == 'degC' else unit}" for what, value, unit in printed_constants()
    )
    return f"How far a test speaks (common practice, no source): {sizes}."
