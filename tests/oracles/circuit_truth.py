"""Independent solutions of the battery circuit, slow and careful: yardsticks for the batched engine.

Three of them, sharing no code with the planner:

* `lsoda_run`: the planner's equations (two-state gap, one RC pair, heat, cold law) one scenario at a time
  by scipy's LSODA (A. C. Hindmarsh, ODEPACK, 1983; L. R. Petzold, SIAM J. Sci. Stat. Comput. 4 (1983) 136);
* `library_run`: the Thevenin circuit with diffusion element of the library PyBaMM, on a fine grid,
  isothermal (the element: Fan et al., Applied Energy 321 (2022) 119336);
* `diffusion_run`: the same partial differential equation by method of lines written here.

    V = U(x) - I R0(T) - v1,   x = (z - s - (1 - g)) / g
    dz/dt = -I/Q;   ds_i/dt = (k_i I/Q - s_i)/tau_i;   dv1/dt = (I R1(T) - v1)/tau1
    C dT/dt = I (U(z) - V) - G (T - T_ambient)
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from itertools import chain, repeat
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from tests.oracles.pieces import LoadPiece

Floats = NDArray[np.float64]

GAS_CONSTANT = 8.314462618  # J/(mol K), CODATA 2018
LONGEST_S = 1.0e7  # no run lasts longer


@dataclass(frozen=True, slots=True)
class CircuitParameters:
    """Numbers of one pack, all at its terminals.

    ocv_z, ocv_v : (m,) open-circuit curve, straight lines between [fraction, V]; z from 0 to 1.
    q_c : charge from full to empty at the reference temperature [C].
    r_lead_ohm : leads and switch, metal [ohm], at lead_ref_k, rising by lead_alpha_per_k (0 unless given;
    copper 0.00393, IEC 60028).
    r_cell_ohm, r1_ohm : cell part and RC pair [ohm], at t_ref_k, Arrhenius with activation_j_per_mol.
    tau1_s : of the RC pair. tau_d_s : of diffusion, Arrhenius with tau_d_activation_j_per_mol; 0 = no gap.
    heat_capacity_j_per_k : infinite = isothermal. conductance_w_per_k : to the air.
    g_temps_k, g_values : usable fraction of q_c against cell temperature, straight lines, held at the ends.
    cutoff_v : of the pack [V]; the run ends when its voltage falls to it, or when x reaches 0.
    """

    ocv_z: Sequence[float]
    ocv_v: Sequence[float]
    q_c: float
    r_lead_ohm: float = 0.0
    r_cell_ohm: float = 0.0
    r1_ohm: float = 0.0
    tau1_s: float = 30.0
    tau_d_s: float = 0.0
    activation_j_per_mol: float = 0.0
    t_ref_k: float = 298.15
    lead_alpha_per_k: float = 0.0
    lead_ref_k: float = 293.15
    tau_d_activation_j_per_mol: float = 0.0
    heat_capacity_j_per_k: float = math.inf
    conductance_w_per_k: float = 0.0
    g_temps_k: Sequence[float] = (298.15,)
    g_values: Sequence[float] = (1.0,)
    cutoff_v: float = 10.0

    def lead_ohm(self, t_k: float) -> float:
        """Leads and switch at their temperature [ohm]."""
        return self.r_lead_ohm * (1.0 + self.lead_alpha_per_k * (t_k - self.lead_ref_k))


@dataclass(frozen=True, slots=True)
class CircuitRun:
    """How a run went.

    ended_by : "cutoff", "empty" (x reached 0), "power" (cannot be served) or "end" (loads ran out).
    runtime_s, charge_c, energy_j : until then. final_k : cell temperature.
    time_s, voltage_v : (n,) where asked for, else empty.
    """

    ended_by: str
    runtime_s: float
    charge_c: float
    energy_j: float
    final_k: float
    time_s: Floats = field(default_factory=lambda: np.empty(0))
    voltage_v: Floats = field(default_factory=lambda: np.empty(0))


class PiecewiseLine:
    """Straight lines between points, fast for single numbers; the end lines go on outside."""

    def __init__(self, x: Sequence[float], y: Sequence[float]) -> None:
        self.x, self.y = [float(v) for v in x], [float(v) for v in y]
        self.slope = [(b - a) / (q - p) for p, q, a, b in
                      zip(self.x[:-1], self.x[1:], self.y[:-1], self.y[1:], strict=True)]

    def __call__(self, at: float) -> float:
        """Value at one point; outside, along the nearest line."""
        low, high = 0, len(self.slope)
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if at >= self.x[middle] else (low, middle)
        return self.y[low] + (at - self.x[low]) * self.slope[low]


def gap_states(tau_d_s: float) -> tuple[float, float, float, float]:
    """k1, tau1, k2, tau2 [s] of the diffusion gap in two states (hand derivation, see the test beside).

    The slowest mode of the exact series is kept whole; the second state carries the steady rest of it
    and its first moment in time.
    """
    tau1, k1 = tau_d_s / math.pi**2, 2.0 * tau_d_s / math.pi**2
    k2 = tau_d_s / 3.0 - k1
    return k1, tau1, k2, (tau_d_s**2 / 45.0 - k1 * tau1) / k2


def served(open_v: float, r0_ohm: float, load: LoadPiece) -> tuple[float, float]:
    """Current [A] the loads draw from open_v behind r0_ohm, and what is left under the root.

    The second number falls below 0 where the power asked for cannot be delivered (then the current
    is that of the largest power that can).
    """
    share = 1.0 + r0_ohm * load.conductance_s
    volts, ohms = (open_v - r0_ohm * load.current_a) / share, r0_ohm / share
    root2 = volts * volts - 4.0 * (ohms + load.wiring_ohm) * load.power_w
    power_a = 2.0 * load.power_w / (volts + math.sqrt(max(root2, 0.0))) if load.power_w else 0.0
    terminal = volts - ohms * power_a
    return load.current_a + load.conductance_s * terminal + power_a, root2


class _Circuit:
    """The planner's equations for one scenario; state z, s1, s2, v1, T, energy."""

    def __init__(self, p: CircuitParameters, ambient_k: float) -> None:
        self.p, self.ambient_k = p, ambient_k
        self.curve = PiecewiseLine(p.ocv_z, p.ocv_v)
        self.gap = gap_states(p.tau_d_s) if p.tau_d_s else None
        self.isothermal = math.isinf(p.heat_capacity_j_per_k)

    def at_temperature(self, t_k: float) -> tuple[float, float, float, float]:
        """R0, R1 [ohm], slowing factor of diffusion, usable fraction g."""
        p = self.p
        inverse = (1.0 / t_k - 1.0 / p.t_ref_k) / GAS_CONSTANT
        chemical = math.exp(p.activation_j_per_mol * inverse)
        slower = math.exp(p.tau_d_activation_j_per_mol * inverse)
        g = float(np.interp(t_k, p.g_temps_k, p.g_values)) if len(p.g_temps_k) > 1 else p.g_values[0]
        return p.lead_ohm(t_k) + p.r_cell_ohm * chemical, p.r1_ohm * chemical, slower, g

    def now(self, state: Floats, load: LoadPiece) -> tuple[float, float, float, float]:
        """Current [A], terminal voltage [V], x, and what is left under the root of the power."""
        z, s1, s2, v1, t_k = (float(v) for v in state[:5])
        r0, _, _, g = self.at_temperature(t_k)
        x = (z - s1 - s2 - (1.0 - g)) / g
        behind = self.curve(x) - v1
        current, root2 = served(behind, r0, load)
        return current, behind - current * r0, x, root2

    def slopes(self, _: float, state: Floats, load: LoadPiece) -> list[float]:
        p = self.p
        z, s1, s2, v1, t_k = (float(v) for v in state[:5])
        current, volts, _, _ = self.now(state, load)
        _, r1, slower, _ = self.at_temperature(t_k)
        per_s = current / p.q_c
        ds1 = ds2 = warming = 0.0
        if self.gap:
            k1, tau1, k2, tau2 = self.gap
            ds1 = (k1 * slower * per_s - s1) / (tau1 * slower)
            ds2 = (k2 * slower * per_s - s2) / (tau2 * slower)
        if not self.isothermal:
            heat = current * (self.curve(z) - volts) - p.conductance_w_per_k * (t_k - self.ambient_k)
            warming = heat / p.heat_capacity_j_per_k
        return [-per_s, ds1, ds2, (current * r1 - v1) / p.tau1_s, warming, current * volts]


def _ends(now: Callable[[Floats, LoadPiece], tuple[float, float, float, float]], cutoff_v: float,
          load: LoadPiece) -> list[Callable[..., float]]:
    """Events that stop a piece, in the order of ENDS."""
    def cutoff(_: float, state: Floats) -> float:
        return now(state, load)[1] - cutoff_v

    def empty(_: float, state: Floats) -> float:
        return now(state, load)[2]

    def power(_: float, state: Floats) -> float:
        return now(state, load)[3]

    found = [cutoff, empty, power]
    for event in found:
        event.terminal, event.direction = True, -1  # type: ignore[attr-defined]
    return found


ENDS = ("cutoff", "empty", "power")


def forever(loads: Sequence[LoadPiece]) -> Iterable[LoadPiece]:
    """The loads again and again, for a run that ends by itself."""
    return chain.from_iterable(repeat(tuple(loads)))


@dataclass(slots=True)
class _Walk:
    """Where a run has come to, and what was kept on the way."""

    state: Floats
    clock_s: float = 0.0
    ended: str = "end"
    times: list[Floats] = field(default_factory=list)
    states: list[tuple[LoadPiece, Floats]] = field(default_factory=list)


def _walk(solver: _Circuit | _Diffusion, start: Floats, loads: Iterable[LoadPiece], **options: Any) -> _Walk:
    """LSODA piece by piece, restarted at each load edge, until an event or the end of the loads."""
    walk = _Walk(start)
    for load in loads:
        events = _ends(solver.now, solver.p.cutoff_v, load)
        at_once = [name for name, event in zip(ENDS, events, strict=True) if event(0.0, walk.state) <= 0.0]
        if at_once:
            walk.ended = at_once[0]
            break
        done = solve_ivp(functools.partial(solver.slopes, load=load), (0.0, load.length_s), walk.state,
                         method="LSODA", events=events, **options)
        if not done.success:
            raise RuntimeError(done.message)
        walk.times.append(walk.clock_s + done.t)
        walk.states.append((load, done.y))
        walk.clock_s, walk.state = walk.clock_s + float(done.t[-1]), done.y[:, -1]
        if done.status == 1:
            hits: list[Any] = done.t_events or []
            walk.ended = next(name for name, times in zip(ENDS, hits, strict=True) if times.size)
            break
        if walk.clock_s > LONGEST_S:
            break
    return walk


def lsoda_run(parameters: CircuitParameters, loads: Iterable[LoadPiece], *, soc0: float = 1.0,
              initial_k: float = 298.15, ambient_k: float = 298.15, rtol: float = 1e-8,
              keep: bool = False) -> CircuitRun:
    """Solve the planner's equations by LSODA with a restart at every load edge.

    loads : in order; `forever(...)` repeats them. soc0 : start, rested. initial_k, ambient_k : [K].
    keep : return time and voltage at the solver's own steps.
    The absolute tolerance is 1e-10 of each state's own size (1, 1, 1, 1 V, 100 K, 1 MJ).
    """
    circuit = _Circuit(parameters, ambient_k)
    atol = 1e-10 * np.array([1.0, 1.0, 1.0, 1.0, 100.0, 1e6])
    start = np.array([soc0, 0.0, 0.0, 0.0, initial_k, 0.0])
    walk = _walk(circuit, start, loads, rtol=rtol, atol=atol)
    z, t_k, energy = (float(walk.state[i]) for i in (0, 4, 5))
    run = CircuitRun(walk.ended, walk.clock_s, (soc0 - z) * parameters.q_c, energy, t_k)
    if not keep:
        return run
    volts = [circuit.now(column, load)[1] for load, states in walk.states for column in states.T]
    return replace(run, time_s=np.concatenate(walk.times), voltage_v=np.array(volts))


def lsoda_runtime(parameters: CircuitParameters, loads: Iterable[LoadPiece], **kwargs: Any) -> float:
    """Runtime [s] of `lsoda_run`; same keywords."""
    return lsoda_run(parameters, loads, **kwargs).runtime_s


class _Diffusion:
    """The diffusion element on equal spacing with a node on the surface; state z (n,), v1, energy."""

    def __init__(self, p: CircuitParameters, nodes: int) -> None:
        self.p, self.nodes = p, nodes
        self.dx = 1.0 / (nodes - 1)
        self.weights = np.full(nodes, self.dx)
        self.weights[[0, -1]] /= 2.0
        self.curve = PiecewiseLine(p.ocv_z, p.ocv_v)
        self.r0 = p.lead_ohm(p.t_ref_k) + p.r_cell_ohm

    def now(self, state: Floats, load: LoadPiece) -> tuple[float, float, float, float]:
        surface, v1 = float(state[self.nodes - 1]), float(state[self.nodes])
        behind = self.curve(surface) - v1
        current, root2 = served(behind, self.r0, load)
        return current, behind - current * self.r0, surface, root2

    def slopes(self, _: float, state: Floats, load: LoadPiece) -> Floats:
        p = self.p
        current, volts, _, _ = self.now(state, load)
        flow = np.zeros(self.nodes + 1)  # towards the surface, through each face; none at the centre
        flow[1:-1] = -np.diff(state[: self.nodes]) / (self.dx * p.tau_d_s)
        flow[-1] = current / p.q_c
        change = np.empty_like(state)
        change[: self.nodes] = -np.diff(flow) / self.weights
        change[self.nodes] = (current * p.r1_ohm - state[self.nodes]) / p.tau1_s
        change[self.nodes + 1] = current * volts
        return change


def diffusion_run(parameters: CircuitParameters, loads: Iterable[LoadPiece], *, soc0: float = 1.0,
                  nodes: int = 201, rtol: float = 1e-8) -> CircuitRun:
    """The circuit with the diffusion equation itself, isothermal at t_ref_k, by method of lines and LSODA.

    Needs tau_d_s > 0. A node sits on the surface, so no voltage is extrapolated; error falls as 1/nodes^2.
    """
    solver = _Diffusion(parameters, nodes)
    start = np.append(np.full(nodes, soc0), [0.0, 0.0])
    atol = np.append(np.full(nodes + 1, 1e-10), 1e-4)
    walk = _walk(solver, start, loads, rtol=rtol, atol=atol, lband=2, uband=2)
    mean = float(solver.weights @ walk.state[:nodes])
    return CircuitRun(walk.ended, walk.clock_s, (soc0 - mean) * parameters.q_c, float(walk.state[-1]),
                      parameters.t_ref_k)


def _library_model(parameters: CircuitParameters) -> Any:
    """The library's circuit, driven by the loads of a LoadPiece, ending as the planner's does."""
    import pybamm

    model = pybamm.equivalent_circuit.Thevenin(
        options={"diffusion element": "true" if parameters.tau_d_s else "false"}, build=False)

    def residual(variables: Any) -> Any:
        volts, power = variables["Voltage [V]"], pybamm.InputParameter("power")
        behind = volts**2 - 4 * pybamm.InputParameter("wiring") * power
        asked = (pybamm.InputParameter("current") + pybamm.InputParameter("conductance") * volts
                 + 2 * power / (volts + behind**0.5))
        return variables["Current [A]"] - asked

    model.submodels["external circuit"] = pybamm.external_circuit.FunctionControl(
        model.param, residual, model.options, control="algebraic")
    model.build_model()
    # Its own events stop a run that starts full, and one whose surface fills up.
    model.events = [pybamm.Event("cutoff", model.variables["Voltage [V]"] - parameters.cutoff_v),
                    pybamm.Event("empty", model.variables["Surface SoC"])]
    return model


def _library_values(p: CircuitParameters, soc0: float) -> Any:
    import pybamm

    def curve(z: Any) -> Any:
        return pybamm.Interpolant(np.asarray(p.ocv_z, float), np.asarray(p.ocv_v, float), z)  # straight lines

    values = pybamm.ParameterValues("ECM_Example")
    values.update({
        "Initial SoC": soc0,
        "Cell capacity [A.h]": p.q_c / 3600.0, "Nominal cell capacity [A.h]": p.q_c / 3600.0,
        "Open-circuit voltage [V]": curve, "R0 [Ohm]": p.lead_ohm(p.t_ref_k) + p.r_cell_ohm,
        "R1 [Ohm]": p.r1_ohm, "C1 [F]": p.tau1_s / p.r1_ohm, "Entropic change [V/K]": 0.0,
        "Upper voltage cut-off [V]": 1000.0, "Lower voltage cut-off [V]": 0.0})
    values.update({"Diffusion time constant [s]": p.tau_d_s}, check_already_exists=False)
    return values


def library_run(parameters: CircuitParameters, loads: Iterable[LoadPiece], *, soc0: float = 1.0,
                points: int = 200, tolerance: float = 1e-8) -> CircuitRun:
    """The circuit of the library PyBaMM, diffusion element on `points` volumes, isothermal at t_ref_k.

    Needs r1_ohm > 0. Loads that cannot be served stop the library's solver: not for those.
    """
    import pybamm

    pybamm.set_logging_level("ERROR")
    model = _library_model(parameters)
    grid = dict.fromkeys(model.default_var_pts, points)  # its text key is not found
    simulation = pybamm.Simulation(model, parameter_values=_library_values(parameters, soc0), var_pts=grid,
                                   solver=pybamm.IDAKLUSolver(rtol=tolerance, atol=tolerance))
    solution: Any = None
    for load in loads:
        inputs = {"current": load.current_a, "power": load.power_w, "conductance": load.conductance_s,
                  "wiring": load.wiring_ohm}
        solution = (simulation.solve([0.0, load.length_s], inputs=inputs) if solution is None else
                    simulation.step(load.length_s, inputs=inputs, starting_solution=solution))
        if solution.termination.startswith("event"):
            break
    ended = str(solution.termination).removeprefix("event: ")
    ended = ended if ended in ENDS else "end"
    volts, amps, z = (np.asarray(solution[name].entries) for name in ("Voltage [V]", "Current [A]", "SoC"))
    times = np.asarray(solution.t)
    return CircuitRun(ended, float(times[-1]), (soc0 - float(z[-1])) * parameters.q_c,
                      float(np.trapezoid(volts * amps, times)), parameters.t_ref_k, times, volts)


def runtime_s(parameters: CircuitParameters, loads: Iterable[LoadPiece], **kwargs: Any) -> float:
    """Runtime [s] of the library's circuit with its diffusion element (`library_run`; same keywords)."""
    return library_run(parameters, loads, **kwargs).runtime_s
