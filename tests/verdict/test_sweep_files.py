"""Keys of every file in a sweep, lists, and the Latin hypercube."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planner.errors import InputRefused
from planner.outing.reader import read_outing
from planner.record.reader import read_record
from planner.verdict.assess import assess
from planner.verdict.sweep import plan_sweep, run_sweep
from planner.winter.reader import read_climate
from tests.verdict.invented_bench import HALF_SIZE, STURDY, read_unit

OUTING = """
format = 1
name = "Hour of trolling (invented)"
duration = "1 h"
ambient = "20 degC"
[[load]]
name = "motor"
kind = "current"
current = "20 A"
use = [{ start = "0 s", length = "1 h" }]
"""
CLIMATE = """
format = 1
name = "Shed (invented)"
place = "box"
start_charge = "80 %"
use_per_day = "6 Ah"
monthly = [
"""


@pytest.fixture
def outing(tmp_path):
    path = tmp_path / "need.toml"
    path.write_text(OUTING, encoding="utf-8")
    return path


@pytest.fixture
def sturdy(tmp_path):
    return read_unit(tmp_path, STURDY)


@pytest.fixture
def climate(tmp_path):
    rows = "\n".join(
        f'["{mean} degC", "6 delta_degC"],' for mean in (-9, -8, -2, 6, 12, 16, 18, 17, 12, 6, 0, -6)
    )
    charge = '[[charge]]\nkind = "shore"\ncurrent = "8 A"\nfrom = "18 h"\nuntil = "23 h"\n'
    path = tmp_path / "shed.toml"
    path.write_text(CLIMATE + rows + "\n]\n" + charge, encoding="utf-8")
    return path


def table(sweep, *more):
    return [dict(zip(sweep.columns(), row, strict=True)) for row in run_sweep(sweep, *more)]


def changed(path, before, after):
    """The file's text with one value replaced, written beside it."""
    text = path.read_text(encoding="utf-8")
    assert text.count(before) == 1
    other = path.with_name(f"changed_{path.name}")
    other.write_text(text.replace(before, after), encoding="utf-8")
    return other


def test_a_battery_s_key_is_varied_as_if_its_file_were_changed(outing, sturdy):
    sweep = plan_sweep(outing, [sturdy], ["battery.step_test.1.to_voltage=12.735 V:12.635 V:2"])
    rows = table(sweep)
    other = read_record(changed(sturdy.path, 'to_voltage = "12.735 V"', 'to_voltage = "12.635 V"'))
    for row, record in zip(rows, (sturdy, other), strict=True):
        single = assess(record, read_outing(outing)).runtime
        assert row["nominal_h"] == pytest.approx(single.nominal_s / 3600.0, rel=1e-9)
    assert (
        rows[1]["min_voltage_V"] < rows[0]["min_voltage_V"]
    )  # twice the drop on the bench is more sag afloat


def test_a_climate_s_key_is_varied_as_if_its_file_were_changed(outing, sturdy, climate):
    sweep = plan_sweep(outing, [sturdy], ["climate.charge.1.current=0.1 A:8 A:2"], climate=climate)
    rows = table(sweep)
    weak = read_climate(changed(climate, 'current = "8 A"', 'current = "0.1 A"'))
    for row, weather in zip(rows, (weak, read_climate(climate)), strict=True):
        checks = {check.id: check.verdict for check in assess(sturdy, read_outing(outing), weather).checks}
        assert row["winter_charging"] == checks["winter_charging"]


def test_a_key_is_found_in_the_file_that_has_it_and_the_outing_s_comes_first(outing, sturdy, climate):
    texts = ["capacity_test.1.charge=90 Ah:110 Ah:2", "use_per_day=1 Ah:9 Ah:2", "start_charge=50 %:100 %:2"]
    sweep = plan_sweep(outing, [sturdy], texts, climate=climate)
    assert [vary.file for vary in sweep.varied] == ["battery", "climate", "outing"]
    assert [vary.heading for vary in sweep.varied] == [
        "capacity_test.1.charge (Ah)", "use_per_day (Ah)", "start_charge (%)",
    ]  # fmt: skip
    prefixed = plan_sweep(outing, [sturdy], ["climate.start_charge=50 %:90 %:2"], climate=climate)
    assert (prefixed.varied[0].file, prefixed.varied[0].heading) == ("climate", "climate.start_charge (%)")


def test_one_key_of_several_batteries_is_varied_in_each_and_refused_where_it_may_not_be(
    outing, sturdy, tmp_path
):
    half = read_unit(tmp_path, HALF_SIZE, "half.toml")
    rows = table(plan_sweep(outing, [sturdy, half], ["battery.capacity_test.1.charge=50.8 Ah:51.2 Ah:2"]))
    assert [row["battery"] for row in rows] == [sturdy.name] * 2 + [half.name] * 2
    assert all(
        "unit.toml: capacity_test.1" in row["refused"] for row in rows[:2]
    )  # not its current times its time
    assert rows[3]["nominal_h"] > rows[2]["nominal_h"] > 0.0


def test_a_value_that_a_battery_may_not_have_refuses_its_row_and_keeps_the_others(outing, sturdy):
    sweep = plan_sweep(
        outing, [sturdy], ["battery.capacity_test.1.charge=0 Ah:100 Ah:2", "start_charge=100 %:150 %:2"]
    )
    rows = table(sweep)
    assert [row["refused"] is None for row in rows] == [False, False, True, False]
    assert (
        "capacity_test.1.charge is 0 Ah" in rows[1]["refused"]
        and "start_charge is 150 %" in rows[1]["refused"]
    )
    assert rows[2]["nominal_h"] > 0.0


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("battery.capacity_test.1.chrge=1 Ah:2 Ah:2", "Did you mean capacity_test.1.charge?"),
        ("capacity_test.1.chrge=1 Ah:2 Ah:2", "Did you mean capacity_test.1.charge?"),
        ("battery.colour=1 A:2 A:2", "--vary battery.colour is not there"),
        ("climate.use_per_day=1 Ah:2 Ah:2", "Name the file with --climate."),
        ("outing.capacity_test.1.charge=1 Ah:2 Ah:2", "is not there"),
    ],
)
def test_a_key_that_is_not_there_is_refused_with_the_nearest(outing, sturdy, text, said):
    with pytest.raises(InputRefused) as refusal:
        plan_sweep(outing, [sturdy], [text])
    assert said in str(refusal.value)


def test_a_list_has_its_own_values_in_the_unit_of_the_first(outing, sturdy):
    sweep = plan_sweep(outing, [sturdy], ["load.1.current=5 A; 20 A;7 A", "load.1.use.1.length=30 min;1 h"])
    assert [vary.numbers for vary in sweep.varied] == [(5.0, 20.0, 7.0), (30.0, 60.0)]


def test_a_hypercube_has_one_point_in_every_part_of_every_range(outing, sturdy):
    sweep = plan_sweep(
        outing, [sturdy], ["load.1.current=5 A:60 A", "ambient=-10 degC:30 degC"], points=40, seed=3
    )
    assert sweep.rows == 40
    found = np.array([sweep.numbers(row) for row in range(40)])
    for column, (low, high) in zip(found.T, ((5.0, 60.0), (-10.0, 30.0)), strict=True):
        part = np.floor((column - low) / (high - low) * 40.0 + 1e-9)
        assert sorted(part) == list(range(40))
    assert abs(np.corrcoef(found.T)[0, 1]) < 0.6  # the ranges are shuffled apart, not walked together


def test_one_seed_gives_one_hypercube_and_another_seed_another(outing, sturdy):
    tables = [
        [
            plan_sweep(outing, [sturdy], ["load.1.current=5 A:60 A"], points=5, seed=seed).numbers(k)
            for k in range(5)
        ]
        for seed in (1, 1, 2)
    ]
    assert tables[0] == tables[1] != tables[2]


def test_given_values_are_taken_in_equal_parts_so_that_whole_numbers_stay_whole(outing, sturdy):
    sweep = plan_sweep(outing, [sturdy], ["load.1.current=10 A:30 A:3", "ambient=0 degC:9 degC"], points=12)
    amps = [sweep.numbers(row)[0] for row in range(12)]
    assert {value: amps.count(value) for value in amps} == {10.0: 4, 20.0: 4, 30.0: 4}


def test_without_points_a_range_needs_its_number_of_values(outing, sturdy):
    with pytest.raises(InputRefused) as refusal:
        plan_sweep(outing, [sturdy], ["load.1.current=5 A:60 A"])
    assert "how many" in str(refusal.value)


def test_the_mean_over_a_hypercube_errs_less_than_that_of_as_many_plain_draws(outing, sturdy):
    """Of a smooth answer; the plain draws go through the same sweep. Source: McKay, Beckman and Conover,
    Technometrics 21 (1979) 239 (from memory): the variance is never more where the answer is monotone.
    """
    ranges = ["load.1.current=15 A:40 A", "ambient=5 degC:35 degC"]
    points, seeds = 8, 6

    def mean(sweep):
        return float(np.mean([row["nominal_h"] for row in table(sweep)]))

    truth = mean(plan_sweep(outing, [sturdy], ranges, points=150, seed=99))
    cube, plain = [], []
    for seed in range(seeds):
        sweep = plan_sweep(outing, [sturdy], ranges, points=points, seed=seed)
        cube.append(mean(sweep) - truth)
        plain.append(mean(replace(sweep, shares=np.random.default_rng(seed).random((points, 2)))) - truth)
    assert np.sqrt(np.mean(np.square(cube))) < 0.5 * np.sqrt(np.mean(np.square(plain)))
