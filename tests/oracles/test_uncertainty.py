"""Combination of uncertainties against the worked examples of the GUM and three libraries.

Published numbers of JCGM 100:2008 annexes G and H and of JCGM 101:2008 clause 9.2, from open test
suites that quote them. Libraries: GTC, metrolopy, uncertainties, scipy.
"""

from __future__ import annotations

import math

import GTC
import metrolopy
import numpy as np
import pytest
import uncertainties
import uncertainties.umath

from planner.record.instrument import combine, standard_uncertainty

# JCGM 100:2008 table H.2: five simultaneous readings of V [V], I [A], phase [rad]
VOLTS = np.array([5.007, 4.994, 5.005, 4.990, 4.999])
AMPERES = np.array([19.663, 19.639, 19.640, 19.685, 19.678]) * 1e-3
PHASES = np.array([1.0456, 1.0438, 1.0468, 1.0428, 1.0433])


def test_product_of_three_has_the_published_uncertainty():
    # JCGM 100:2008 G.4.1 example: 0.25, 0.57, 0.82 %; printed 1.03 %
    parts = [0.25, 0.57, 0.82]
    assert combine(parts) == pytest.approx(1.03, abs=0.005)
    by_gtc = sum(GTC.ureal(0.0, u) for u in parts)
    by_metrolopy = sum((metrolopy.gummy(0.0, u=u) for u in parts), metrolopy.gummy(0.0))
    # 1e-12: the same closed form in double precision
    assert combine(parts) == pytest.approx(by_gtc.u, rel=1e-12)
    assert combine(parts) == pytest.approx(by_metrolopy.u, rel=1e-12)


def test_end_gauge_has_the_published_uncertainty():
    # JCGM 100:2008 H.1: 25, 9.7, 2.9, 16.6 nm; printed u_c 32 nm
    assert combine([25.0, 9.7, 2.9, 16.6]) == pytest.approx(32.0, abs=0.5)
    # H.1.3.2: difference from 5.8, 3.9 and 6.7 nm is 9.7 nm
    assert combine([5.8, 3.9, 6.7]) == pytest.approx(9.7, abs=0.05)


def impedance_gradients() -> dict[str, np.ndarray]:
    """Sensitivities to V, I and phase: by hand, R = V/I cos, X = V/I sin, Z = V/I."""
    v, i, phase = VOLTS.mean(), AMPERES.mean(), PHASES.mean()
    z, cos, sin = v / i, math.cos(phase), math.sin(phase)
    return {
        "R": np.array([cos / i, -z * cos / i, -z * sin]),
        "X": np.array([sin / i, -z * sin / i, z * cos]),
        "Z": np.array([1 / i, -z / i, 0.0]),
    }


def test_correlated_readings_give_the_published_uncertainties():
    # JCGM 100:2008 H.2 table H.4: u(R) 0.071, u(X) 0.295, u(Z) 0.236 ohm
    readings = np.vstack([VOLTS, AMPERES, PHASES])
    standards = readings.std(axis=1, ddof=1) / math.sqrt(5)
    correlation = np.corrcoef(readings)
    ours = {name: combine(row * standards, correlation) for name, row in impedance_gradients().items()}
    assert ours["R"] == pytest.approx(0.071, abs=0.0005)
    # The printed 0.295 is cut, not rounded: exact arithmetic gives 0.2956
    assert ours["X"] == pytest.approx(0.295, abs=0.001)
    assert ours["Z"] == pytest.approx(0.236, abs=0.0005)

    v, i, phase = uncertainties.correlated_values(
        readings.mean(axis=1), np.outer(standards, standards) * correlation
    )
    from_library = {
        "R": v / i * uncertainties.umath.cos(phase),
        "X": v / i * uncertainties.umath.sin(phase),
        "Z": v / i,
    }
    for name, oracle in from_library.items():
        # 1e-8: the library passes the correlated inputs through an eigenvalue decomposition
        assert ours[name] == pytest.approx(oracle.s, rel=1e-8)


def test_leaving_the_correlation_out_is_wrong_both_ways():
    # Hand calculation on the same readings: 2.7 times too large for R, 1.5 times too small for X
    readings = np.vstack([VOLTS, AMPERES, PHASES])
    standards = readings.std(axis=1, ddof=1) / math.sqrt(5)
    without = {name: combine(row * standards) for name, row in impedance_gradients().items()}
    assert without["R"] / 0.071071 == pytest.approx(2.7, abs=0.05)
    assert 0.295582 / without["X"] == pytest.approx(1.5, abs=0.05)


def test_sum_of_four_unit_inputs_agrees_with_sampling():
    # JCGM 101:2008 9.2: u = 2.0. Standard error of s at 1e6 draws is 0.0014; 0.01 is seven of them.
    assert combine([1.0, 1.0, 1.0, 1.0]) == pytest.approx(2.0, rel=1e-12)
    rng = np.random.default_rng(20240101)
    half_width = math.sqrt(3.0)
    assert standard_uncertainty(half_width) == pytest.approx(1.0, rel=1e-12)
    total = rng.uniform(-half_width, half_width, (4, 1_000_000)).sum(axis=0)
    assert total.std() == pytest.approx(combine([standard_uncertainty(half_width)] * 4), abs=0.01)


def test_one_dominant_rectangle_gives_the_published_first_order_interval():
    # JCGM 101:2008 9.2.4: three inputs of u 1 and one of u 10, first order +-19.89 at 95 %
    assert 1.959964 * combine([1.0, 1.0, 1.0, 10.0]) == pytest.approx(19.89, abs=0.005)
