"""The leads a look inside a battery found, judged as conductors with their own insulation."""

from __future__ import annotations

from dataclasses import dataclass

from planner.install.ampacity import ampacity

# The table's marine conditions are not those of a lead in a case; both ends of the doubt are told.
CONDITIONS = (
    "The table is made for cables in boats, in air of 30 °C; the air inside a case is warmer, so the factor "
    "for engine spaces (50 °C) is applied. It leaves leads under 7 in aside, which the terminals they end in "
    "cool: a lead above it is a reason to read its heat, not a finding"
)


@dataclass(frozen=True, slots=True)
class LeadLimit:
    """What the table allows the thinner of a unit's two leads.

    size : as recorded. ampacity_a : in 50 degC air [A]; cool_a : in 30 degC air [A]. source : table, column, factors.
    """

    size: str
    ampacity_a: float
    cool_a: float
    source: str
    insulation_stated: bool


def lead_limit(leads: tuple[tuple[str, float], ...], insulation_k: float | None) -> LeadLimit | None:
    """The limit of the lead that may carry least; None where nothing was recorded or the table has no cell.

    leads : (size as recorded, copper area [m2]) of each pole. insulation_k : class of their insulation [K], None
    when not recorded, which takes the lowest column.
    Source: 33 CFR 183.425 Table 5 with note 1 for the warmer air inside a case.
    """
    found = []
    for size, area_m2 in leads:
        warm = ampacity(area_m2, insulation_k, engine_space=True, bundled=None)
        if warm is None:
            return None
        found.append(LeadLimit(size, warm.value_a, warm.table_a, warm.source, insulation_k is not None))
    return min(found, key=lambda lead: lead.ampacity_a, default=None)
