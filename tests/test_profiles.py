"""The demo data: every file is read without a problem, says it is invented, and agrees with itself."""

from __future__ import annotations

import csv
import itertools
import tomllib
from pathlib import Path

import numpy as np
import pytest

from planner.constants import COULOMB_PER_AH
from planner.outing.load_reader import KINDS
from planner.outing.reader import read_outing
from planner.outing.schema import Outing
from planner.record.reader import read_record
from planner.record.schema import CapacityTest, Record
from planner.winter.reader import read_climate

PROFILES = Path(__file__).resolve().parent.parent / "profiles"
BATTERIES = sorted((PROFILES / "batteries").glob("*.toml"))
OUTINGS = sorted((PROFILES / "outings").glob("*.toml"))
CLIMATES = sorted((PROFILES / "climates").glob("*.toml"))
LOGS = sorted((PROFILES / "logs").glob("*.csv"))
BENCH_LOG_ONE = PROFILES / "logs" / "bench_unit_one_invented.csv"

# Keys of an outing file that the demo data is to show; a new one joins them with the outing that has it.
OUTING_KEYS = {
    "(file)": "format name duration ambient cell_temperature start_charge cutoff_voltage cutoff_delay reserve"
    " questions terminal_limit get_home load wiring bank",
    "get_home": "distance speed current factor",
    "load": "name kind current power resistance voltage efficiency idle_power cutout_voltage cutout_delay"
    " restart_voltage full_current table log between_samples use start_surge evidence spread safety",
    "use": "start length speed on off",
    "start_surge": "current duration",
    "wiring": "gauge area length contact_resistance insulation engine_space bundled fuse fuse_class"
    " fuse_interrupt allowed_drop",
    "bank": "parallel series lead_resistances start_charges units",
}


def _name(path: Path) -> str:
    return path.stem


def _columns(path: Path) -> dict[str, np.ndarray]:
    with path.open(encoding="utf-8", newline="") as handle:
        heading, *rows = csv.reader(handle)
    values = np.array(rows, dtype=float)
    return {title: values[:, place] for place, title in enumerate(heading)}


def _typed_tests(record: Record) -> list[CapacityTest]:
    return [test for test in record.capacity_tests if test.log is None]


def test_the_demo_library_is_as_large_as_promised() -> None:
    assert len(BATTERIES) >= 5
    assert len(OUTINGS) >= 7
    assert len(LOGS) >= 2


@pytest.mark.parametrize("path", BATTERIES, ids=_name)
def test_every_battery_is_read_and_says_it_is_invented(path: Path) -> None:
    record = read_record(path)
    assert "invented" in record.name
    assert "nvented" in path.read_text(encoding="utf-8").splitlines()[0]
    assert record.capacity_tests


@pytest.mark.parametrize("path", OUTINGS, ids=_name)
def test_every_outing_is_read_and_says_it_is_invented(path: Path) -> None:
    outing = read_outing(path)
    assert "invented" in outing.name
    assert "nvented" in path.read_text(encoding="utf-8").splitlines()[0]
    assert outing.loads


@pytest.mark.parametrize("path", CLIMATES, ids=_name)
def test_every_climate_is_read_and_says_it_is_invented(path: Path) -> None:
    assert "invented" in read_climate(path).name


@pytest.mark.parametrize("path", LOGS, ids=_name)
def test_every_log_says_it_is_invented_in_its_file_name_and_starts_with_its_heading(path: Path) -> None:
    # A log has no room for a comment: its first line must be the heading.
    assert "invented" in path.stem
    columns = _columns(path)
    assert next(iter(columns)) == "Time (s)"
    assert "Current (A)" in columns
    assert np.all(np.diff(columns["Time (s)"]) > 0)
    assert path.stat().st_size <= 300_000


def test_no_two_profiles_share_a_name() -> None:
    names = [
        tomllib.loads(path.read_text(encoding="utf-8"))["name"] for path in BATTERIES + OUTINGS + CLIMATES
    ]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("path", BATTERIES, ids=_name)
def test_typed_charge_is_current_times_duration(path: Path) -> None:
    for test in _typed_tests(read_record(path)):
        if test.current_a is not None:
            # 0.25 %: charge is typed to 0.1 Ah, and 0.05 Ah is 0.2 % of the smallest unit's 24 Ah.
            assert test.charge_c == pytest.approx(test.current_a * test.duration_s, rel=2.5e-3)


@pytest.mark.parametrize("path", BATTERIES, ids=_name)
def test_typed_energy_is_the_area_under_the_curve(path: Path) -> None:
    for test in _typed_tests(read_record(path)):
        if test.curve:
            charge_c, volts = np.array(test.curve).T
            # 0.5 %: two dozen points, joined by straight lines, lie that near to the run they were taken from.
            assert test.energy_j == pytest.approx(np.trapezoid(volts, charge_c), rel=5e-3)
            assert charge_c[-1] == pytest.approx(test.charge_c)
            assert volts[-1] == pytest.approx(test.cutoff_v)
            assert np.all(np.diff(charge_c) > 0)
            assert np.all(np.diff(volts) < 0)


@pytest.mark.parametrize("path", BATTERIES, ids=_name)
def test_mean_voltage_is_that_of_four_cells_of_this_chemistry(path: Path) -> None:
    for test in read_record(path).capacity_tests:
        if test.energy_j is not None:
            # Four cells at 3.2 to 3.3 V under load (common practice, no source), 0.1 V lower when driven hard.
            assert 12.7 < test.energy_j / test.charge_c < 13.15


@pytest.mark.parametrize("path", BATTERIES, ids=_name)
def test_charge_falls_with_the_rate_and_with_the_cold(path: Path) -> None:
    tests = read_record(path).capacity_tests
    for one, other in itertools.permutations(tests, 2):
        if one.at.cell_k == other.at.cell_k and one.mean_current_a > other.mean_current_a:
            # The loss from rate is small on such cells: a few per cent over a factor of five.
            assert 0.95 * other.charge_c < one.charge_c < other.charge_c
        if one.at.cell_k < other.at.cell_k and one.mean_current_a >= other.mean_current_a:
            assert 0.7 * other.charge_c < one.charge_c < 0.98 * other.charge_c


@pytest.mark.parametrize("path", BATTERIES, ids=_name)
def test_no_pass_contradicts_a_trip(path: Path) -> None:
    record = read_record(path)
    holds = [test for test in record.current_tests if test.kind == "hold" and test.duration_s is not None]
    passes = [(test.current_a, test.duration_s) for test in holds if test.ended_by != "trip"]
    passes += [(test.mean_current_a, test.duration_s) for test in record.capacity_tests]
    trips = [(test.current_a, test.duration_s) for test in holds if test.ended_by == "trip"]
    for ramp in (test for test in record.current_tests if test.kind == "ramp" and test.ended_by == "trip"):
        rate = ramp.rate_a_per_s
        assert rate is not None
        # On its way to the end the ramp was above each tripped current for less than that trip took.
        assert all((ramp.current_a - current) / rate < duration for current, duration in trips)
        trips.append((ramp.current_a, ramp.current_a / rate))
    for current, duration in passes:
        assert not any(current >= tripped and duration >= after for tripped, after in trips)


def test_the_batteries_are_of_the_kinds_the_demo_needs() -> None:
    records = {path.stem: read_record(path) for path in BATTERIES}
    one, two, three = records["unit_one"], records["unit_two"], records["unit_three"]
    directions = {(test.direction, test.charging) for test in one.cold_charge_tests}
    assert directions == set(itertools.product(("cooling", "warming"), ("blocked", "accepted")))
    assert len(two.capacity_tests) == 1
    assert not (two.capacity_tests[0].curve or two.current_tests or two.step_tests or two.cold_charge_tests)
    claimed = three.claims
    assert claimed.capacity_c is not None and claimed.continuous_current_a is not None
    assert max(test.charge_c for test in three.capacity_tests) < 0.95 * claimed.capacity_c
    assert any(
        test.ended_by == "trip" and test.kind == "hold" and test.current_a <= claimed.continuous_current_a
        for test in three.current_tests
    )
    charges_ah = [record.capacity_tests[0].charge_c / COULOMB_PER_AH for record in records.values()]
    assert min(charges_ah) < 30.0
    assert max(charges_ah) > 200.0


@pytest.mark.parametrize("path", OUTINGS, ids=_name)
def test_uses_of_one_load_keep_apart_and_end_with_the_outing(path: Path) -> None:
    outing: Outing = read_outing(path)
    for load in outing.loads:
        stretches = sorted((use.start_s, use.start_s + use.length_s) for use in load.uses)
        assert all(end <= start for (_, end), (start, _) in itertools.pairwise(stretches))
        assert all(0.0 <= start < end <= outing.duration_s for start, end in stretches)
        if load.log is not None:
            assert load.log.time_s[-1] <= outing.duration_s


def test_the_outings_show_every_kind_of_load_and_the_keys_above() -> None:
    seen: dict[str, set[str]] = {table: set() for table in OUTING_KEYS}
    kinds = set()
    for path in OUTINGS:
        typed = tomllib.loads(path.read_text(encoding="utf-8"))
        seen["(file)"] |= typed.keys()
        for table in ("get_home", "wiring", "bank"):
            seen[table] |= typed.get(table, {}).keys()
        for load in typed["load"]:
            kinds.add(load["kind"])
            seen["load"] |= load.keys()
            seen["start_surge"] |= load.get("start_surge", {}).keys()
            seen["use"] |= set().union(*(use.keys() for use in load.get("use", [])))
    assert set(KINDS) - kinds == set(), "add a load of this kind to an outing in profiles/"
    missing = {table: sorted(set(keys.split()) - seen[table]) for table, keys in OUTING_KEYS.items()}
    assert not any(missing.values()), missing


def test_the_raw_bench_log_of_unit_one_agrees_with_its_record() -> None:
    log = _columns(BENCH_LOG_ONE)
    seconds, volts, amps = log["Time (s)"], log["Voltage (V)"], log["Current (A)"]
    slow, fast = sorted(
        (
            test
            for test in read_record(PROFILES / "batteries" / "unit_one.toml").capacity_tests
            if test.at.cell_k > 290
        ),
        key=lambda test: test.mean_current_a,
    )
    charge_c = np.trapezoid(amps, seconds)
    # Its mean current lies between those of the two discharges at room temperature, and so does its charge;
    # 0.1 % for the trapezoid across the four edges of its two steps, each a 10 s interval with 40 A more or less.
    assert slow.mean_current_a < charge_c / seconds[-1] < fast.mean_current_a
    assert fast.charge_c < charge_c < slow.charge_c * 1.001
    rises = np.flatnonzero(np.diff(amps) > 5.0)
    assert len(rises) == 2
    assert volts[-1] == pytest.approx(slow.cutoff_v, abs=5e-3)  # the log's resolution and noise
    assert volts[:-1].min() > slow.cutoff_v - 5e-3
