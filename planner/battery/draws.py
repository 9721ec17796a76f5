"""Draws of a model: what the tested unit may be, and what the buyer's own unit may be.

Parameters are drawn from the fit's normal approximation by Latin hypercube; the buyer's
unit adds the spread between units, on the tested ones and on the buyer's. Row 0 is always the centre: of the
unit tested, or of its kind where several were.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from planner.battery.circuit import Circuit
from planner.battery.fit import Fitted
from planner.battery.kind import Kind

Floats = NDArray[np.float64]

MOVE = 2.0  # standard deviations by which a prior is moved to see whether it decides
MOST_KEPT = 1_000  # draws of a battery kept for its next outing: 6 MB
LOADS, UNITS, MODEL, KIND = 0, 1, 2, 3  # streams of one seed
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
    cube = latin_hypercube(draws, max(dimensions, 1), np.random.default_rng(seed))
    values: Floats = ndtri(np.clip(cube, 1e-9, 1.0 - 1e-9))
    return values[:, :dimensions]


def latin_hypercube(draws: int, dimensions: int, rng: np.random.Generator) -> Floats:
    """(draws, dimensions) numbers in (0, 1]: each of `draws` equal slices holds one number of each dimension.

    Source: McKay, Beckman and Conover, Technometrics 21 (1979) 239 (from memory). The order of the draws from rng is
    that of scipy.stats.qmc.LatinHypercube, whose numbers come out; scipy.stats itself takes a second to import.
    """
    rng = rng.spawn(1)[0]
    inside = rng.uniform(size=(draws, dimensions))
    slices = np.tile(np.arange(1, draws + 1), (dimensions, 1))
    for row in slices:
        rng.shuffle(row)
    cube: Floats = (slices.T - inside) / draws
    return cube


def scenarios(fitted: Fitted, draws: int, seed: int, loads: int, bank: tuple[int, int] = (1, 1),
              unit_seed: int | None = None) -> Scenarios:  # fmt: skip
    """One batch for a fit: centre, moved priors, draws; arrays (branches, series, n) where bank says so.

    Each unit of a bank is a unit of its own, with its own spread. Loads, units and model are three hypercubes with
    generators of their own, so that one seed gives the same loads to every battery, whatever its model has.
    unit_seed : seed of the units and the model where it is not to be that of the loads.
    """
    drawn = _kept_units if draws <= MOST_KEPT else _units
    circuit, theta, moved = drawn(fitted, draws, seed if unit_seed is None else unit_seed, bank)
    load_normal = np.zeros((loads, len(theta)))
    load_normal[:, len(theta) - draws :] = normals(draws, loads, (seed, LOADS)).T
    return Scenarios(circuit, theta, moved, len(theta) - draws, load_normal)


def _units(
    fitted: Fitted, draws: int, seed: int, bank: tuple[int, int]
) -> tuple[Circuit, Floats, tuple[str, ...]]:
    """What of a batch does not depend on the loads: circuits, their parameters, names of the moved."""
    names = fitted.plan.names
    unit_z = normals(draws, 3 * bank[0] * bank[1], (seed, UNITS))
    theta_z = normals(draws, len(names), (seed, MODEL))
    root = np.linalg.cholesky(fitted.covariance + 1e-18 * np.eye(len(names)))
    drawn = fitted.centre + theta_z @ root.T
    moved, rows = _moved(fitted)
    theta = np.vstack([fitted.centre[np.newaxis], *rows, drawn])
    kind_z = normals(draws, 3, (seed, KIND))
    own = unit_z.reshape(draws, *bank, 3)
    return _of_kind(fitted.circuit(theta), fitted.kind, own, kind_z, len(theta) - draws), theta, moved


_kept_units = lru_cache(maxsize=4)(_units)  # one battery is asked about many outings


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


def _of_kind(circuit: Circuit, kind: Kind, unit: Floats, shared: Floats, first: int) -> Circuit:
    """Charge and resistances moved to the kind's centre, and spread from unit to unit in the draws.

    unit : (draws, branches, series, 3) normals of each unit: charge, resistance, charge of the tested ones, which
    counts once. shared : (draws, 3) of a whole draw: resistance of the tested ones, doubt of either spread.
    """
    shape = (*unit.shape[1:3], circuit.charge_c.shape[-1])
    own, resistance, tested = np.moveaxis(unit, 0, -1).transpose(2, 0, 1, 3)
    # the tested units' own place among their kind is one number, shared by all units of a bank
    charge, ohm = np.full(shape, kind.charge.shift), np.full(shape, kind.resistance.shift)
    charge[..., first:] += kind.charge.deviation(own, tested[:1, :1], shared[:, 1])
    ohm[..., first:] += kind.resistance.deviation(resistance, shared[:, 0], shared[:, 2])
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
