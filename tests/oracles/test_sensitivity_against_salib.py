"""First-order shares of variance against SALib: on the function of Ishigami and Homma (1990), and on the engine.

The function's own shares are closed-form (Saltelli et al., Global Sensitivity Analysis, 2008, from memory).
"""

from __future__ import annotations

import warnings
from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtri

from planner.battery.draws import with_units
from planner.battery.fit import fit_record
from planner.battery.prior import UNIT_SPREAD_CHARGE
from planner.outing.schema import Load, Use
from planner.verdict.batch import run_batch, run_scenarios
from planner.verdict.sensitivity import find_sensitivity
from planner.verdict.variance_share import variance_share
from tests.verdict.invented_records import UNIT, need

with warnings.catch_warnings():  # of its own imports
    warnings.simplefilter("ignore")
    from SALib.analyze import rbd_fast, sobol
    from SALib.sample import sobol as sobol_sample

A, B = 7.0, 0.1


def ishigami(x):
    return np.sin(x[:, 0]) + A * np.sin(x[:, 1]) ** 2 + B * x[:, 2] ** 4 * np.sin(x[:, 0])


def exact_shares():
    whole = A**2 / 8.0 + B * np.pi**4 / 5.0 + B**2 * np.pi**8 / 18.0 + 0.5
    return 0.5 * (1.0 + B * np.pi**4 / 5.0) ** 2 / whole, A**2 / 8.0 / whole, 0.0


PROBLEM = {"num_vars": 3, "names": ["x1", "x2", "x3"], "bounds": [[-np.pi, np.pi]] * 3}


def test_shares_of_the_ishigami_function():
    """Closed form 0.314, 0.442, 0. Chance: sqrt(2 * 141) / 20,000 is below 0.001; the groups' width adds 0.005."""
    x = np.random.default_rng(5).uniform(-np.pi, np.pi, (20_000, 3))
    ours = [variance_share(x[:, k], ishigami(x)) for k in range(3)]
    assert ours == pytest.approx(exact_shares(), abs=0.02)
    theirs = rbd_fast.analyze(PROBLEM, x, ishigami(x), seed=1)["S1"]
    assert ours == pytest.approx(theirs, abs=0.02)
    points = sobol_sample.sample(PROBLEM, 4096, calc_second_order=False, seed=1)
    again = sobol.analyze(PROBLEM, ishigami(points), calc_second_order=False, seed=1)["S1"]
    assert ours == pytest.approx(again, abs=0.02)


@pytest.mark.slow
def test_shares_on_the_engine():
    """Every normal that the draws are made of, resampled by SALib; the first of the model's is its first parameter.

    512 base points leave a Sobol share uncertain by about 0.05 (its own confidence), 2,000 draws ours by 0.005.
    """
    outing = replace(need(14.0, 5.0, spread=0.08), loads=(
        Load("motor", "current", (Use(0.0, 18000.0),), "stated", 0.08, current_a=14.0),
        Load("lamp", "power", (Use(0.0, 18000.0),), "stated", 0.25, power_w=60.0),
    ))  # fmt: skip
    fitted = fit_record(UNIT)
    names = fitted.plan.names
    count = 3 + len(names)
    problem = {"num_vars": count, "names": [f"z{k}" for k in range(count)], "bounds": [[0.0, 1.0]] * count}
    z = ndtri(np.clip(sobol_sample.sample(problem, 512, calc_second_order=False, seed=2), 1e-9, 1.0 - 1e-9))
    runtime = _runtimes(outing, fitted, z)
    theirs = sobol.analyze(problem, np.log(runtime), calc_second_order=False, seed=3)["S1"]
    found = {
        one.input.id: one.share for one in find_sensitivity(UNIT, outing, draws=2000, fitted=fitted).swings
    }
    ours = [found["load.1"], found["load.2"], found["unit_charge"], found[names[0]]]
    assert ours == pytest.approx(theirs[:4], abs=0.06)
    assert sum(ours) == pytest.approx(1.0, abs=0.15)


def _runtimes(outing, fitted, z):
    """Runtimes [s] of rows of normals: two loads, charge of the unit, then the model's by the root of its covariance."""
    root = np.linalg.cholesky(fitted.covariance + 1e-18 * np.eye(len(fitted.centre)))
    like = run_batch(UNIT, outing, 1, 1, fitted).scenarios
    theta = np.vstack([fitted.centre, fitted.centre + z[:, 3:] @ root.T])
    whole = np.vstack([np.zeros(z.shape[1]), z])
    charge = (np.sqrt(2.0) * UNIT_SPREAD_CHARGE * whole[:, 2])[np.newaxis, np.newaxis]
    chosen = replace(like, circuit=with_units(fitted.circuit(theta), charge, 0.0 * charge), theta=theta, moved=(),
                     first_draw=1, load_normal=whole[:, :2].T)  # fmt: skip
    batch = run_scenarios(UNIT, outing, fitted, chosen)
    return batch.runtime_s()[batch.draws]
