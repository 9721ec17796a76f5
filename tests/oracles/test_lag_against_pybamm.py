"""The battery's lag behind the air against the lumped thermal circuit of an open battery library (PyBaMM).

Its equivalent-circuit model has a cell of one heat capacity behind one conductance; the second lump it puts between
cell and air (a test jig) is made so light and so well coupled that it is the air.
"""

from __future__ import annotations

import numpy as np
import pybamm
import pytest

from planner.winter.cell_temperature import cell_temperatures, hourly_decay

HOUR_S = 3600.0
BARE, BOXED = (11200.0, 2.24), (11200.0, 0.55)  # J/K, W/K: 1.39 h and 5.66 h


@pytest.fixture(scope="module")
def an_hour():
    """Cells after an hour at rest: (start [K], air [K], heat capacity [J/K], conductance [W/K]) -> [K]."""
    values = pybamm.ParameterValues("ECM_Example")
    values.update({
        "Current function [A]": 0.0, "Entropic change [V/K]": 0.0, "Jig thermal mass [J/K]": 1e-3,
        "Jig-air heat transfer coefficient [W/K]": 1e5, "Initial SoC": 0.5, "Initial temperature [K]": "[input]",
        "Ambient temperature [K]": "[input]", "Cell thermal mass [J/K]": "[input]",
        "Cell-jig heat transfer coefficient [W/K]": "[input]",
    })  # fmt: skip
    run = pybamm.Simulation(
        pybamm.equivalent_circuit.Thevenin(),
        parameter_values=values,
        solver=pybamm.CasadiSolver(rtol=1e-9, atol=1e-9),
    )

    def ends_at(start_k, air_k, heat_capacity, conductance):
        done = run.solve([0.0, HOUR_S], inputs={
            "Initial temperature [K]": start_k, "Ambient temperature [K]": air_k,
            "Cell thermal mass [J/K]": heat_capacity, "Cell-jig heat transfer coefficient [W/K]": conductance,
        })  # fmt: skip
        return float(done["Cell temperature [K]"].entries[-1])

    return ends_at


@pytest.mark.parametrize(("heat_capacity", "conductance"), [BARE, BOXED])
def test_a_day_of_swinging_air_held_by_the_hour_gives_the_same_cells(an_hour, heat_capacity, conductance):
    hours = np.arange(24)
    air_k = 271.15 + 7.0 * np.cos(2.0 * np.pi * (hours - 14) / 24.0)
    theirs = [air_k[0]]
    for air in air_k[:-1]:
        theirs.append(an_hour(theirs[-1], air, heat_capacity, conductance))
    ours = cell_temperatures(air_k, hourly_decay(heat_capacity / conductance))
    # the jig's own lag is 1e-8 s; what is left is the solver's tolerance over 23 solutions
    assert ours == pytest.approx(np.array(theirs), abs=2e-3)


def test_a_cold_battery_in_a_warm_room_warms_alike(an_hour):
    theirs, ours = [263.15], [263.15]
    decay = hourly_decay(BARE[0] / BARE[1])
    for _ in range(6):
        theirs.append(an_hour(theirs[-1], 288.15, *BARE))
        ours.append(288.15 + (ours[-1] - 288.15) * decay)
    assert ours == pytest.approx(theirs, abs=2e-3)
