"""Draws of a model: what the tested unit may be, and what the buyer's own unit may be.

Parameters are drawn from the fit's normal approximation by Latin hypercube (scipy.stats.qmc); the buyer's
unit adds the spread between units, on the tested and on the buyer's. Row 0 is always the centre.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri
from scipy.stats import qmc

from planner.battery.circuit import Circuit
from planner.battery.fit import Fitted
from planner.battery.prior import UNIT_SPREAD_CHARGE, UNIT_SPREAD_RESISTANCE

Floats = NDArray[np.float64]

MOVE = 2.0  # standard deviations by which a prior is moved to see whether it decides
LOADS, UNITS, MODEL = 0, 1, 2  # streams of one seed
NOT_A_PRIOR = ("charge_factor",)  # the instrument's error: evidence, not assumption


@dataclass(frozen=True, slots=True)
class Scenarios:
    """Circuits of one batch: column 0 the centre, then the moved priors, then the draws.

    theta : (n, names). moved : names of the parameters moved, two columns each (down, up), from column 1.
    first_draw : column of the first draw. load_normal : (loads, n) standard normals, 0 outside the draws.
    """

    circuit: Circuit
    theta: Floats
    moved: tuple[str, ...]
    first_draw: int
    load_normal: Floats


def normals(draws: int, dimensions: int, seed: int | tuple[int, ...]) -> Floats:
    """(draws, dimensions) standard normals by Latin hypercube."""
    cube = qmc.LatinHypercube(d=max(dimensions, 1), rng=np.random.default_rng(seed)).random(draws)
    values: Floats = ndtri(np.clip(cube, 1e-9, 1.0 - 1e-9))
    return values[:, :dimensions]


def scenarios(fitted: Fitted, draws: int, seed: int, loads: int, bank: tuple[int, int] = (1, 1),
              unit_seed: int | None = None) -> Scenarios:  # fmt: skip
    """One batch for a fit: centre, moved priors, draws; arrays (branches, series, n) where bank says so.

    Each unit of a bank is a unit of its own, with its own spread. Loads, units and model are three hypercubes with
    generators of their own, so that one seed gives the same loads to every battery, whatever its model has.
    unit_seed : seed of the units and the model where it is not to be that of the loads.
    """
    names = fitted.plan.names
    load_z = normals(draws, loads, (seed, LOADS))
    own = seed if unit_seed is None else unit_seed
    unit_z = normals(draws, 3 * bank[0] * bank[1], (own, UNITS))
    theta_z = normals(draws, len(names), (own, MODEL))
    root = np.linalg.cholesky(fitted.covariance + 1e-18 * np.eye(len(names)))
    drawn = fitted.centre + theta_z @ root.T
    moved, rows = _moved(fitted)
    theta = np.vstack([fitted.centre[np.newaxis], *rows, drawn])
    first = len(theta) - draws
    load_normal = np.zeros((loads, len(theta)))
    load_normal[:, first:] = load_z.T
    circuit = _with_unit_spread(fitted.circuit(theta), unit_z.reshape(draws, *bank, 3), first)
    return Scenarios(circuit, theta, moved, first, load_normal)


def _moved(fitted: Fitted) -> tuple[tuple[str, ...], list[Floats]]:
    """Rows in which one handbook parameter stands two standard deviations off, the others following it."""
    names, rows = [], []
    for k, name in enumerate(fitted.plan.names):
        if fitted.evidence[k] != "handbook" or name in NOT_A_PRIOR:
            continue
        names.append(name)
        column = fitted.covariance[:, k] / np.sqrt(fitted.covariance[k, k])
        rows.append(np.vstack([fitted.centre - MOVE * column, fitted.centre + MOVE * column]))
    return tuple(names), rows


def _with_unit_spread(circuit: Circuit, normal: Floats, first: int) -> Circuit:
    """Charge and resistances of each unit spread; normal : (draws, branches, series, 3)."""
    shape = (*normal.shape[1:3], circuit.charge_c.shape[-1])
    charge, ohm = np.zeros(shape), np.zeros(shape)
    own, resistance, tested = np.moveaxis(normal, 0, -1).transpose(2, 0, 1, 3)
    # the tested unit's own place among its kind is one number, shared by all units of a bank
    charge[..., first:] = UNIT_SPREAD_CHARGE * (own + tested[:1, :1])
    ohm[..., first:] = UNIT_SPREAD_RESISTANCE * resistance
    return with_units(circuit, charge, ohm)


def with_units(circuit: Circuit, log_charge: Floats, log_ohm: Floats) -> Circuit:
    """Circuits whose units differ from the model: logarithms of the factors, (branches, series, n)."""
    more = np.exp(log_ohm)
    return replace(
        circuit,
        charge_c=circuit.charge_c * np.exp(log_charge),
        metal_ohm=circuit.metal_ohm * more,
        cell_ohm=circuit.cell_ohm * more,
        pair_ohm=circuit.pair_ohm * more,
    )
