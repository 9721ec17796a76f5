"""Joints and terminals: heat of a contact, and what published standards let it rise to.

The limits are for type tests on new, clean parts at a stated current; hardware in use may bear less
(plastic of the case, cells nearby), and a rise on a 40 degC day is a temperature: show both.
"""

from __future__ import annotations

from dataclasses import dataclass

from planner.constants import ZERO_CELSIUS_K
from planner.install.sources import Source

SOUND_CONTACTS_OHM = 0.4e-3  # all contacts of a circuit whose joints are sound (common practice, no source)
STANDARD_AMBIENT_K = 40.0 + ZERO_CELSIUS_K  # the ambient air the limits below are set over


@dataclass(frozen=True, slots=True)
class RiseLimit:
    """A published limit of rise over ambient [K] for a named part."""

    part: str
    rise_k: float
    source: Source

    @property
    def temperature_k(self) -> float:
        """The same limit as a temperature in 40 degC air [K]."""
        return STANDARD_AMBIENT_K + self.rise_k


_HV = Source("IEC 60694:1996+A2 Table 3 (high-voltage gear)", "read")
_LV_SURE = Source("IEC 60947-1:2007 Table 2", "reprint")
_LV_MEMORY = Source("IEC 60947-1:2007 Table 2", "memory")

RISE_LIMITS: tuple[RiseLimit, ...] = (
    RiseLimit("bolted joint in air, bare copper", 50.0, _HV),
    RiseLimit("bolted joint in air, tin coated", 65.0, _HV),
    RiseLimit("bolted joint in air, silver or nickel coated", 75.0, _HV),
    RiseLimit("terminal to outside conductors, bare", 50.0, _HV),
    RiseLimit("terminal to outside conductors, plated", 65.0, _HV),
    RiseLimit("accessible part, touched in normal use", 30.0, _HV),
    RiseLimit("accessible part, need not be touched", 40.0, _HV),
    RiseLimit("low-voltage terminal, bare copper", 60.0, _LV_MEMORY),
    RiseLimit("low-voltage terminal, bare brass", 65.0, _LV_MEMORY),
    RiseLimit("low-voltage terminal, tin coated", 65.0, _LV_SURE),
    RiseLimit("low-voltage terminal, silver or nickel coated", 70.0, _LV_MEMORY),
    RiseLimit("breaker terminal after all test sequences", 80.0, Source("IEC 60947-2 Table 7", "reprint")),
    RiseLimit("terminal of an assembly", 70.0, Source("IEC 61439-1 Table 6", "reprint")),
    RiseLimit("small connecting device at its test current", 45.0, Source("IEC 60998-1", "reprint")),
    RiseLimit("wire connector at its test current", 50.0, Source("UL 486A-486B", "reprint")),
)


@dataclass(frozen=True, slots=True)
class SkinLimit:
    """Burn threshold of skin on a surface: its material, time of contact [s], temperature [K]."""

    material: str
    contact_s: float
    temperature_k: float


# ISO 13732-1 (reprint); areas under a tenth of the body. From 10 min on all materials burn alike.
SKIN_SOURCE = Source("ISO 13732-1", "reprint")
SKIN_LIMITS: tuple[SkinLimit, ...] = (
    SkinLimit("metal, bare or coated", 60.0, 51.0 + ZERO_CELSIUS_K),
    SkinLimit("ceramic, glass or stone", 60.0, 56.0 + ZERO_CELSIUS_K),
    SkinLimit("plastic or wood", 60.0, 60.0 + ZERO_CELSIUS_K),
    SkinLimit("any material", 600.0, 48.0 + ZERO_CELSIUS_K),
    SkinLimit("any material", 28800.0, 43.0 + ZERO_CELSIUS_K),
)


def contact_heat_w(current_a: float, contact_ohm: float) -> float:
    """Heat made in a contact [W]. current_a : RMS current [A]; contact_ohm [ohm]. Source: Joule's law."""
    return current_a**2 * contact_ohm


def contact_drop_v(current_a: float, contact_ohm: float) -> float:
    """Voltage across a contact under load, what a meter reads over the joint [V]. Source: Ohm's law."""
    return current_a * contact_ohm
