"""A real outing against its prediction. The logs are made by hand or by the engine; all invented."""

from __future__ import annotations

import pytest

from planner.errors import InputRefused
from planner.explain.follow_up_answer import follow_up_json, follow_up_text
from planner.log_file.stated import LogOptions
from planner.record.scaled import scaled_unit
from planner.verdict.follow_up import ABOVE, BELOW, INSIDE, UNKNOWN, follow_up
from tests.verdict.invented_bench import STURDY, read_need, read_unit

NEED = """
format = 1
name = "Steady crossing (invented)"
duration = "3 h"
ambient = "25 degC"
[[load]]
name = "motor"
kind = "current"
current = "30 A"
spread = "5 %"
use = [{ start = "0 s", length = "3 h" }]
"""
HEAD = "Time (s),Current (A),Voltage (V),Temperature (degC)\n"


@pytest.fixture
def sturdy(tmp_path):
    return read_unit(tmp_path, STURDY)


@pytest.fixture
def need(tmp_path):
    return read_need(tmp_path, NEED)


def log_of(folder, current_a, hours, last_v, degrees=25.0, after=""):
    """A minute log of a steady current; the last voltage is read at the end."""
    minutes = round(60.0 * hours)
    rows = [f"{60 * k},{current_a},{13.0 if k < minutes else last_v},{degrees}\n" for k in range(minutes + 1)]
    path = folder / "afloat.csv"
    path.write_text(HEAD + "".join(rows) + after, encoding="utf-8")
    return path


def test_an_outing_as_predicted_contradicts_nothing(tmp_path, sturdy, need):
    """By hand: 103.4 Ah on the bench at 20 A is 3.4 h at 30 A, and the cut-off of 10 V is met at the log's end."""
    found = follow_up(sturdy, need, log_of(tmp_path, 30.0, 3.4, 9.9), draws=200)
    assert (found.ended, found.runtime.place, found.wrong) == ("cutoff", INSIDE, None)
    assert found.runtime.low < 3.4 * 3600.0 < found.runtime.high


def test_a_heavier_load_than_stated_is_named_the_wrong_input(tmp_path, sturdy, need):
    """By hand: 102 Ah at 45 A is 2.27 h; the loads were half as much again, the battery is as its record says."""
    found = follow_up(sturdy, need, log_of(tmp_path, 45.0, 2.27, 9.9), draws=200)
    assert (found.runtime.place, found.charge.place, found.wrong) == (BELOW, ABOVE, "load")
    assert found.charge.found == pytest.approx(45.0 * 2.27 * 3600.0, rel=0.01)


def test_cells_colder_than_stated_are_named_the_wrong_input(tmp_path, sturdy, need):
    """The bench found 86.1 Ah at -10 degC, at 20 A: at 30 A less than 2.9 h."""
    found = follow_up(sturdy, need, log_of(tmp_path, 30.0, 2.75, 9.9, degrees=-10.0), draws=200)
    assert (found.runtime.place, found.wrong) == (BELOW, "temperature")


def test_a_battery_that_gives_half_is_named_itself(tmp_path, sturdy, need):
    found = follow_up(sturdy, need, log_of(tmp_path, 30.0, 1.7, 9.9), draws=200)
    assert (found.runtime.place, found.wrong) == (BELOW, "battery")
    assert dict(found.steps)["temperature"].place == BELOW


def test_an_outing_that_was_ended_early_says_nothing_of_how_long_it_lasts(tmp_path, sturdy, need):
    found = follow_up(sturdy, need, log_of(tmp_path, 30.0, 2.0, 13.0), draws=200)
    assert (found.ended, found.runtime.place, found.wrong) == ("stopped", UNKNOWN, None)


def test_an_opening_where_the_bench_had_held_is_a_serious_finding(tmp_path, sturdy, need):
    """The bench held 100 A until empty: an hour. Afloat it opened within the first half hour at 60 A."""
    log = log_of(tmp_path, 60.0, 0.4, 12.9, after="1500,0,0.2,25\n1560,0,0.1,25\n")
    before = sturdy.path.read_bytes()
    found = follow_up(sturdy, need, log, draws=50)
    assert found.ended == "opened" and found.opened is not None
    assert (found.opened.current_a, found.opened.held_s, found.opened.zone.name) == (
        60.0,
        1500.0,
        "demonstrated",
    )
    assert found.opened.contradicts
    assert sturdy.path.read_bytes() == before


def test_an_opening_beyond_what_was_tested_contradicts_nothing(tmp_path, sturdy, need):
    log = log_of(tmp_path, 400.0, 0.05, 11.9, after="200,0,0.2,25\n")
    found = follow_up(sturdy, need, log, draws=50)
    assert found.opened is not None and not found.opened.contradicts


def test_an_opening_at_the_cut_off_is_that_of_an_empty_unit(tmp_path, sturdy, need):
    log = log_of(tmp_path, 30.0, 3.4, 10.3, after="12300,0,0.2,25\n")
    found = follow_up(sturdy, need, log, draws=50)
    assert (found.ended, found.opened) == ("cutoff", None)


def test_a_dip_below_the_cut_off_that_a_surge_makes_is_no_end(tmp_path, sturdy, need):
    """It is one where it lasts: the outing's own delay is 1 s, and a minute passes between two samples."""
    whole = log_of(tmp_path, 30.0, 2.0, 13.0).read_text(encoding="utf-8").splitlines()
    for low, ended, length_s in (((60,), "stopped", 7200.0), ((60, 61), "cutoff", 3540.0)):
        rows = [row.replace(",13.0,", ",9.4,") if k in low else row for k, row in enumerate(whole)]
        path = tmp_path / "dip.csv"
        path.write_text("\n".join(rows) + "\n", encoding="utf-8")
        found = follow_up(sturdy, need, path, draws=50)
        assert (found.ended, found.length_s) == (ended, length_s)


def test_which_unit_of_a_bank_opened_is_not_told_by_a_log_of_the_whole(tmp_path, sturdy):
    """Of two side by side each may have carried half, or the last one all: 120 A contradict no test of one unit."""
    need = read_need(tmp_path, NEED.replace("30 A", "120 A") + "[bank]\nparallel = 2\nseries = 1\n")
    found = follow_up(sturdy, need, log_of(tmp_path, 120.0, 0.4, 12.9, after="1500,0,0.2,25\n"), draws=50)
    assert found.opened is not None
    assert (found.opened.zone, found.opened.contradicts) == (None, False)
    told = follow_up_json(found)
    assert told["trip"]["zone"] is None
    assert "Which unit of the bank opened first" in told["findings"][0]
    assert "Which unit of the bank opened first" in " ".join(follow_up_text(found).split())


def test_the_units_that_a_bank_names_are_those_it_is_predicted_by(tmp_path, sturdy):
    """Two units of half the charge last as long as one of the whole, at half the current each."""
    half = scaled_unit(sturdy, 0.5)
    need = read_need(tmp_path, NEED + "[bank]\nparallel = 2\nseries = 1\n")
    log = log_of(tmp_path, 30.0, 2.0, 13.0)
    whole, halves = (follow_up(sturdy, need, log, draws=50, units=units) for units in ((), (half, half)))
    assert halves.runtime.middle == pytest.approx(0.5 * whole.runtime.middle, rel=0.05)


def test_a_log_without_discharge_is_refused(tmp_path, sturdy, need):
    with pytest.raises(InputRefused, match="no discharge"):
        follow_up(sturdy, need, log_of(tmp_path, 0.0, 1.0, 13.0))


def test_a_log_that_puts_back_more_than_it_draws_is_asked_about_and_read_as_stated(tmp_path, sturdy, need):
    """By hand: 30 A for 3.4 h is 102 Ah; a meter that reads 0.1 A at rest the other way is not the outing."""
    log = log_of(tmp_path, -30.0, 3.4, 9.9, after="12300,0.1,9.9,25\n15900,0.1,9.9,25\n")
    with pytest.raises(InputRefused, match=r'102\.\d+ Ah of negative and 0\.10 Ah of positive .* Say discharge = "negative"'):
        follow_up(sturdy, need, log)
    found = follow_up(sturdy, need, log, draws=50, says=LogOptions(discharge="negative"))
    assert found.charge.found == pytest.approx(30.0 * 3.0 * 3600.0, rel=0.01)  # until the planned end of 3 h
    with pytest.raises(InputRefused, match="no discharge"):
        follow_up(sturdy, need, log_of(tmp_path, -30.0, 1.0, 13.0), says=LogOptions(discharge="positive"))
