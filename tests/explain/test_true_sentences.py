"""Sentences that stay true for the rare input: each was false, or not English, for the case named."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from planner.battery.kind import kind_of
from planner.explain.across_answer import WIDE
from planner.explain.answer_text import ENDS, STOPPED, fit_text, three_numbers
from planner.explain.bank_notes import bank_notes
from planner.explain.bank_or_bigger_answer import ways_text
from planner.explain.bank_sentences import SENTENCES as BANK
from planner.explain.cautions import cautions
from planner.explain.chain_table import chain_of
from planner.explain.check_words import CHECK_WORDS
from planner.explain.compare_answer import outlasting
from planner.explain.energy_sentences import SENTENCES as ENERGY
from planner.explain.layout import COLUMNS
from planner.explain.limits_answer import limits_text, reason
from planner.explain.mitigation_table import _both as mitigation_table_cell
from planner.explain.next_test_sentences import REASONS
from planner.explain.outing_charts import charge_figure, current_figure
from planner.explain.outing_course import course_of
from planner.explain.reasoning import Step, numbers_text
from planner.explain.runtime_chart import runtime_figure
from planner.explain.sensitivity_chart import sensitivity_figure
from planner.explain.sheet_evidence import evidence_tables
from planner.explain.shown_units import AS_MADE, US, in_units
from planner.explain.words import amp_hours, counted, span_of
from planner.outing.schema import Wiring
from planner.verdict.assess import assess
from planner.verdict.bank_check import Branch
from planner.verdict.bank_joining import Stranded
from planner.verdict.bank_or_bigger import Way
from planner.verdict.check import Amount
from planner.verdict.compare import compare
from planner.verdict.limits import Limit, Limits, find_limits
from planner.verdict.sensitivity import find_sensitivity
from planner.verdict.spare import spare_of
from tests.explain.demo import assessed


@pytest.mark.parametrize(
    ("low", "high", "told"), [(1.0, 1.0, "1 hour"), (0.0, 1.0, "0 to 1 hour"), (2.0, 2.0, "2 hours"),
                              (930.0, 1160.0, "930 to 1,160 hours")],
)  # fmt: skip
def test_one_hour_is_no_hours(low, high, told):
    assert span_of(low, high, "hours") == told


def test_a_thousand_things_are_counted_with_a_comma_and_one_by_itself():
    assert (counted(1, "buyers"), counted(1200, "buyers")) == ("1 buyer", "1,200 buyers")


def test_a_run_that_ends_at_the_voltage_the_buyer_stops_at_is_not_called_empty():
    found = assessed("unit_four", "trolling_day")
    assert found.runtime.ended_by == "cutoff" and found.outing.cutoff_v is None
    assert ENDS["cutoff"] in three_numbers(found)[0] and "empty" in ENDS["cutoff"]
    stopped = replace(found, outing=replace(found.outing, cutoff_v=12.0))
    assert ENDS[STOPPED] in three_numbers(stopped)[0]
    assert "the voltage you stop at" in charge_figure(course_of(stopped)).title
    assert "empty" not in ENERGY["energy_does_not_fit"]({"need_c": 3600.0, "p10_c": 3000.0})


@pytest.mark.parametrize("end", ["unserved", "trip", "inverter_cutout"])
def test_a_run_that_ends_otherwise_is_not_called_empty(end):
    found = assessed("unit_four", "trolling_day")
    course = course_of(replace(found, runtime=replace(found.runtime, ended_by=end)))
    for figure in (charge_figure(course), current_figure(course)):
        assert "empty" not in f"{figure.title} {figure.legend}"


def test_pulses_that_decide_by_their_heat_are_not_told_as_one_pull():
    found = assessed("unit_one", "trolling_day")
    points = tuple(replace(point, basis="rms") for point in found.peak.points)
    told = three_numbers(replace(found, peak=replace(found.peak, points=points)))[2]
    assert "pulses that heat like" in told and "is the pull" not in told


def test_units_in_series_carry_the_load_at_the_same_time():
    branch = Branch(1, 0.0, 1.0, 80.0, 80.0, 80.0, 80.0, 3600.0, "demonstrated")
    told = BANK["bank_fits"]({"branches": (branch,), "load_a": 80.0, "losses": ()})
    assert told.startswith("In series every unit carries the whole 80 amps, which")


def test_a_string_of_four_has_a_weakest_and_a_strongest_unit(monkeypatch):
    from planner.explain import bank_notes as module

    found = assessed("unit_one", "bank_motor")
    monkeypatch.setattr(module, "stranded_of", lambda _: (Stranded(1, 90.0 * 3600.0, 100.0 * 3600.0, None),))
    told = " ".join(bank_notes(found))
    assert "the weakest unit ends the run: it holds 90 amp-hours, the strongest 100 amp-hours" in told


def test_the_dotted_line_is_told_only_where_there_is_one():
    found = assessed("unit_one", "trolling_day")
    for one in (found, replace(found, runtime=replace(found.runtime, p10_s=float("inf")))):
        figure = runtime_figure(one)
        assert ("Dotted" in figure.legend) == ("p10" in figure.spec["datasets"])


def test_a_large_resistance_and_an_area_are_printed_as_they_are_read():
    found = assessed("unit_one", "inverter_kitchen")
    assert isinstance(found.outing.wiring, Wiring)
    wiring = replace(found.outing.wiring, size="16 mm^2", contact_resistance_ohm=0.15)
    found = replace(found, outing=replace(found.outing, wiring=wiring))
    joints = next(link.what for link in chain_of(found) if link.name == "Contacts")
    assert joints == "150 mΩ"
    plan = " ".join(note for table in evidence_tables(found) for note in table.notes)
    assert "cable 16 mm²" in plan


def test_the_battery_is_told_at_its_hottest_and_not_at_the_moment_of_least_voltage():
    """It starts at 19 °C in air of 17 °C and cools for six hours before the hardest pull."""
    found = assessed("unit_three", "trolling_day")
    inside = next(link.celsius for link in chain_of(found) if link.name == "Battery")
    assert inside is not None and found.outing.cell_k == pytest.approx(273.15 + 19.0) and inside >= 19.0


def test_a_caution_of_one_load_and_of_several_is_english():
    found = assessed("unit_two", "trolling_day")
    load = replace(found.outing.loads[0], name="bilge pump", safety=True)
    told = cautions(replace(found, outing=replace(found.outing, loads=(load,))))[0]
    assert "what must never go dark: bilge pump." in told


def test_a_unit_is_cooled_by_degrees_and_no_line_of_several_outings_is_too_long():
    parts = {"blocked_k": 270.0, "passed": "fits", "failed": "does not fit"}
    assert "every degree" in REASONS["both_legs_tell_harm"](parts)
    assert WIDE + 17 + 9 + 2 + max(len(words.name) for words in CHECK_WORDS.values()) <= COLUMNS


def test_the_counter_of_the_limits_is_that_of_the_fit_where_the_battery_does_not_begin_full():
    found = assessed("unit_one", "trolling_day")
    outing = replace(found.outing, start_soc=0.8, get_home=None, reserve_fraction=0.2)
    again = assess(found.record, outing, draws=8)
    told = limits_text(Limits(again, (), spare_of(again), 0.9))
    used_c = spare_of(again).turn_back_c + 0.2 * again.fitted.charge_c
    shown = " ".join(told.split())
    assert f"Stop when the counter, zeroed when the battery is full, shows {amp_hours(used_c, 'down')} used" in shown
    assert "Turn back" not in told and "come home" not in told


def test_an_input_whose_verdict_was_not_judged_is_not_said_to_leave_it_alone():
    found = find_sensitivity(*(getattr(assessed("unit_one", "trolling_day"), name) for name in ("record", "outing")), draws=8)
    unjudged = replace(found, swings=tuple(replace(one, verdicts=None) for one in found.swings))
    rows = sensitivity_figure(unjudged).spec["datasets"]["swings"]
    assert rows and {row["effect"] for row in rows} == {"verdict not judged"}


def test_units_that_were_tested_are_said_to_differ_as_they_did():
    record = replace(assessed("unit_one", "trolling_day").record, repeats=())
    test = record.capacity_tests[0]
    other = replace(record, name="second", tag="B", capacity_tests=(replace(test, charge_c=0.96 * test.charge_c),))
    outing = assessed("unit_one", "trolling_day").outing
    alone = outlasting(compare([record, replace(record, name="Another")], outing, draws=8))
    assert alone[-1] == "This takes units of one kind to differ by 2.5 % in charge (common practice)."
    kind = replace(record, repeats=(other,))
    spread = kind_of(kind).charge.spread
    seen = " ".join(outlasting(compare([kind, replace(record, name="Another")], outing, draws=8)))
    assert f"Units of {record.name} are taken to differ by {100.0 * spread:.2g} % in charge, as those tested did." in seen
    assert "units of the others to differ by 2.5 %" in seen


def test_what_a_further_unit_tells_names_no_spread_that_the_answer_may_not_hold():
    assert "assumed" not in REASONS["spread_is_kept"]({})


def test_one_draw_is_no_draws():
    assert "; 1 draw, seed 1" in " ".join(fit_text(assessed("unit_one", "trolling_day", draws=1)).split())


@pytest.mark.parametrize("missing", ["cable", "load on an inverter", "climate", "full discharge of the battery"])
def test_a_limit_that_was_not_searched_names_no_flag_and_blames_no_file(missing):
    told = reason(Limit("gauge", "", None, missing=missing), 0.9)
    assert told == f"Not searched: no {missing} was given; give one to have this limit."


def test_what_is_missing_for_a_limit_is_one_of_these():
    found = assessed("unit_one", "trolling_day")
    for record in (found.record, replace(found.record, capacity_tests=())):
        told = find_limits(record, found.outing, draws=8, ids=("gauge", "inverter_power", "smallest_battery", "earliest_month"))
        assert not [limit.missing for limit in told.limits if limit.missing and "--" in limit.missing]
        assert "climate" in {limit.missing for limit in told.limits}


def test_a_hold_of_half_a_minute_is_told_in_seconds():
    assert numbers_text(Step("measured", "current_test.1", (Amount(140.0, "A"), Amount(30.0, "h")), "held")) == (
        "140 A, 30 s, held"
    )
    assert numbers_text(Step("needed", "load.1", (Amount(1500.0, "h"),))) == "25 min"
    assert numbers_text(Step("needed", "load.1", (Amount(7200.0, "h"),))) == "2 h"


def test_a_fuse_that_none_can_be_is_not_given_a_range_turned_round():
    found = assessed("unit_one", "inverter_kitchen")
    assert found.wiring is not None
    narrow = replace(found, wiring=replace(found.wiring, fuse_low_A=120.0, fuse_from_A=120.0, fuse_high_A=80.0))
    assert next(link.limit for link in chain_of(narrow) if link.name == "Fuse") == "none fits cable and load"


@pytest.mark.parametrize(
    ("low_a", "from_a", "high_a", "told"),
    [
        (60.2, 60.2, 90.7, "61 to 90 A"),
        (60.0, 60.0, 90.0, "60 to 90 A"),
        (60.2, 75.3, 90.7, "76 to 90 A"),  # the charge asks for more than the load
        (60.2, 60.2, 60.8, "60.2 to 60.8 A"),
        (60.2, 95.0, 90.7, "none fits cable and charge"),
    ],
)
def test_the_window_of_a_fuse_is_rounded_inwards(low_a, from_a, high_a, told):
    found = assessed("unit_one", "inverter_kitchen")
    assert found.wiring is not None
    wiring = replace(found.wiring, fuse_low_A=low_a, fuse_from_A=from_a, fuse_high_A=high_a, ampacity_A=high_a)
    links = {link.name: link.limit for link in chain_of(replace(found, wiring=wiring))}
    assert links["Fuse"] == told
    assert links["Cable"] == f"{math.floor(high_a)} A"


def test_the_change_that_gains_most_gains_the_same_in_the_table_and_in_the_sentence():
    ends = np.array([922.5, 1141.0])
    assert mitigation_table_cell(ends) == span_of(*ends, "hours").removesuffix(" hours")


def test_a_propeller_is_told_in_inches_where_lengths_are_in_feet():
    assert in_units("a propeller of 28 cm", US) == "a propeller of 11 in"
    assert in_units("a propeller of 28 cm", AS_MADE) == "a propeller of 28 cm"


def test_heads_of_a_table_of_text_do_not_touch():
    found = assessed("unit_one", "trolling_day")
    way = Way(1, found)
    assert "larger  verdict" in ways_text([way])
