"""Everything one simulation is told, beside the circuit and the timeline."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

LONGEST_RUN_S = 3.6e7  # 10,000 h: beyond it a runtime is not stated
STEP_CHARGE = 0.005  # of Q a step: halving it moves runtime by less than the printed digits
LONGEST_STEP_S = 900.0
WARMING_KS = 1500.0  # kelvin away from the air times a step [K s]: with a lag of 1500 s, 1 K a step at most


def longest_step_s(cell_k: float, ambient_k: float) -> float:
    """Longest step [s] of cells that start away from the air [K]: shorter, so that no step warms through a low voltage.

    Cold cells under a load sag, then warm and come back; what ends them lies inside a step that is too long for it.
    """
    return min(LONGEST_STEP_S, WARMING_KS / max(abs(cell_k - ambient_k), 1e-9))


@dataclass(frozen=True, slots=True)
class Setup:
    """Start, surroundings and ends of n scenarios.

    start_soc : broadcasts to (branches, series, n). cell_k, ambient_k : (n,) or scalar [K].
    load_factor : (L, n) multiplies each load. wiring_ohm : scalar or (n,), battery to loads and back.
    lead_ohm : (branches,) of a bank. series : units in series in each branch.
    cutoff_v : where the user stops, after cutoff_delay_s below it. undervoltage_v : where the battery itself
    opens at once; None when the record does not tell. trips : (current A, seconds) of one unit.
    size_charge_c : charge of one unit that steps are sized by [C]; the smallest of all scenarios when None.
    size_current_a : (pieces,) rough currents that steps are sized by [A]; those of the timeline when None.
    repeat : go on with the same outing until the battery ends. keep_trace : store the first outing.
    """

    load_factor: Floats
    cell_k: Floats | float
    ambient_k: Floats | float
    cutoff_v: float
    start_soc: Floats | float = 1.0
    cutoff_delay_s: float = 1.0
    undervoltage_v: float | None = None
    wiring_ohm: Floats | float = 0.0
    lead_ohm: Floats = field(default_factory=lambda: np.zeros(1))
    series: int = 1
    trips: tuple[tuple[float, float], ...] = ()
    size_charge_c: float | None = None
    size_current_a: Floats | None = None
    repeat: bool = True
    keep_trace: bool = True
    step_charge: float = STEP_CHARGE
    longest_step_s: float = LONGEST_STEP_S


@dataclass(frozen=True, slots=True)
class Trace:
    """The first outing, step by step. Arrays (steps,) and (steps, n); a step has a start and an end.

    Scenarios that ended hold NaN from there on. branch_* : (steps, branches) of scenario 0.
    """

    start_s: Floats
    end_s: Floats
    piece: NDArray[np.intp]
    start_a: Floats
    end_a: Floats
    start_v: Floats
    end_v: Floats
    end_soc: Floats
    end_temp_k: Floats
    branch_start_a: Floats
    branch_end_a: Floats


@dataclass(frozen=True, slots=True)
class Run:
    """What became of n scenarios. Times are from the start, past the outing's end when it repeats.

    end_s : battery's end, inf when none came in time. end_kind : cutoff | undervoltage | empty | unserved | none.
    end_charge_c, end_energy_j, end_heat_j : delivered and lost until then (losses of all units).
    mark_* : at the outing's end, or at the run's end if earlier. min_v : lowest voltage until the mark.
    inverter_s, inverter_charge_c : (L, n) first cut-out of each load's inverter, inf when none.
    left_off_s : (L, n) first cut-out after which the inverter did not restart, inf when none.
    trip_s : (n,) first moment a trip of the record is met, inf when none.
    stored_change_j : by the curve's exact integral, Q * (integral at start - integral at end), all units.
    """

    end_s: Floats
    end_kind: NDArray[np.str_]
    end_charge_c: Floats
    end_energy_j: Floats
    end_heat_j: Floats
    stored_change_j: Floats
    end_soc: Floats
    mark_charge_c: Floats
    mark_energy_j: Floats
    mark_temp_k: Floats
    mark_soc: Floats
    min_v: Floats
    inverter_s: Floats
    inverter_charge_c: Floats
    inverter_soc: Floats
    left_off_s: Floats
    trip_s: Floats
    steps: int
    trace: Trace | None
