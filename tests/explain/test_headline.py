"""The line above an answer names what is at fault, and what the record lacks is told in words."""

from __future__ import annotations

from dataclasses import replace

from planner.explain.answer_text import HEADLINES, headline
from planner.outing.schema import QUESTIONS
from planner.record.gaps import missing_tests
from planner.verdict.check import DOES_NOT_FIT
from tests.explain.demo import BATTERIES, assessed


def _refused_by(*names: str):
    """A demo answer whose verdict is "does not fit", decided by these questions alone."""
    found = assessed("unit_one", "inverter_kitchen")
    checks = tuple(replace(found.checks[0], id=name, verdict=DOES_NOT_FIT) for name in names)
    return replace(found, verdict=DOES_NOT_FIT, deciding=checks)


def test_the_battery_is_not_blamed_where_cable_and_fuse_alone_decide():
    told = headline(_refused_by("wiring"))
    assert told.startswith("DOES NOT FIT: ")
    assert "cable and fuse" in told
    assert "this unit" not in told


def test_the_battery_is_not_blamed_for_the_outing_where_the_year_alone_decides():
    told = headline(assessed("unit_one", "ice_shelter", "cold-lake"))
    assert told == "DOES NOT FIT: not with the weather and the charging of this place."


def test_a_battery_at_fault_beside_its_cable_is_named():
    for names in (("energy",), ("energy", "wiring")):
        assert headline(_refused_by(*names)) == HEADLINES[DOES_NOT_FIT]


def test_what_a_record_lacks_is_told_without_the_names_of_checks():
    keys = [name for name in QUESTIONS if "_" in name]
    assert keys == ["peak_current", "terminal_heat", "winter_charging"]
    for battery in BATTERIES:
        gaps = " ".join(missing_tests(assessed(battery, "trolling_day").record))
        assert not [key for key in keys if key in gaps]
