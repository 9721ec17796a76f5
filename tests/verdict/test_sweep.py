"""Sweeps: the grid, the columns, rows that are refused, and one table whatever the executor."""

from __future__ import annotations

from concurrent.futures import Future, ProcessPoolExecutor, ThreadPoolExecutor
from multiprocessing import get_context

import pytest

from planner.errors import InputRefused
from planner.outing.reader import read_outing
from planner.outing.schema import QUESTIONS
from planner.simulate.engine import simulate
from planner.verdict import sweep_group
from planner.verdict.assess import assess
from planner.verdict.sweep import plan_sweep, run_sweep
from tests.verdict.invented_bench import HALF_SIZE, STURDY, read_unit

OUTING = """
format = 1
name = "Hour of trolling (invented)"
duration = "1 h"
ambient = "20 degC"
questions = ["energy", "peak_current"]
[[load]]
name = "motor"
kind = "current"
current = "20 A"
evidence = "measured"
use = [{ start = "0 s", length = "1 h" }]
[[load]]
name = "lamp"
kind = "power"
power = "30 W"
use = [{ start = "10 min", length = "20 min" }]
"""


@pytest.fixture
def outing(tmp_path):
    path = tmp_path / "need.toml"
    path.write_text(OUTING, encoding="utf-8")
    return path


@pytest.fixture
def sturdy(tmp_path):
    return read_unit(tmp_path, STURDY)


def table(sweep, *more):
    return [dict(zip(sweep.columns(), row, strict=True)) for row in run_sweep(sweep, *more)]


def test_the_columns_are_those_of_the_contract_and_the_refusal_last(outing, sturdy):
    sweep = plan_sweep(outing, [sturdy], ["load.1.current=5 A:60 A:2", "ambient=0 degC:20 degC:2"])
    assert sweep.columns() == (
        "battery", "load.1.current (A)", "ambient (degC)", "verdict", *QUESTIONS, "nominal_h", "p10_h", "p90_h",
        "charge_used_Ah", "min_voltage_V", "ended_by", "refused",
    )  # fmt: skip


def test_the_grid_has_every_pair_for_every_battery_the_last_key_fastest(outing, sturdy, tmp_path):
    half = read_unit(tmp_path, HALF_SIZE, "half.toml")
    sweep = plan_sweep(outing, [sturdy, half], ["load.1.current=5 A:15 A:2", "ambient=10 degC:20 degC:3"])
    assert (sweep.rows, sweep.grid) == (12, 6)
    assert [sweep.numbers(row) for row in range(6)] == [
        (5.0, 10.0), (5.0, 15.0), (5.0, 20.0), (15.0, 10.0), (15.0, 15.0), (15.0, 20.0)
    ]  # fmt: skip
    rows = table(sweep)
    assert [row["battery"] for row in rows] == [sturdy.name] * 6 + [half.name] * 6


def test_a_steady_load_uses_current_times_time_and_a_larger_one_never_lasts_longer(outing, sturdy):
    sweep = plan_sweep(outing, [sturdy], ["load.1.current=5 A:120 A:6", "load.2.power=0 W:0 W:1"])
    rows = table(sweep)
    hours = [row["nominal_h"] for row in rows]
    assert hours == sorted(hours, reverse=True)
    for row in rows[:-2]:  # those that last the hour
        assert row["charge_used_Ah"] == pytest.approx(row["load.1.current (A)"], rel=1e-9)


def test_a_row_agrees_with_the_single_answer(outing, sturdy):
    """The centre of a run does not depend on its draws; a load told as a pattern times a number differs in a digit."""
    sweep = plan_sweep(outing, [sturdy], ["load.1.current=20 A:40 A:2"])
    row = table(sweep)[0]
    single = assess(sturdy, read_outing(outing))
    assert row["nominal_h"] == pytest.approx(single.runtime.nominal_s / 3600.0, rel=1e-9)
    assert row["charge_used_Ah"] == pytest.approx(single.runtime.charge_c / 3600.0, rel=1e-9)
    assert row["min_voltage_V"] == pytest.approx(single.runtime.min_v, rel=1e-9)
    assert row["peak_current"] == next(c.verdict for c in single.checks if c.id == "peak_current")
    assert (row["p10_h"], row["p90_h"], row["wiring"]) == (None, None, None)


@pytest.mark.parametrize(
    ("varied", "fewer"),
    [
        ("load.1.current=30 A:30.2 A:6", True),  # steps of one size: one call
        ("load.1.current=10 A:90 A:6", False),  # steps of many sizes
        ("load.2.power=10 W:60 W:6", True),
        ("ambient=-5 degC:40 degC:6", True),
        ("start_charge=20 %:100 %:6", True),  # the last uses are not reached at the low end
        ("load.2.use.1.start=0 min:40 min:6", False),  # other moments: nothing goes together
        ("load.1.current=0 A:8 A:6", False),  # nothing at all is drawn by this load in the first
    ],
)
def test_rows_side_by_side_are_the_rows_alone_to_the_last_digit(outing, sturdy, monkeypatch, varied, fewer):
    calls = []

    def counted(*arguments):
        calls.append(1)
        return simulate(*arguments)

    monkeypatch.setattr(sweep_group, "simulate", counted)
    sweep = plan_sweep(outing, [sturdy], [varied])
    together = list(run_sweep(sweep))
    made = len(calls)
    assert list(run_sweep(sweep, block=1)) == together
    assert list(run_sweep(sweep, block=4)) == together
    assert (made < sweep.rows) or not fewer


def test_with_draws_a_row_is_the_single_answer(outing, sturdy):
    """Run side by side or alone; a load told as a pattern times a number differs in a digit."""
    sweep = plan_sweep(outing, [sturdy], ["load.1.current=20 A:20.1 A:2"], draws=50, seed=4)
    row = table(sweep)[0]
    run = assess(sturdy, read_outing(outing), draws=50, seed=4).runtime
    assert (row["nominal_h"], row["p10_h"], row["p90_h"]) == pytest.approx(
        (run.nominal_s / 3600.0, run.p10_s / 3600.0, run.p90_s / 3600.0), rel=1e-9
    )
    assert table(sweep, None, 1, 1)[0] == row
    assert row["p10_h"] < row["nominal_h"] < row["p90_h"]


def test_a_value_the_file_may_not_have_refuses_its_row_with_the_reason_and_keeps_the_others(outing, sturdy):
    sweep = plan_sweep(outing, [sturdy], ["start_charge=80 %:120 %:3"])
    good, full, over = table(sweep)
    assert good["refused"] is None and full["refused"] is None
    assert over["verdict"] is None and over["nominal_h"] is None
    assert "start_charge is 120 %" in over["refused"]


@pytest.mark.parametrize(
    ("varied", "said"),
    [
        (["load.1.curent=5 A:60 A:5"], "Did you mean load.1.current?"),
        (["colour=1 A:2 A:2"], "Did you mean"),
        (["ambient=0 degC:1 degC:2", "ambient=0 degC:1 degC:2"], "given twice"),
        (["ambient=0 degC:20 degC:4000", "load.1.current=1 A:2 A:4000"], "16,000,000 rows"),
    ],
)
def test_a_sweep_that_cannot_be_is_refused_before_any_row(outing, sturdy, varied, said):
    with pytest.raises(InputRefused) as refusal:
        plan_sweep(outing, [sturdy], varied)
    assert said in str(refusal.value)


def test_every_wrong_argument_is_told_at_once(outing, sturdy):
    with pytest.raises(InputRefused) as refusal:
        plan_sweep(outing, [sturdy], ["load.9.current=1 A:2 A:2", "ambient=0 V:1 V:2"])
    assert len(refusal.value.problems) == 2


def test_threads_give_the_same_table_whatever_the_block(outing, sturdy):
    sweep = plan_sweep(outing, [sturdy], ["load.1.current=5 A:60 A:5"])
    alone = list(run_sweep(sweep))
    with ThreadPoolExecutor(2) as threads:
        assert list(run_sweep(sweep, threads, 2, 1)) == alone
        assert list(run_sweep(sweep, threads, 2, 3)) == alone


@pytest.mark.slow
def test_processes_give_the_same_table(outing, sturdy):
    sweep = plan_sweep(outing, [sturdy], ["load.1.current=5 A:60 A:5"])
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as processes:
        assert list(run_sweep(sweep, processes, 2, 2)) == list(run_sweep(sweep))


class Eager(ThreadPoolExecutor):
    """Works a block out as it is handed in, and remembers how many nobody has fetched yet."""

    def __init__(self) -> None:
        super().__init__(1)
        self.handed = 0

    def submit(self, function, *arguments):
        self.handed += 1
        future: Future = Future()
        future.set_result([(float(row),) for row, _ in enumerate(arguments[1])])
        return future


def test_no_more_than_a_few_blocks_are_ever_waiting(outing, sturdy):
    sweep = plan_sweep(outing, [sturdy], ["load.1.current=5 A:60 A:1000"])
    executor = Eager()
    most = 0
    for fetched, _row in enumerate(run_sweep(sweep, executor, 2, 10)):
        most = max(most, executor.handed - fetched // 10)
    assert executor.handed == 100
    assert most <= 4  # two for each of two workers


def test_a_sweep_that_is_left_cancels_what_waits(outing, sturdy):
    sweep = plan_sweep(outing, [sturdy], ["load.1.current=5 A:60 A:1000"])
    started = []

    class Idle(ThreadPoolExecutor):
        def submit(self, function, *arguments):
            future: Future = Future()
            if not started:
                future.set_result([(0.0,)])
            started.append(future)
            return future

    rows = run_sweep(sweep, Idle(1), 3, 1)
    next(rows)
    rows.close()
    assert len(started) > 1
    assert all(future.cancelled() for future in started[1:])
