import numpy as np
import pytest

from planner.constants import DAY_ANOMALY_CORRELATION, DAY_ANOMALY_K
from planner.winter.other_years import plausible_years, resampled_days
from planner.winter.weather import Weather
from tests.winter.invented_year import AIR_K


def persistent_weather(seed=3):
    """A year whose days have anomalies of 4 K that keep 0.7 from day to day, by a plain loop."""
    rng, daily = np.random.default_rng(seed), [0.0]
    for _ in range(364):
        daily.append(0.7 * daily[-1] + np.sqrt(1.0 - 0.49) * rng.normal(0.0, 4.0))
    return Weather("noisy", AIR_K + np.repeat(daily, 24))


def lag_one(daily):
    before, after = daily[:, :-1].ravel(), daily[:, 1:].ravel()
    return np.corrcoef(before, after)[0, 1]


def test_days_come_from_within_fifteen_days_of_their_place_in_blocks_of_three_to_ten():
    days = resampled_days(50, np.random.default_rng(1))
    away = (days - np.arange(365) + 182) % 365 - 182
    assert abs(away).max() == 15
    for year in away:
        lengths = np.diff(np.flatnonzero(np.diff(year)))  # two equal offsets in a row merge: longer only
        assert lengths.min() >= 3
    assert np.mean(np.diff(away, axis=1) == 0) > 0.8  # 1 - 1/6.5 of the steps stay within a block


def test_resampled_years_keep_the_persistence_of_days():
    weather = persistent_weather()
    season = AIR_K.reshape(365, 24).mean(axis=1)
    own = weather.air_k.reshape(1, 365, 24).mean(axis=2) - season
    drawn = plausible_years(weather, 100, np.random.default_rng(1)).air_k.reshape(100, 365, 24).mean(axis=2)
    # Breaks between blocks, one step in 6.5, carry none of it: at least 0.75 of the source's stays.
    assert lag_one(drawn - season) > 0.75 * lag_one(own)
    shuffled = np.random.default_rng(2).permuted(drawn - season, axis=1)
    assert abs(lag_one(shuffled)) < 0.05  # so the measure can fail


def test_resampled_years_hold_only_hours_of_the_source():
    weather = persistent_weather()
    drawn = plausible_years(weather, 5, np.random.default_rng(1))
    assert np.isin(drawn.air_k, weather.air_k).all()
    assert np.array_equal(drawn.rearranged(weather.air_k), drawn.air_k)


def test_years_from_monthly_means_get_anomalies_of_the_stated_spread_and_persistence():
    weather = Weather("monthly means", AIR_K, synthetic=True)
    drawn = plausible_years(weather, 400, np.random.default_rng(1))
    noon = drawn.air_k.reshape(400, 365, 24)[:, :, 12] - AIR_K.reshape(365, 24)[:, 12]
    # 400 x 365 values, correlated over about 6 days: standard errors near 0.01 K and 0.003.
    assert noon.std() == pytest.approx(DAY_ANOMALY_K, rel=0.03)
    assert lag_one(noon) == pytest.approx(DAY_ANOMALY_CORRELATION, abs=0.02)
    assert noon.mean() == pytest.approx(0.0, abs=0.1)


def test_a_seed_gives_its_years_and_another_gives_others():
    weather = persistent_weather()
    first, again, other = (plausible_years(weather, 2, np.random.default_rng(s)).air_k for s in (1, 1, 2))
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)
