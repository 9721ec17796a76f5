"""A pack whose true behaviour is known: an electrochemical model standing in for "the real battery".

The Doyle-Fuller-Newman model of the open battery library PyBaMM with its LFP parameter set Prada2013,
isothermal at 25 degC, scaled to a 12.8 V pack of four groups in series, 46 cells of 2.3 Ah in
parallel, which gives 100.2 Ah at 20 A. Leads, switch and joints are a fixed resistance outside the
cells. Sources: M. Doyle, T. F. Fuller, J. Newman, J. Electrochem. Soc. 140 (1993) 1526; E. Prada et
al., J. Electrochem. Soc. 160 (2013) A616 (the parameter set); V. Sulzer et al., J. Open Research
Software 9 (2021) 14 (the library).

The planner never sees this model's inside, only what a bench would have read from it.

    python -m tests.oracles.physics_truth        solves every profile and writes data/*.json
"""

from __future__ import annotations

import functools
import itertools
import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.oracles.pieces import MIXED_TROLLING, LoadPiece, pulsed, steady

Floats = NDArray[np.float64]

PARAMETER_SET = "Prada2013"
CELLS_IN_SERIES = 4
CELLS_IN_PARALLEL = 46
RATED_C = 100.0 * 3600.0  # what soc0 is counted against: the pack delivers 100.2 Ah at 20 A
CUTOFF_V = 10.0  # 2.5 V a cell, the usual lower limit of LFP
TEMPERATURE_K = 298.15
FARADAY_C_PER_MOL = 96485.33212  # CODATA 2018, exact
# Volumes in x of each electrode and separator, then in r of each particle. Against 40, 10, 40, 60, 30
# and rtol 1e-8 the charge at 20, 100 and 150 A moves by less than 0.02 % (checked in the test beside this).
MESH = {"x_n": 10, "x_s": 5, "x_p": 10, "r_n": 40, "r_p": 10}
FINE_MESH = {"x_n": 40, "x_s": 10, "x_p": 40, "r_n": 60, "r_p": 30}
LONGEST_S = 60 * 3600.0  # no profile here lasts longer; a guard against a load that never empties it
THINNING_V = 0.5e-3  # straight lines between kept points stay this close to the solved voltage
DATA = Path(__file__).parent / "data"

_GEOMETRY = {  # library parameter scaled by the pack's field of the same place
    "Negative electrode thickness [m]": "negative_thickness",
    "Positive electrode thickness [m]": "positive_thickness",
    "Negative particle radius [m]": "negative_radius",
    "Positive particle radius [m]": "positive_radius",
}
_INITIAL = ("Initial concentration in negative electrode [mol.m-3]",
            "Initial concentration in positive electrode [mol.m-3]")


@dataclass(frozen=True, slots=True)
class RealPack:
    """What may differ from unit to unit; factors on the parameter set, 1 for the nominal one.

    negative_thickness, positive_thickness : of the electrodes' coatings (charge and transport).
    negative_radius, positive_radius : of the particles (diffusion time as its square).
    lead_ohm : leads, switch, joints and any further contact resistance of the whole pack [ohm].
    """

    negative_thickness: float = 1.0
    positive_thickness: float = 1.0
    negative_radius: float = 1.0
    positive_radius: float = 1.0
    lead_ohm: float = 1.0e-3


NOMINAL = RealPack()


@dataclass(frozen=True, slots=True)
class TruthRun:
    """What a perfect bench reads at the pack's terminals.

    time_s, voltage_v, current_a, charge_c : (n,); a load edge has two rows of the same time, the
    state before it and the state after it. charge_c counts what was taken out since the start.
    ended_by : "cutoff" or "end" (the loads ran out first).
    """

    time_s: Floats
    voltage_v: Floats
    current_a: Floats
    charge_c: Floats
    ended_by: str

    @property
    def energy_j(self) -> float:
        """Energy delivered [J], trapezoid over the solver's own steps."""
        return float(np.trapezoid(self.voltage_v * self.current_a, self.time_s))


class _Cell:
    """One discretised model; what a pack or a load changes are its inputs, so it is built once."""

    def __init__(self, mesh: dict[str, int], tolerance: float) -> None:
        import pybamm

        pybamm.set_logging_level("ERROR")
        model = pybamm.lithium_ion.DFN({"operating mode": _demand_residual})
        model.variables["Pack voltage [V]"] = _pack_voltage(model.variables)
        cutoff = model.variables["Pack voltage [V]"] - pybamm.InputParameter("cutoff")
        model.events = [pybamm.Event("Pack cut-off", cutoff)]  # the pack's own limit, not the cell's
        values = pybamm.ParameterValues(PARAMETER_SET)
        self.nominal = {key: float(values[key]) for key in (*_GEOMETRY, *_INITIAL)}
        self.active_m2 = [  # one cell's plate area x active fraction: times thickness, the active volume
            float(values["Electrode height [m]"]) * float(values["Electrode width [m]"])
            * float(values[f"{side} electrode active material volume fraction"])
            for side in ("Negative", "Positive")]
        values.update(dict.fromkeys(self.nominal, "[input]"))
        values.update({"Number of electrodes connected in parallel to make a cell": CELLS_IN_PARALLEL,
                       "Ambient temperature [K]": TEMPERATURE_K, "Initial temperature [K]": TEMPERATURE_K})
        symbolic = dict.fromkeys(("negative electrode", "separator", "positive electrode",
                                  "negative particle", "positive particle"),
                                 pybamm.SymbolicUniform1DSubMesh)  # the only mesh that takes inputs
        self.simulation = pybamm.Simulation(
            model, parameter_values=values, var_pts=mesh,
            submesh_types={**model.default_submesh_types, **symbolic},
            solver=pybamm.IDAKLUSolver(rtol=tolerance, atol=tolerance))
        self.simulation.build()

    def inputs(self, pack: RealPack, soc0: float, cutoff_v: float) -> dict[str, float]:
        """Numbers of one pack, rested after (1 - soc0) of the rated charge was taken out."""
        geometry = {key: self.nominal[key] * getattr(pack, field) for key, field in _GEOMETRY.items()}
        mol = (1.0 - soc0) * RATED_C / CELLS_IN_PARALLEL / FARADAY_C_PER_MOL
        concentrations = {}
        for key, sign, area, thickness in zip(_INITIAL, (-1.0, 1.0), self.active_m2, list(geometry)[:2],
                                              strict=True):
            concentrations[key] = self.nominal[key] + sign * mol / (area * geometry[thickness])
        return {**geometry, **concentrations, "lead": pack.lead_ohm, "cutoff": cutoff_v}


def _pack_voltage(variables: Any) -> Any:
    import pybamm

    lead_v = variables["Current [A]"] * pybamm.InputParameter("lead")
    return CELLS_IN_SERIES * variables["Voltage [V]"] - lead_v


def _demand_residual(variables: Any) -> Any:
    """Zero where the current is what the loads ask for at this voltage (see LoadPiece)."""
    import pybamm

    volts = _pack_voltage(variables)
    power = pybamm.InputParameter("power")
    behind = volts**2 - 4 * pybamm.InputParameter("wiring") * power
    asked = (pybamm.InputParameter("current") + pybamm.InputParameter("conductance") * volts
             + 2 * power / (volts + behind**0.5))
    return variables["Current [A]"] - asked


@functools.cache
def _cell(fine: bool) -> _Cell:
    return _Cell(FINE_MESH, 1e-8) if fine else _Cell(MESH, 1e-6)


def _solve(loads: Iterable[LoadPiece], pack: RealPack, soc0: float, cutoff_v: float, fine: bool) -> tuple[Any, bool]:
    """The solution, and whether it ended at the cut-off."""
    import pybamm

    cell = _cell(fine)
    fixed = cell.inputs(pack, soc0, cutoff_v)
    solution: Any = None
    for load in loads:
        inputs = {**fixed, "current": load.current_a, "power": load.power_w,
                  "conductance": load.conductance_s, "wiring": load.wiring_ohm}
        if solution is None:
            solution = cell.simulation.solve([0.0, load.length_s], inputs=inputs)
        else:
            try:
                solution = cell.simulation.step(load.length_s, inputs=inputs, starting_solution=solution)
            except pybamm.SolverError as error:
                # the load's first instant is already below the cut-off: that instant is the end
                if "non-positive at initial conditions" in str(error):
                    return solution, True
                raise
        if solution.termination.startswith("event"):
            return solution, True
    return solution, False


def run(loads: Iterable[LoadPiece], *, pack: RealPack = NOMINAL, soc0: float = 1.0,
        cutoff_v: float = CUTOFF_V, fine: bool = False) -> TruthRun:
    """Solve the loads once through, or to the cut-off if that comes first.

    soc0 : rested, with (1 - soc0) of 100 Ah already taken out of the full pack.
    cutoff_v : of the pack [V]. fine : the finer mesh and tolerance, to show convergence.
    """
    solution, cut_off = _solve(loads, pack, soc0, cutoff_v, fine)
    names = ("Pack voltage [V]", "Current [A]", "Discharge capacity [A.h]")
    volts, amps, amp_hours = (np.asarray(solution[name].entries) for name in names)
    ended = "cutoff" if cut_off else "end"
    return TruthRun(np.asarray(solution.t), volts, amps, amp_hours * 3600.0, ended)


def repeated(loads: Sequence[LoadPiece], **kwargs: Any) -> TruthRun:
    """Repeat the loads until the cut-off; keywords as for `run`."""
    cycle_s = sum(load.length_s for load in loads)
    return run([load for _ in range(int(LONGEST_S / cycle_s) + 1) for load in loads], **kwargs)


def discharge(current_a: float, **kwargs: Any) -> TruthRun:
    """Discharge at a constant current [A] to the cut-off; keywords as for `run`."""
    return run([LoadPiece(LONGEST_S, current_a=current_a)], **kwargs)


def constant_power(power_w: float, **kwargs: Any) -> TruthRun:
    """Discharge at a constant power [W] to the cut-off; keywords as for `run`."""
    return run([LoadPiece(LONGEST_S, power_w=power_w)], **kwargs)


def step_pieces(from_a: float, to_a: float, before_c: float, hold_s: float) -> tuple[LoadPiece, ...]:
    """At from_a until before_c is taken out, then to_a for hold_s, then back at from_a for 10 min."""
    return (LoadPiece(before_c / from_a, current_a=from_a), LoadPiece(hold_s, current_a=to_a),
            LoadPiece(600.0, current_a=from_a))


def step_test(from_a: float = 20.0, to_a: float = 100.0, *, before_c: float = RATED_C / 2,
              hold_s: float = 60.0, **kwargs: Any) -> tuple[TruthRun, dict[float, float]]:
    """A step from one current to another, on the way down, as a bench does it.

    Returns the run and the terminal volts by seconds after the step; key 0.0 is the reading just
    before it. Keywords as for `run`.
    """
    found = run(step_pieces(from_a, to_a, before_c, hold_s), **kwargs)
    at_s = before_c / from_a
    before = found.time_s <= at_s
    volts = {0.0: float(found.voltage_v[before][-1])}
    for after_s in (0.1, 1.0, 10.0, 60.0):
        if after_s <= hold_s:
            volts[after_s] = float(np.interp(at_s + after_s, found.time_s[~before], found.voltage_v[~before]))
    return found, volts


PROFILES: dict[str, tuple[LoadPiece, ...]] = {
    **{f"steady_{a}A": steady(current_a=float(a)) for a in (10, 20, 35, 50, 75, 100, 150)},
    **{f"power_{w}W": steady(power_w=float(w)) for w in (300, 640, 1000)},
    "pulsed_60A_10A": pulsed(60.0, 10.0),
    "pulsed_100A_0A": pulsed(100.0, 0.0),
    "mixed_trolling": MIXED_TROLLING,
    "step_20A_100A": step_pieces(20.0, 100.0, RATED_C / 2, 60.0),
}
REPEATED = frozenset(PROFILES) - {"step_20A_100A"}


def solve_profile(name: str, **kwargs: Any) -> TruthRun:
    """The profile of that name, to the cut-off (the step test: once through)."""
    loads = PROFILES[name]
    if name not in REPEATED:
        return run(loads, **kwargs)
    if len(loads) == 1:  # one unbroken piece: no restarts inside a steady discharge
        return run([LoadPiece(LONGEST_S, loads[0].current_a, loads[0].power_w)], **kwargs)
    return repeated(loads, **kwargs)


def thinned(found: TruthRun, tolerance_v: float = THINNING_V) -> NDArray[np.intp]:
    """Rows to keep so that straight lines between them stay within tolerance_v (Douglas-Peucker).

    Both rows of a load edge are always kept.
    """
    time_s, volts = found.time_s, found.voltage_v
    edges = np.flatnonzero(np.diff(time_s) < 1e-6)
    keep = {0, len(time_s) - 1, *edges.tolist(), *(edges + 1).tolist()}
    corners = sorted(keep)
    pending = list(itertools.pairwise(corners))
    while pending:
        low, high = pending.pop()
        inside = slice(low + 1, high)
        line = np.interp(time_s[inside], [time_s[low], time_s[high]], [volts[low], volts[high]])
        off = np.abs(volts[inside] - line)
        if off.size and off.max() > tolerance_v:
            middle = low + 1 + int(off.argmax())
            keep.add(middle)
            pending += [(low, middle), (middle, high)]
    return np.array(sorted(keep))


def cache_path(name: str) -> Path:
    """Where the solved profile is kept."""
    return DATA / f"{name}.json"


def load_cached(name: str) -> dict[str, Any]:
    """The kept profile: header, loads, end_* and the arrays time_s, voltage_v, current_a."""
    content: dict[str, Any] = json.loads(cache_path(name).read_text(encoding="utf-8"))
    return content


def to_record(name: str, found: TruthRun) -> dict[str, Any]:
    """What is kept of one solved profile."""
    import pybamm

    rows = thinned(found)
    return {
        "made_by": "python -m tests.oracles.physics_truth",
        "library": f"pybamm {pybamm.__version__}",
        "model": "Doyle-Fuller-Newman, isothermal",
        "parameter_set": PARAMETER_SET,
        "temperature_k": TEMPERATURE_K,
        "pack": {"series": CELLS_IN_SERIES, "parallel": CELLS_IN_PARALLEL, "cutoff_v": CUTOFF_V,
                 **asdict(NOMINAL)},
        "profile": name,
        "repeated": name in REPEATED,
        "loads": [asdict(load) for load in PROFILES[name]],
        "ended_by": found.ended_by,
        "end_time_s": round(float(found.time_s[-1]), 3),
        "end_charge_c": round(float(found.charge_c[-1]), 2),
        "end_energy_j": round(found.energy_j, 0),
        "thinning_v": THINNING_V,
        "time_s": np.round(found.time_s[rows], 3).tolist(),
        "voltage_v": np.round(found.voltage_v[rows], 5).tolist(),
        "current_a": np.round(found.current_a[rows], 4).tolist(),
    }


def write_cache(say: Callable[[str], object] = print) -> None:
    """Solve every profile, write it, and say what was found."""
    DATA.mkdir(exist_ok=True)
    for name in PROFILES:
        record = to_record(name, solve_profile(name))
        cache_path(name).write_text(json.dumps(record) + "\n", encoding="utf-8")
        say(f"{name:16s} {record['end_charge_c'] / 3600:8.3f} Ah {record['end_energy_j'] / 3600:8.1f} Wh "
            f"{record['end_time_s']:10.1f} s  {record['ended_by']}, {len(record['time_s'])} rows")


if __name__ == "__main__":
    write_cache()
