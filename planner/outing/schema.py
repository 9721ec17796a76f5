"""What the buyer needs: loads, their hours, and where the battery sits. SI inside."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from planner.outing.inverter_losses import LossModel

# what a buyer may ask, and what is answered, in this order
QUESTIONS = (
    "energy",
    "reserve",
    "peak_current",
    "terminal_heat",
    "inverter",
    "wiring",
    "winter_charging",
    "bank",
)
TERMINAL_LIMIT_K = 348.15  # 75 degC, a chosen criterion (ISO 13732-1 guards skin far below)
ALLOWED_DROP = 0.10  # of the nominal voltage: a chosen criterion, the 10 % of ABYC E-11 (from memory)


@dataclass(frozen=True, slots=True)
class Use:
    """One stretch in which a load is used. on_s/off_s: duty inside it, starting with on."""

    start_s: float
    length_s: float
    speed: float | None = None  # fraction of full speed, motors only
    on_s: float | None = None
    off_s: float | None = None


@dataclass(frozen=True, slots=True)
class StartSurge:
    """The load's whole current at every switch-on, and for how long."""

    current_a: float
    duration_s: float


FINE_INTERVAL_S = 1.0  # a coarser log hides start surges (common practice, no source)


@dataclass(frozen=True, slots=True)
class Log:
    """A recorded current: rising times from 0 [s], currents [A], and what lies between samples.

    usual_s : the logger's own interval [s], as samples that say nothing are left out; 0 where it is not known.
    """

    path: Path
    time_s: tuple[float, ...]
    current_a: tuple[float, ...]
    between_samples: str  # hold | line
    usual_s: float = 0.0

    @property
    def hides_s(self) -> float:
        """How long a pull may be that is not in it [s]; 0 for a log fine enough for all but a start."""
        return self.usual_s if self.usual_s > FINE_INTERVAL_S else 0.0


@dataclass(frozen=True, slots=True)
class Load:
    """One consumer. kind: one of `load_reader.KINDS`.

    power_w : DC for "power", AC side for "inverter".
    capacitance_f, precharge_ohm : of an inverter's input. spread : one standard deviation, fraction.
    thrust_n, propeller_m : claimed static thrust and the propeller's diameter. winding_ohm, spin_up_s : of a motor's
    start. motor_table : (speed fraction, current A), speed rising.
    """

    name: str
    kind: str
    uses: tuple[Use, ...]
    evidence: str  # measured | logged | stated | handbook | claimed
    spread: float
    current_a: float | None = None
    power_w: float | None = None
    resistance_ohm: float | None = None
    efficiency: float | None = None
    losses: LossModel | None = None  # of an inverter with stated efficiencies, in place of one figure
    idle_w: float = 0.0
    cutout_v: float | None = None
    cutout_delay_s: float = 0.0
    restart_v: float | None = None
    capacitance_f: float | None = None
    precharge_ohm: float | None = None
    full_current_a: float | None = None
    motor_table: tuple[tuple[float, float], ...] = ()
    thrust_n: float | None = None  # a claim, of a motor: never a current
    propeller_m: float | None = None
    winding_ohm: float | None = None
    spin_up_s: float | None = None
    surge: StartSurge | None = None
    log: Log | None = None
    safety: bool = False


@dataclass(frozen=True, slots=True)
class GetHome:
    """The way home: the reserve is distance / speed x current x factor."""

    distance_m: float
    speed_m_per_s: float
    current_a: float
    factor: float

    @property
    def charge_c(self) -> float:
        """Charge kept for the way home [C]."""
        return self.distance_m / self.speed_m_per_s * self.current_a * self.factor


@dataclass(frozen=True, slots=True)
class Wiring:
    """The cable between battery and loads. length_m is one way; insulation_k its temperature class.

    alternator_v, alternator_rated_a : one joined to the battery through this cable without a charger: what its
    regulator holds, and its rated current.
    """

    size: str  # as typed: "AWG 4" or "25 mm^2"
    area_m2: float
    length_m: float
    contact_resistance_ohm: float = 0.0
    insulation_k: float | None = None
    engine_space: bool = False
    bundled: int | None = None  # current-carrying conductors in the bundle
    fuse_a: float | None = None
    fuse_class: str | None = None
    fuse_interrupt_a: float | None = None
    allowed_drop: float = ALLOWED_DROP
    charge_current_a: float | None = None  # largest that charges through the same cable; None: not stated
    alternator_v: float | None = None
    alternator_rated_a: float | None = None


@dataclass(frozen=True, slots=True)
class Bank:
    """Several units. lead_resistances_ohm and start_charges: one per parallel branch."""

    parallel: int = 1
    series: int = 1
    lead_resistances_ohm: tuple[float, ...] = ()
    start_charges: tuple[float, ...] = ()
    units: tuple[Path, ...] = ()


@dataclass(frozen=True, slots=True)
class Outing:
    """One buyer's need. reserve_fraction is of usable charge; get_home replaces it."""

    name: str
    duration_s: float
    ambient_k: float
    cell_k: float
    loads: tuple[Load, ...]
    start_soc: float = 1.0
    cutoff_v: float | None = None
    cutoff_delay_s: float = 1.0
    reserve_fraction: float | None = None
    get_home: GetHome | None = None
    questions: tuple[str, ...] | None = None
    wiring: Wiring | None = None
    bank: Bank | None = None
    terminal_limit_k: float = TERMINAL_LIMIT_K
    path: Path | None = None
    files: tuple[Path, ...] = ()
    warnings: tuple[str, ...] = ()
