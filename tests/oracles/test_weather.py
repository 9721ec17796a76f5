"""Weather, sun and still air against published examples and the libraries that hold them."""

from pathlib import Path

import numpy as np
import pytest

from planner.constants import PLACE_CONDUCTANCE_W_PER_K
from planner.winter.calendar_year import MONTH_OF_HOUR, by_month
from planner.winter.solar_position import Place, sun_position
from planner.winter.sources import plane_of_array_w_m2
from planner.winter.weather_file import read_weather

pvlib = pytest.importorskip("pvlib")
pd = pytest.importorskip("pandas")
SHIPPED = Path(pvlib.__file__).parent / "data"

# Typical years inside the pvlib wheel, counted apart with pandas from the columns of the files themselves.
YEARS = {
    "703165TY.csv": {
        "place": (55.317, -160.517, -9.0), "air": (-10.6, 4.420651, 19.4), "below": 1640, "at_or_below": 1827,
        "below_5": 4778, "days": (102, 41), "january": (0.640, 243), "december": (-0.585, 345),
        "sun": (829.243, 819.209, 460.947), "wind": 5.0720,
    },
    "723170TYA.CSV": {
        "place": (36.1, -79.95, -5.0), "air": (-16.7, 14.421849, 35.6), "below": 792, "at_or_below": 849,
        "below_5": 1591, "days": (61, 14), "january": (0.332, 356), "december": (4.229, 194),
        "sun": (1566.203, 1476.549, 682.223), "wind": 3.0544,
    },
    "12839.tm2": {
        "place": (25.8, -80.267, -5.0), "air": (3.3, 24.314007, 33.9), "below": 0, "at_or_below": 0,
        "below_5": None, "days": (0, 0), "january": None, "december": None,
        "sun": (1792.618, 1504.922, 809.504), "wind": 4.3372,
    },
}  # fmt: skip


def found(name):
    path = SHIPPED / name
    if not path.is_file():
        pytest.skip(f"this pvlib does not ship {name}")
    return read_weather(path)


@pytest.mark.parametrize("name", YEARS)
def test_a_typical_year_has_its_published_counts(name):
    want, weather = YEARS[name], found(name)
    # Tenths of a degree, exactly: 0.0 degC must not fall to either side by rounding.
    tenths = np.round((weather.air_k - 273.15) * 10.0).astype(int)
    place = (weather.latitude_deg, weather.longitude_deg, weather.utc_offset_h)
    assert place == pytest.approx(want["place"], abs=0.0005)
    assert (tenths.min() / 10, tenths.mean() / 10, tenths.max() / 10) == pytest.approx(want["air"], abs=5e-7)
    assert ((tenths < 0).sum(), (tenths <= 0).sum()) == (want["below"], want["at_or_below"])
    days = tenths.reshape(365, 24)
    assert ((days.min(axis=1) < 0).sum(), (days.max(axis=1) < 0).sum()) == want["days"]
    assert np.count_nonzero(weather.air_k < 273.15) == want["below"]  # and so the engine counts as well
    if want["below_5"] is not None:
        assert (tenths < 50).sum() == want["below_5"]
    assert weather.wind_m_per_s.mean() == pytest.approx(want["wind"], abs=5e-5)


@pytest.mark.parametrize("name", ["703165TY.csv", "723170TYA.CSV"])
def test_months_are_counted_by_the_files_own_month_not_by_the_shifted_stamp(name):
    want, weather = YEARS[name], found(name)
    tenths = np.round((weather.air_k - 273.15) * 10.0).astype(int)
    for month, (mean, below) in ((0, want["january"]), (11, want["december"])):
        inside = tenths[MONTH_OF_HOUR == month]
        assert inside.mean() / 10.0 == pytest.approx(mean, abs=0.0005)
        assert (inside < 0).sum() == below
    assert any("months from" in warning for warning in weather.warnings)


@pytest.mark.parametrize("name", YEARS)
def test_a_typical_years_sun_adds_up_as_published(name):
    sun = found(name).sun
    sums = tuple(part.sum() / 1000.0 for part in (sun.ghi_w_m2, sun.dni_w_m2, sun.dhi_w_m2))
    assert sums == pytest.approx(YEARS[name]["sun"], abs=0.0005)


# kWh/m2 of a year on a plane facing south at Greensboro, albedo 0.2: (isotropic, Hay-Davies), and the
# isotropic January and December; computed apart with pvlib and each month's own calendar year.
TILTED = {0.0: (1566.364, 1566.341, 74.881, 69.350), 20.0: (1696.245, 1724.080, 95.705, 93.683)}
TILTED[36.1] = (1696.598, 1737.429, 106.370, 107.048)


@pytest.mark.parametrize("tilt", TILTED)
def test_irradiance_in_a_tilted_plane(tilt):
    weather = found("723170TYA.CSV")
    isotropic, haydavies = (
        plane_of_array_w_m2(weather, tilt, 180.0, sky) for sky in ("isotropic", "haydavies")
    )
    want = TILTED[tilt]
    # One common year for the sun instead of fifteen moves the sum by up to 0.01 %.
    assert isotropic.sum() / 1000.0 == pytest.approx(want[0], rel=1e-4)
    assert haydavies.sum() / 1000.0 == pytest.approx(want[1], rel=1e-4)
    # Their months are by shifted stamp, ours by position: an hour at night, and the sun's year again.
    assert by_month(isotropic)[[0, 11]] / 1000.0 == pytest.approx(want[2:], rel=2e-3)


def test_a_level_plane_gets_the_files_own_global_irradiance():
    weather = found("723170TYA.CSV")
    level = plane_of_array_w_m2(weather, 0.0, 180.0)
    assert level.sum() == pytest.approx(weather.sun.ghi_w_m2.sum(), rel=2e-4)


def test_the_sun_of_the_worked_example_of_the_solar_position_algorithm():
    # Reda & Andreas, NREL/TP-560-34302, table A5.1: zenith 50.11162 (refracted), azimuth 194.34024 deg.
    time = pd.DatetimeIndex(["2003-10-17 12:30:30-07:00"])
    sun = pvlib.solarposition.spa_python(
        time, 39.742476, -105.1786, altitude=1830.14, pressure=82000, temperature=11, delta_t=67
    )
    assert sun["apparent_zenith"].iloc[0] == pytest.approx(50.11162, abs=5e-6)
    assert sun["azimuth"].iloc[0] == pytest.approx(194.34024, abs=5e-6)


def test_our_hour_of_that_day_has_the_suns_place_of_that_half_hour():
    # The same place at 12:30:00; the sun's declination of a day differs by up to 0.2 degrees between years.
    zenith, azimuth = sun_position(Place(39.742476, -105.1786, -7.0))
    hour = (31 + 28 + 31 + 30 + 31 + 30 + 31 + 31 + 30 + 16) * 24 + 12
    assert zenith[hour] == pytest.approx(50.11, abs=0.25)
    assert azimuth[hour] == pytest.approx(194.34, abs=0.4)


# ---- still air around a battery: what the default conductance rests on ----

CHURCHILL_PLATES = {  # vertical plate [m], difference [K] -> W/(m2 K); air 30 degC, Pr 0.706669
    (0.20, 10.0): (7.1033e6, 3.7688),
    (0.20, 20.0): (1.42066e7, 4.5891),
    (0.17, 5.0): (2.18116e6, 3.1964),
}


def test_natural_convection_of_the_textbook_plate():
    # Bergman, Lavine, Incropera, DeWitt, Introduction to Heat Transfer 6th ed., example 9.2: h 7.0 W/(m2 K).
    ht = pytest.importorskip("ht")
    nusselt = ht.Nu_vertical_plate_Churchill(0.690, 1.813e9 / 0.690)  # takes Grashof, not Rayleigh
    assert nusselt == pytest.approx(147.0, abs=0.5)
    assert nusselt * 33.8e-3 / 0.71 == pytest.approx(7.0, abs=0.05)


@pytest.mark.parametrize("plate", CHURCHILL_PLATES)
def test_natural_convection_of_plates_of_battery_size(plate):
    ht = pytest.importorskip("ht")
    rayleigh, want = CHURCHILL_PLATES[plate]
    nusselt = ht.Nu_vertical_plate_Churchill(0.706669, rayleigh / 0.706669)
    assert nusselt * 0.0266180 / plate[0] == pytest.approx(want, abs=0.0005)


def test_the_default_conductance_of_an_open_battery_is_convection_and_radiation_of_its_surface():
    # 5 K colder than air at 0 degC, emissivity 0.9, 0.28 m2 of free surface: 7.3 to 8.7 W/(m2 K) in all.
    convection = CHURCHILL_PLATES[(0.17, 5.0)][1]
    cell, air = 268.15, 273.15
    radiation = 0.9 * 5.670374419e-8 * (cell**2 + air**2) * (cell + air)
    calculated = (convection + radiation) * 0.28
    assert PLACE_CONDUCTANCE_W_PER_K["outdoors"] == pytest.approx(calculated, rel=0.15)


def test_the_default_conductance_of_a_box_is_its_foam_and_the_film_outside():
    # 25 mm of foam at 0.033 W/(m K) and 8 W/(m2 K) outside over 0.45 m2, in series.
    calculated = 0.45 / (0.025 / 0.033 + 1.0 / 8.0)
    assert PLACE_CONDUCTANCE_W_PER_K["box"] == pytest.approx(calculated, rel=0.15)
