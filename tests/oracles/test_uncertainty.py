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
from scipy.stats import t as student

from planner.record.instrument import combine, effective_degrees_of_freedom, standard_uncertainty

# JCGM 100:2008 table H.2: five simultaneous readings of V [V], I [A], phase [rad]
VOLTS = np.array([5.007, 4.994, 5.005, 4.990, 4.999])
AMPERES = np.array([19.663, 19.639, 19.640, 19.685, 19.678]) * 1e-3
PHASES = np.array([1.0456, 1.0438, 1.0468, 1.0428, 1.0433])


def test_product_of_three_has_the_published_uncertainty_and_degrees():
    # JCGM 100:2008 G.4.1 example: 0.25, 0.57, 0.82 % with 9, 4, 14 degrees; printed 1.03 %, 19.0, 2.09, 2.2 %
    parts, degrees = [0.25, 0.57, 0.82], [9, 4, 14]
    combined = combine(parts)
    freedom = effective_degrees_of_freedom(parts, degrees)
    assert combined == pytest.approx(1.03, abs=0.005)
    assert freedom == pytest.approx(19.0, abs=0.05)
    factor = student.ppf(0.975, freedom)
    assert factor == pytest.approx(2.09, abs=0.005)
    assert factor * combined == pytest.approx(2.2, abs=0.05)


def test_degrees_of_freedom_agree_with_two_libraries():
    parts, degrees = [0.25, 0.57, 0.82], [9, 4, 14]
    ours = effective_degrees_of_freedom(parts, degrees)
    by_gtc = sum(GTC.ureal(0.0, u, df) for u, df in zip(parts, degrees, strict=True))
    by_metrolopy = sum(
        (metrolopy.gummy(0.0, u=u, dof=df) for u, df in zip(parts, degrees, strict=True)),
        metrolopy.gummy(0.0),
    )
    # 1e-12: the same closed form in double precision
    assert ours == pytest.approx(by_gtc.df, rel=1e-12)
    assert ours == pytest.approx(by_metrolopy.dof, rel=1e-12)
    assert combine(parts) == pytest.approx(by_gtc.u, rel=1e-12)


def test_end_gauge_has_the_published_uncertainty():
    # JCGM 100:2008 H.1: 25, 9.7, 2.9, 16.6 nm; printed u_c 32 nm, 16.7 degrees
    parts = [25.0, 9.7, 2.9, 16.6]
    assert combine(parts) == pytest.approx(32.0, abs=0.5)
    # 0.1: the printed 16.7 comes from u_c rounded to 32 nm and back
    assert effective_degrees_of_freedom(parts, [18, 25.6, 50, 2]) == pytest.approx(16.7, abs=0.1)
    # H.1.3.2: difference from 5.8, 3.9 and 6.7 nm is 9.7 nm, 25.6 degrees from 24, 5 and 8
    assert combine([5.8, 3.9, 6.7]) == pytest.approx(9.7, abs=0.05)
    # 0.2: the printed 25.6 has the rounded 9.7 nm in its numerator; 9.6819 nm gives 25.447
    freedom = effective_degrees_of_freedom([5.8, 3.9, 6.7], [24, 5, 8])
    assert freedom == pytest.approx(25.6, abs=0.2)
    assert freedom * (9.7 / combine([5.8, 3.9, 6.7])) ** 4 == pytest.approx(25.6, abs=0.05)


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


def test_exactly_known_inputs_leave_infinite_degrees():
    assert effective_degrees_of_freedom([1.0, 2.0], [math.inf, math.inf]) == math.inf
    assert effective_degrees_of_freedom([1.0, 0.0], [5.0, math.inf]) == pytest.approx(5.0)
