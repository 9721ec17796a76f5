"""What the judge of a cable run takes in and hands out. Discharge current is positive."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Literal, Protocol

from planner.constants import NOMINAL_UNIT_V
from planner.install.alternator import DirectCharge
from planner.install.overcurrent import Interrupt

Verdict = Literal["fits", "fits with limits", "not proven", "does not fit"]
Reason = Literal[
    "current above ampacity",
    "fuse above ampacity",
    "fuse below load",
    "no fuse possible",
    "outside the table",
    "no fuse stated",
    "fuse may open under the load",
    "drop above allowed",
    "charge above ampacity",
    "fuse below charge",
    "fuse may open under the charge",
    "alternator not limited",
]


class Cable(Protocol):
    """The cable between battery and loads, as the buyer stated it. Any object with these fields will do.

    size : as typed. area_m2 : copper of one conductor [m2]. length_m : one way [m].
    contact_resistance_ohm : all joints of the loop [ohm]. insulation_k : temperature class [K] or None.
    bundled : current-carrying conductors in the bundle or None. fuse_a, fuse_interrupt_a [A] or None.
    fuse_class : name of an operating class or None. allowed_drop : fraction of the base [1].
    """

    @property
    def size(self) -> str: ...
    @property
    def area_m2(self) -> float: ...
    @property
    def length_m(self) -> float: ...
    @property
    def contact_resistance_ohm(self) -> float: ...
    @property
    def insulation_k(self) -> float | None: ...
    @property
    def engine_space(self) -> bool: ...
    @property
    def bundled(self) -> int | None: ...
    @property
    def fuse_a(self) -> float | None: ...
    @property
    def fuse_class(self) -> str | None: ...
    @property
    def fuse_interrupt_a(self) -> float | None: ...
    @property
    def allowed_drop(self) -> float: ...


@dataclass(frozen=True, slots=True)
class CircuitNeed:
    """What the outing and the battery ask of the cable.

    current_rms60_a : largest RMS current over any 60 s [A]. peak_a : largest current of all [A].
    peak_s : longest unbroken time at it [s], None when not known. has_cutout : a load on the cable has a
    low-voltage cut-out, so that the drop counts at the peak. base_v : base of the drop's per cent [V].
    min_load_voltage_v : lowest voltage at the loads in the centre run [V], None when not run.
    full_open_v, source_ohm : open-circuit voltage of the full bank and its resistance by the earliest
    reading, all parallel branches together [V, ohm]. charge_a : largest current that charges through the same
    cable and fuse for good [A], 0 when none is known. alternator : one joined without a charger, whose current hangs
    on the cable; it stands in place of charge_a.
    """

    current_rms60_a: float
    peak_a: float
    full_open_v: float
    source_ohm: float
    peak_s: float | None = None
    has_cutout: bool = False
    base_v: float = NOMINAL_UNIT_V
    min_load_voltage_v: float | None = None
    charge_a: float = 0.0
    alternator: DirectCharge | None = None

    @property
    def drop_current_a(self) -> float:
        """Current at which the drop is judged [A]."""
        return self.peak_a if self.has_cutout else self.current_rms60_a

    def charge_at_a(self, wiring_ohm: float) -> float:
        """Current that charges through a cable and its contacts of this resistance [A]."""
        return self.charge_a if self.alternator is None else self.alternator.current_a(wiring_ohm)

    def lasting_a(self, wiring_ohm: float) -> float:
        """Current that such a cable and its fuse have to bear for good, whichever way it flows [A]."""
        return max(self.current_rms60_a, self.charge_at_a(wiring_ohm))


@dataclass(frozen=True, slots=True)
class WiringLimit:
    """What would make the run fit, as data. None where nothing of the kind is needed or exists.

    conductor : thinnest standard gauge that carries load and fuse and keeps the drop.
    fuse_A : smallest standard fuse in the window of that conductor, or of the present one [A].
    drop_percent : drop at the judged current, when it is above what is allowed [%].
    """

    conductor: str | None
    fuse_A: float | None
    drop_percent: float | None


@dataclass(frozen=True, slots=True)
class WiringResult:
    """The answer about one cable run. Field names end in their unit and are those of the JSON section.

    From ``limit`` on the fields stand beside that section. drop_judged_percent : at the peak where a load has
    a cut-out. charge_A, charge_drop_V : of charging through the same cable, None when none is known.
    fuse_from_A : smallest fuse for load and charge. metal_degC, drop_warm_V : copper at its own steady temperature,
    None when it would run away.
    """

    gauge: str
    area_mm2: float
    loop_length_m: float
    conductor_mohm: float
    resistance_mohm: float
    current_A: float
    ampacity_A: float | None
    ampacity_source: str
    drop_V: float
    drop_percent: float
    drop_base_V: float
    fuse_A: float | None
    fuse_ok: bool | None
    fuse_low_A: float
    fuse_high_A: float | None
    fuse_nuisance: bool | None
    fuse_legal_max_A: float | None
    peak_A: float
    min_load_voltage_V: float | None
    short_circuit_A: float
    short_circuit_end_A: float
    verdict: Verdict
    limit: WiringLimit | None
    reasons: tuple[Reason, ...]
    drop_judged_percent: float
    drop_allowed_percent: float
    charge_A: float | None
    charge_drop_V: float | None
    fuse_from_A: float
    metal_degC: float | None
    drop_warm_V: float | None
    interrupt: Interrupt
    warnings: tuple[str, ...]
    notes: tuple[str, ...]

    def section(self) -> dict[str, str | float | bool | None]:
        """The JSON section: every field up to ``verdict``, in order."""
        names = [field.name for field in fields(self)]
        return {name: getattr(self, name) for name in names[: names.index("verdict") + 1]}
