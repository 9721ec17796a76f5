"""Units in series, branches in parallel behind their leads, loads behind the cable: who carries how much.

Kirchhoff's laws for sources behind resistances.
"""

from __future__ import annotations

import math

from planner.compiled import compiled, inlined
from planner.simulate.tables import (
    AMPS,
    CURRENT,
    EMF,
    OHM,
    POWER,
    SIEMENS,
    SOURCE_OHM,
    SPARE,
    VOLTS,
    WIRING_OHM,
    Floats,
)


@inlined
def total_current(emf_v: float, source_ohm: float, s: Floats, demand: int, linear: bool, moment: int) -> float:
    """Current at which source and loads agree; demand, moment : their places in s.

    At the load: V (1 + R G) = E - R (I_c + P / V). A negative root argument, which is noted, means that the power
    cannot be served: the current is then that of the most power there is, at half the voltage; `watch` ends the run.
    """
    ohm = source_ohm + s[WIRING_OHM]
    amps, siemens = s[demand + CURRENT], s[demand + SIEMENS]
    if linear:
        s[moment + SPARE] = math.inf
        if siemens == 0.0:
            return amps  # type: ignore[no-any-return]
        return amps + siemens * (emf_v - ohm * amps) / (1.0 + ohm * siemens)  # type: ignore[no-any-return]
    open_v, share = emf_v - ohm * amps, 1.0 + ohm * siemens
    root = open_v * open_v - 4.0 * share * ohm * s[demand + POWER]
    s[moment + SPARE] = root
    return (emf_v - (open_v + math.sqrt(max(root, 0.0))) / (2.0 * share)) / ohm  # type: ignore[no-any-return]


@inlined
def solve(instants: Floats, lead_ohm: Floats, s: Floats, demand: int, linear: bool, moment: int,
          branch_a: Floats) -> None:  # fmt: skip
    """Terminals of the bank, at moment in s, and current of every branch, under the demand there.

    instants : (u, INSTANTS). Units stand branch by branch.
    """
    branches = len(lead_ohm)
    series = len(instants) // branches
    if branches > 1:
        _solve_bank(instants, lead_ohm, s, demand, linear, moment, branch_a)
        return
    emf, ohm = 0.0, lead_ohm[0]
    for u in range(series):
        emf += instants[u, EMF]
        ohm += instants[u, OHM]
    total = total_current(emf, ohm, s, demand, linear, moment)
    s[moment + AMPS], s[moment + VOLTS], s[moment + SOURCE_OHM] = total, emf - total * ohm, ohm
    branch_a[0] = total


@compiled
def _solve_bank(instants: Floats, lead_ohm: Floats, s: Floats, demand: int, linear: bool, moment: int,
                branch_a: Floats) -> None:  # fmt: skip
    series = len(instants) // len(lead_ohm)
    weighted, siemens = 0.0, 0.0
    for b in range(len(lead_ohm)):
        emf, ohm = _branch(instants, lead_ohm, b, series)
        weighted += emf / ohm
        siemens += 1.0 / ohm
    emf, ohm = weighted / siemens, 1.0 / siemens
    total = total_current(emf, ohm, s, demand, linear, moment)
    volts = emf - total * ohm
    s[moment + AMPS], s[moment + VOLTS], s[moment + SOURCE_OHM] = total, volts, ohm
    for b in range(len(lead_ohm)):
        emf, ohm = _branch(instants, lead_ohm, b, series)
        branch_a[b] = (emf - volts) / ohm


@compiled
def _branch(instants: Floats, lead_ohm: Floats, b: int, series: int) -> tuple[float, float]:
    """Voltage and resistance of one branch."""
    emf, ohm = 0.0, lead_ohm[b]
    for u in range(b * series, (b + 1) * series):
        emf += instants[u, EMF]
        ohm += instants[u, OHM]
    return emf, ohm
