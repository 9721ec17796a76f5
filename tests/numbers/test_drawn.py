"""A part of the drawn outings; the whole is python -m tests.numbers.laws and python -m tests.numbers.against_lsoda."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.battery.fit import fit_record
from planner.errors import InputRefused
from planner.library.place import DEMO
from planner.record.reader import read_record
from tests.fuzz.mutations import one_number
from tests.numbers.against_lsoda import ALLOWED as ALLOWED_RUNTIME
from tests.numbers.against_lsoda import compared
from tests.numbers.laws import ALLOWED, Kept, kept

DRAWS = 1000  # a tenth of the whole
OUTINGS = 12
SEED = 4
RECORDS = sorted((DEMO / "batteries").glob("*.toml"))


@pytest.mark.parametrize("law", ALLOWED)
def test_the_engine_keeps_its_laws_on_drawn_outings(law: str, laws: dict[str, Kept]) -> None:
    print(laws[law])
    assert laws[law].holds, laws[law].where


@pytest.fixture(scope="module")
def laws() -> dict[str, Kept]:
    return kept(DRAWS, SEED)


@pytest.mark.slow
def test_runtime_and_energy_of_drawn_outings_are_those_of_the_one_by_one_solution() -> None:
    found = [compared(number, SEED) for number in range(OUTINGS)]
    inner = [one for one in found if not one.edge]
    worst = max(inner, key=lambda one: one.off)
    print(
        f"worst of {len(inner)}: number {worst.number}, runtime {worst.runtime:+.1e}, energy {worst.energy:+.1e}"
    )
    assert len(inner) > OUTINGS // 2
    assert worst.off <= ALLOWED_RUNTIME


@settings(max_examples=25, derandomize=True)
@given(seed=st.integers(0, 10_000), path=st.sampled_from(RECORDS))
def test_no_fit_gives_a_resistance_or_a_charge_below_zero(
    seed: int, path: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Records with a number or three changed, as far as their reader takes them."""
    rng, text = random.Random(seed), path.read_text(encoding="utf-8")
    for _ in range(rng.choice((1, 2, 3))):
        text = one_number(rng, text)
    changed = tmp_path_factory.mktemp("record") / "unit.toml"
    changed.write_text(text.replace('log = "../logs/', f'log = "{DEMO}/logs/'), encoding="utf-8")
    try:
        fitted = fit_record(read_record(changed))
    except InputRefused:
        return
    spread = np.linalg.cholesky(fitted.covariance + 1e-18 * np.eye(len(fitted.centre)))
    circuit = fitted.circuit(
        fitted.centre + np.random.default_rng(seed).normal(size=(50, len(fitted.centre))) @ spread.T
    )
    for name in (
        "charge_c",
        "metal_ohm",
        "cell_ohm",
        "pair_ohm",
        "pair_tau_s",
        "diffusion_tau_s",
        "gap_lag",
        "heat_capacity_j_per_k",
    ):
        values = getattr(circuit, name)
        assert np.isfinite(values).all(), name
        assert (values >= 0.0).all(), name
    assert (circuit.charge_c > 0.0).all()
