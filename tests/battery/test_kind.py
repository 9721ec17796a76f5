"""Several units of a kind in the fit, its draws and its envelope."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from scipy.stats import norm, t

from planner.battery.draws import scenarios
from planner.battery.envelope import build_envelope, classify
from planner.battery.fit import Fitted, fit_record
from planner.battery.kind import Among, kind_of
from planner.record.schema import Record
from tests.verdict.invented_bench import STURDY, read_unit

DRAWS = 20_000


def with_units(folder, charges_ah, volts=(), more: str = "") -> Record:
    """The sturdy unit and others of these slow charges; volts : what each read at the end of its step."""
    names = []
    for number, charge in enumerate(charges_ah, start=2):
        text = STURDY.replace("invented-1", f"invented-1-{number}").replace('"103.4 Ah"', f'"{charge} Ah"')
        text = text.replace('duration = "18600 s"', f'duration = "{charge * 3600.0 / 20.02:.0f} s"')
        text = text.replace("1341 Wh", f"{charge * 12.97:.1f} Wh").replace('"100.9 Ah"', '"100.8 Ah"')
        if volts:
            text = text.replace("12.735 V", f"{volts[number - 2]} V")
        read_unit(folder, text + more, f"unit{number}.toml")
        names.append(f'"unit{number}.toml"')
    slow_only = (
        STURDY[: STURDY.index('[[capacity_test]]\ncurrent = "100 A"')]
        + STURDY[STURDY.index("[[step_test]]") :]
    )
    return read_unit(
        folder, slow_only.replace("format = 1", f"format = 1\nrepeats = [{', '.join(names)}]", 1)
    )


def log_charge(fitted: Fitted, draws: int = DRAWS) -> np.ndarray:
    """Logarithm of the drawn charge over the kind's centre, the model's own uncertainty taken out."""
    still = dataclasses.replace(fitted, covariance=np.zeros_like(fitted.covariance), evidence=("derived",) * len(fitted.evidence))  # fmt: skip
    found = scenarios(still, draws, 3, 0)
    charge = found.circuit.charge_c[0, 0]
    return np.log(charge[found.first_draw :] / charge[0])


def test_the_centre_is_the_mean_of_the_units_and_the_fit_stays_the_tested_one(tmp_path):
    record = with_units(tmp_path, (101.0, 105.4))
    alone, several = fit_record(dataclasses.replace(record, repeats=())), fit_record(record)
    assert np.array_equal(
        alone.centre, several.centre
    )  # circuits are the tested unit's own: replay rests on them
    # hand calculation: mean of 103.4, 101.0 and 105.4 Ah over the first
    assert several.charge_c / alone.charge_c == pytest.approx((103.4 + 101.0 + 105.4) / 3.0 / 103.4, rel=1e-9)
    column = scenarios(several, 10, 1, 0).circuit.charge_c[0, 0, 0]
    assert column == pytest.approx(several.charge_c, rel=1e-9)


def test_one_unit_draws_the_assumed_spread_on_tested_and_buyers_unit(tmp_path):
    found = log_charge(fit_record(with_units(tmp_path, ())))
    # hand calculation: sqrt(2) times 2.5 %; the standard error of a standard deviation of 20,000 is 0.5 %
    assert found.std() == pytest.approx(0.025 * 2**0.5, rel=0.02)
    assert np.quantile(found, 0.1) == pytest.approx(norm.ppf(0.1) * 0.025 * 2**0.5, rel=0.03)


@pytest.mark.parametrize("charges", [(101.0,), (101.0, 105.4), (101.0, 105.4, 102.2, 104.0)])
def test_several_units_draw_students_law_with_the_spread_they_showed(tmp_path, charges):
    found = log_charge(fit_record(with_units(tmp_path, charges)))
    seen = np.array([103.4, *charges])
    n = len(seen)
    scale = seen.std(ddof=1) / seen.mean() * np.sqrt(1.0 + 1.0 / n)
    for quantile in (0.1, 0.25, 0.75, 0.9):
        # scipy's own Student's t, n - 1 degrees of freedom: the textbook prediction of one more reading. Standard error
        # of a quantile of 20,000 draws at 0.1 of the widest law (n = 2) is 2.3 % of it
        assert np.quantile(found, quantile) == pytest.approx(t.ppf(quantile, n - 1) * scale, rel=0.07)


def test_no_draw_leaves_half_to_double_the_kinds_charge(tmp_path):
    found = np.exp(
        log_charge(fit_record(with_units(tmp_path, (93.0,))))
    )  # two units: the law with the widest tails
    assert found.min() >= 0.5 - 1e-6  # rounding
    assert found.max() <= 2.0 + 1e-6


def test_units_of_a_bank_share_what_is_not_known_of_their_kind():
    among = Among(0.0, 0.02, 3)
    rng = np.random.default_rng(1)
    own, tested, doubt = rng.standard_normal((2, 4000)), rng.standard_normal(4000), rng.standard_normal(4000)
    one, other = among.deviation(own, tested, doubt)
    still, moved = among.deviation(np.zeros((2, 4000)), tested, doubt)
    assert np.array_equal(still, moved)
    assert np.corrcoef(one, other)[0, 1] > 0.1  # the mean's error is common: 1/n of the variance


def test_resistances_of_the_units_are_pooled_where_their_steps_are_alike(tmp_path):
    found = kind_of(with_units(tmp_path, (103.0, 103.8), volts=(12.715, 12.755))).resistance
    # hand calculation: 281, 301 and 261 mV over the same 80 A
    ratios = np.array([1.0, 301.0 / 281.0, 261.0 / 281.0])
    assert (found.units, found.measured) == (3, True)
    assert found.spread == pytest.approx(ratios.std(ddof=1) / ratios.mean(), rel=1e-6)
    assert np.exp(found.shift) == pytest.approx(ratios.mean(), rel=1e-6)


def test_steps_read_after_another_time_are_not_pooled(tmp_path):
    record = with_units(tmp_path, (103.0,))
    later = tuple(dataclasses.replace(test, after_s=60.0) for test in record.repeats[0].step_tests)
    record = dataclasses.replace(record, repeats=(dataclasses.replace(record.repeats[0], step_tests=later),))
    assert kind_of(record).resistance == Among(0.0, 0.05, 1)


def test_a_trip_of_another_unit_condemns_what_this_one_held(tmp_path):
    trip = """
[[current_test]]
kind = "hold"
current = "140 A"
duration = "20 s"
ended_by = "trip"
instrument = "clamp"
"""
    zone = classify(build_envelope(with_units(tmp_path, (103.0,))), 140.0, 30.0)
    assert zone.name == "demonstrated"  # 150 A for 60 s were held
    zone = classify(build_envelope(with_units(tmp_path, (103.0,), more=trip)), 140.0, 30.0)
    assert zone.name == "conflict"
    assert {entry.source for entry in zone.entries} >= {"invented-1-2: current_test.5"}
