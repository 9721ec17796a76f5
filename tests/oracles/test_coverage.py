"""A small seeded part of the coverage study; the whole is `python -m tests.oracles.coverage --units 400`."""

from __future__ import annotations

import numpy as np
import pytest

from planner.battery.fit import fit_record
from planner.battery.prior import CHARGE_MODEL
from planner.record.instrument import charge_uncertainty
from planner.record.schema import Record
from tests.oracles.coverage import Answer, answers_of, count, errors, gather
from tests.oracles.invented_units import COLD, HOLDOUTS, circuit_units
from tests.oracles.test_physics_truth_prediction import full_discharge

UNITS, SEED = 24, 5


@pytest.fixture(scope="module")
def answers() -> list[Answer]:
    return answers_of(circuit_units(UNITS, SEED, HOLDOUTS), HOLDOUTS, SEED)


@pytest.mark.slow
@pytest.mark.parametrize("question", ["tested unit", "another unit"])
def test_four_intervals_in_five_hold_the_truth(answers: list[Answer], question: str) -> None:
    found = gather(answers, len(HOLDOUTS))[question]
    print(f"{question}: {found.overall:.1%} ± {found.spread:.1%}, mean width {found.width.mean():.2%}")
    # the stated target is 80 ± 5 %; so few units add their own three standard errors
    assert abs(found.overall - 0.8) < 0.05 + 3.0 * found.spread


@pytest.mark.slow
def test_steady_holdouts_are_missed_by_less_than_one_and_a_half_per_cent_rms(answers: list[Answer]) -> None:
    steady = [k for k, holdout in enumerate(HOLDOUTS) if holdout.name.startswith("steady")]
    rms = float(np.sqrt((errors(answers, "nominal_s")[:, steady] ** 2).mean()))
    plain = float(np.sqrt((errors(answers, "fixed_resistance_s")[:, steady] ** 2).mean()))
    law = float(np.sqrt((errors(answers, "rate_law_s")[:, steady] ** 2).mean()))
    print(f"model {rms:.2%}, fixed resistance {plain:.2%}, rate law {law:.2%}")
    assert rms < 0.015
    assert rms < min(plain, law)


def test_one_discharge_counts_once() -> None:
    """The charge of the only discharge is known to its own uncertainty, not to less."""
    test = full_discharge("steady_20A", "capacity_test.1")
    found = fit_record(Record(name="One discharge (invented)", mass_kg=11.2, capacity_tests=(test,)))
    place = found.plan.names.index("charge_factor")
    # by hand: the reading and the circuit's miss of it, and the miss of the next discharge once more
    by_hand = np.sqrt(charge_uncertainty(test) ** 2 + 2.0 * CHARGE_MODEL**2)
    # no less: the reading would have counted twice. A little more: sag and gap at the discharge's end, known from
    # the prior alone, are written down in closed form and fitted step by step, and differ by up to 0.3 % of charge
    assert by_hand * 0.99 < np.sqrt(found.covariance[place, place]) < np.hypot(by_hand, 0.003)


def test_counting_by_hand() -> None:
    truth = np.array([[1.0, 2.0], [1.0, 2.0]])
    band = np.array([[[0.9, 1.1], [2.1, 2.3]], [[0.9, 1.1], [1.9, 2.1]]])
    found = count(truth, band, np.array([[1.0, 2.0], [1.1, 2.0]]))
    assert found.covered.tolist() == [1.0, 0.5]
    assert found.overall == 0.75
    assert found.width == pytest.approx([0.2, 0.1])


def test_the_cold_holdout_is_colder_than_every_test_of_the_bench() -> None:
    assert COLD.cell_k < min(test.at.cell_k for unit in circuit_units(1, SEED, (COLD,)) for test in unit.record.capacity_tests)
