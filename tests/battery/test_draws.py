"""What is drawn of loads, of units and of the model."""

from __future__ import annotations

import numpy as np
import pytest

from planner.battery.draws import latin_hypercube, normals, scenarios
from planner.battery.fit import fit_record
from tests.verdict.invented_bench import HALF_SIZE, STURDY, read_unit


@pytest.fixture
def fits(tmp_path):
    return [fit_record(read_unit(tmp_path, text)) for text in (STURDY, HALF_SIZE)]


def test_one_seed_gives_the_same_loads_to_every_battery(fits):
    one, other = (scenarios(fitted, 40, 7, 3) for fitted in fits)
    assert len(fits[0].plan.names) != len(fits[1].plan.names)  # else the test would show nothing
    assert np.array_equal(one.load_normal[:, one.first_draw :], other.load_normal[:, other.first_draw :])


def test_a_bank_sees_the_same_loads_as_one_unit(fits):
    one, bank = scenarios(fits[0], 40, 7, 3), scenarios(fits[0], 40, 7, 3, (2, 2))
    assert np.array_equal(one.load_normal, bank.load_normal)


def test_a_seed_of_its_own_changes_the_unit_and_leaves_the_loads(fits):
    one, other = scenarios(fits[0], 40, 7, 3), scenarios(fits[0], 40, 7, 3, unit_seed=8)
    assert np.array_equal(one.load_normal, other.load_normal)
    drawn = slice(one.first_draw, None)
    assert not np.array_equal(one.circuit.charge_c[..., drawn], other.circuit.charge_c[..., drawn])
    same = scenarios(fits[0], 40, 7, 3, unit_seed=7)
    assert np.array_equal(one.circuit.charge_c, same.circuit.charge_c)


def test_loads_and_units_of_one_seed_are_not_the_same_numbers(fits):
    found = scenarios(fits[0], 400, 7, 1)
    drawn = slice(found.first_draw, None)
    charge = np.log(found.circuit.charge_c[0, 0, drawn])
    # 400 pairs of independent numbers correlate by 0.05 (one standard deviation)
    assert abs(np.corrcoef(found.load_normal[0, drawn], charge)[0, 1]) < 0.2


@pytest.mark.parametrize("draws, dimensions, seed", [(1, 1, 0), (500, 7, 3), (17, 2, (4, 1))])
def test_the_hypercube_is_that_of_scipy(draws, dimensions, seed):
    from scipy.stats import qmc

    theirs = qmc.LatinHypercube(d=dimensions, rng=np.random.default_rng(seed)).random(draws)
    assert np.array_equal(latin_hypercube(draws, dimensions, np.random.default_rng(seed)), theirs)


def test_normals_are_spread_evenly():
    """One of a hundred draws lies in each hundredth of the normal distribution: that is the Latin hypercube."""
    from scipy.special import ndtr

    values = normals(100, 4, 5)
    for column in values.T:
        assert np.array_equal(np.sort((ndtr(column) * 100).astype(int)), np.arange(100))
