"""The circuit's laws: the gap's constants, exact exponentials, the cold, what full and warm mean."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.battery.circuit import (
    decay,
    gap_constants,
    reading,
    remaining_cold_fraction,
    warmth,
)
from planner.constants import GAS_CONSTANT
from tests.simulate.invented_packs import LIVELY, circuit_of

CIRCUIT = circuit_of([LIVELY])
SHAPE = (1, 1, 1)


@given(tau=st.floats(1e-3, 1e5))
def test_gap_gains_sum_to_the_steady_gap_and_keep_the_first_moment(tau):
    """Sums of 2/(k pi)^2 and 2/(k pi)^4 over k are 1/3 and 1/45 (Euler)."""
    k_1, tau_1, k_2, tau_2 = gap_constants(tau)
    assert k_1 + k_2 == pytest.approx(tau / 3.0, rel=1e-12)
    assert k_1 * tau_1 + k_2 * tau_2 == pytest.approx(tau**2 / 45.0, rel=1e-12)
    assert 0.0 < tau_2 < tau_1 == pytest.approx(tau / math.pi**2)
    assert k_2 > 0.0


@given(tau=st.floats(10.0, 1e4), factor=st.floats(0.1, 10.0))
def test_gap_constants_scale_with_the_time_constant(tau, factor):
    assert [float(v) for v in gap_constants(factor * tau)] == pytest.approx(
        [factor * float(v) for v in gap_constants(tau)]
    )


@pytest.mark.parametrize(("kj_per_mol", "factors"), [
    (33.80, (11.2878, 6.1317, 3.4831, 2.0592, 1.0, 0.5204)),  # charging, Electrochimica Acta 60 (2012) 269-273
    (40.90, (18.7810, 8.9748, 4.5270, 2.3966, 1.0, 0.4537)),  # discharging, likewise
    (20.0, (4.1961, 2.9243, 2.0926, 1.5333, 1.0, 0.6795)),  # demonstration set of the library PyBaMM
    (25.0, (6.0056, 3.8241, 2.5169, 1.7062, 1.0, 0.6169)),  # hand calculation
])  # fmt: skip
def test_cells_follow_arrhenius_with_published_activation_energies(kj_per_mol, factors):
    pack = dataclasses.replace(LIVELY, activation_j_per_mol=kj_per_mol * 1e3, r_lead_ohm=0.0)
    for celsius, factor in zip((-20, -10, 0, 10, 25, 40), factors, strict=True):
        warm = warmth(circuit_of([pack]), np.full(SHAPE, 273.15 + celsius))
        # four printed decimals, computed by hand from exp[E/R (1/T - 1/298.15 K)]
        assert float(warm.r0_ohm.ravel()[0]) / pack.r_cell_ohm == pytest.approx(factor, abs=6e-5)
        assert float(warm.pair_ohm.ravel()[0]) / pack.r1_ohm == pytest.approx(factor, abs=6e-5)


def test_leads_follow_copper_and_not_arrhenius():
    bare = dataclasses.replace(LIVELY, r_cell_ohm=0.0)
    cold = float(warmth(circuit_of([bare]), np.full(SHAPE, 253.15)).r0_ohm.ravel()[0])
    # copper 0.393 %/K at 20 degC (IEC 60028): 40 K colder, 15.72 % less
    assert cold / bare.r_lead_ohm == pytest.approx(1.0 - 0.00393 * 40.0, rel=1e-12)


@given(span=st.floats(0.1, 4e3), kelvin=st.floats(250.0, 315.0))
def test_what_is_left_after_two_spans_is_the_product(span, kelvin):
    warm = warmth(CIRCUIT, np.full(SHAPE, kelvin))
    once, twice = decay(CIRCUIT, warm, span), decay(CIRCUIT, warm, 2.0 * span)
    for name in ("gap_1", "gap_2", "pair"):
        assert getattr(twice, name) == pytest.approx(getattr(once, name) ** 2, rel=1e-9, abs=1e-15)
    charge = (twice.soc_per_a - twice.gap_1_per_a - twice.gap_2_per_a) * CIRCUIT.charge_c
    assert charge == pytest.approx(2.0 * span, rel=1e-6)  # ampere-seconds per ampere
    assert twice.pair_share == pytest.approx(1.0 - once.pair**2, rel=1e-9, abs=1e-15)


@given(kelvin=st.floats(200.0, 350.0))
def test_full_stays_full_at_every_temperature(kelvin):
    warm = warmth(CIRCUIT, np.full(SHAPE, kelvin))
    assert float(reading(warm, np.ones(SHAPE), np.zeros(SHAPE)).ravel()[0]) == 1.0


@given(cold=st.floats(200.0, 340.0), warmer=st.floats(0.0, 60.0))
def test_usable_part_never_falls_with_warmth_and_never_exceeds_one(cold, warmer):
    low, high = (
        float(remaining_cold_fraction(CIRCUIT, np.full(SHAPE, k)).ravel()[0]) for k in (cold, cold + warmer)
    )
    assert 0.0 < low <= high <= 1.0


def test_usable_part_is_linear_between_tested_temperatures():
    for kelvin in (263.15, 270.0, 280.65, 298.15, 310.0):
        fraction = float(remaining_cold_fraction(CIRCUIT, np.full(SHAPE, kelvin)).ravel()[0])
        assert fraction == pytest.approx(np.interp(kelvin, (263.15, 298.15), (0.82, 1.0)))


@given(soc=st.floats(0.3, 1.0), kelvin=st.floats(260.0, 297.0))
def test_warming_gives_the_charge_back(soc, kelvin):
    """Charge is counted against the warm total: cold moves the reading, not the charge."""
    cold = warmth(CIRCUIT, np.full(SHAPE, kelvin))
    warm = warmth(CIRCUIT, np.full(SHAPE, 298.15))
    here = np.full(SHAPE, soc)
    assert float(reading(cold, here, np.zeros(SHAPE)).ravel()[0]) <= soc + 1e-12
    assert float(reading(warm, here, np.zeros(SHAPE)).ravel()[0]) == pytest.approx(soc, abs=1e-12)


def test_gas_constant_is_the_one_of_the_table():
    assert GAS_CONSTANT == pytest.approx(8.314462618, abs=1e-9)  # CODATA 2018


def test_the_lag_of_the_gap_leaves_its_steady_value_and_stretches_its_time():
    warm = warmth(CIRCUIT, np.full(SHAPE, 298.15))
    lagging = dataclasses.replace(CIRCUIT, gap_lag=np.full(SHAPE, 2.0))
    for time_s in (10.0, 300.0, 1e7):
        slow, plain = decay(lagging, warm, 2.0 * time_s), decay(CIRCUIT, warm, time_s)
        for name in ("gap_1", "gap_2", "gap_1_per_a", "gap_2_per_a"):
            assert getattr(slow, name).item() == pytest.approx(getattr(plain, name).item()), name
