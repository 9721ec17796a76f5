"""What is wrong with a field is told in the words of the form; the words of the file are for who writes files."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from planner.errors import InputRefused, Problem
from planner.library.checking import check_text
from planner.library.edit import set_value
from planner.screens.field_words import field_words
from planner.screens.form_climate import FORM as CLIMATE_FORM
from planner.screens.form_outing import FORM as OUTING_FORM
from planner.screens.form_record import FORM as RECORD_FORM
from planner.screens.typed import shown_value, typed_value
from planner.toml_text import parse

PROFILES = Path(__file__).resolve().parent.parent.parent / "profiles"
FORMS = {"outings": OUTING_FORM, "batteries": RECORD_FORM, "climates": CLIMATE_FORM}
OF_THE_FILE = re.compile(r"\bkeys?\b|[\[\]{}]| = |\w= |\b\w+_\w+\b|TOML|quotes|square brackets")
WRONG: tuple[Any, ...] = (None, "", "12 W", "12 A", "5 C", "1,5 h", "nonsense", 7, [])
# without logs, which take their time at every reading; all of a file's kinds of tests, loads and chargers are in these
FILES = (
    ("outings", "inverter_kitchen"), ("outings", "trolling_day"), ("outings", "trailer_weekend"), ("outings", "bank_motor"),
    ("batteries", "unit_one"), ("climates", "high-desert-trailer"), ("climates", "cold-lake"),
)  # fmt: skip


def places(value: Any, at: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Every place of a text, of a list the first two entries alone."""
    inner = value.items() if isinstance(value, dict) else enumerate(value[:2], 1) if isinstance(value, list) else ()
    for key, each in inner:
        yield (*at, key)
        yield from places(each, (*at, key))


def problems_of_wrong_values(kind: str, name: str) -> Iterator[tuple[Problem, dict[str, Any]]]:
    text = (PROFILES / kind / f"{name}.toml").read_text(encoding="utf-8")
    for place in places(parse(text.encode(), name)):
        for wrong in WRONG:
            if place == ("format",) or (wrong is None and isinstance(place[-1], int)):
                continue
            try:
                changed = set_value(text, place, wrong)
            except InputRefused:  # a table inside another's line cannot become a plain value; the app says so
                continue
            for problem in check_text(kind, changed, PROFILES, name).problems:
                yield problem, parse(changed.encode(), name)


@pytest.mark.parametrize(("kind", "name"), FILES)
def test_no_wrong_value_is_told_in_the_words_of_the_file(kind: str, name: str) -> None:
    told = {}
    of_the_file = 0
    for problem, values in problems_of_wrong_values(kind, name):
        said = field_words(problem, FORMS[kind], values)
        told[said] = problem.key
        of_the_file += bool(OF_THE_FILE.search(f"{problem.value}. {problem.allowed}. {problem.fix}"))
    assert {key: said for said, key in told.items() if OF_THE_FILE.search(said)} == {}
    assert of_the_file > 50  # else nothing was tried


@pytest.mark.parametrize(
    ("kind", "name", "place", "wrong", "told"),
    [
        ("outings", "inverter_kitchen", "load.2.current", None, "Fill in “Current” (such as 12.5 A)."),
        ("outings", "inverter_kitchen", "load.1.power", None, "Fill in “Power at its socket” (such as 900 W)."),
        ("outings", "inverter_kitchen", "load.2.current", "12 W", "choose so under “What it is”; a current is written \"12 A\"."),
        ("outings", "inverter_kitchen", "load.1.start_surge.duration", None, "Fill in “At switching on for” (such as"),
        ("outings", "inverter_kitchen", "load.1.cutout_voltage", None, "Add “Inverter cuts out at”."),
        ("outings", "inverter_kitchen", "load.1.evidence", "x", "Accepted: measured with a meter, logged, told by the buyer,"),
        ("outings", "inverter_kitchen", "load.2.current", "", "Leave it empty when it was not measured"),
        ("outings", "inverter_kitchen", "wiring.engine_space", "x", "Choose yes or no."),
        ("batteries", "unit_one", "claims.capacity", "100 A", "A is current. Write \"100 Ah\""),
        ("batteries", "unit_one", "capacity_test.1.ended_by", "x", "the unit opened itself when empty"),
        ("batteries", "unit_one", "instruments", None, "Add a meter called \"load\" with its limits of error"),
        ("batteries", "unit_one", "instruments.clamp.temperature", "1 apple", "Accepted: a number and one of °C apart, °F apart, K"),
        ("climates", "cold-lake", "charge.1.current", None, "Fill in “Current” (such as 10 A)."),
    ],
)  # fmt: skip
def test_a_problem_speaks_by_the_label_and_says_what_to_enter(
    kind: str, name: str, place: str, wrong: str | None, told: str
) -> None:
    text = (PROFILES / kind / f"{name}.toml").read_text(encoding="utf-8")
    changed = set_value(text, place, wrong)
    problems = check_text(kind, changed, PROFILES, name).problems
    said = [field_words(each, FORMS[kind], parse(changed.encode(), name)) for each in problems]
    assert any(told in each for each in said), said


def test_what_was_typed_is_repeated_as_it_was_typed() -> None:
    problem = Problem("a file", "load.1.current", "current_test = [x]", "a number and one of A", "Write it.")
    assert field_words(problem, OUTING_FORM, {}).startswith("current_test = [x]. Accepted: ")


@pytest.mark.parametrize(
    ("typed", "kept", "shown"),
    [("8 °C", "8 delta_degC", "8 °C apart"), ("14.4 °F apart", "14.4 delta_degF", "14.4 °F apart"),
     ("8 degC", "8 delta_degC", "8 °C apart"), ("8 delta_degC", "8 delta_degC", "8 °C apart"), ("8 K", "8 K", "8 K"),
     ("8 C", "8 C", "8 C"), ("8", "8", "8"), ("8 °C warm", "8 °C warm", "8 °C warm")],
)  # fmt: skip
def test_a_difference_of_temperatures_is_typed_and_shown_as_people_write_it(typed: str, kept: str, shown: str) -> None:
    """What is none of it is kept as typed, for the reader to refuse."""
    field = next(each for group in RECORD_FORM if group.key == "instruments" for each in group.fields if each.key == "temperature")
    assert field.head == "Temperature (°C or °F apart)"
    assert typed_value(field, typed) == kept
    assert shown_value(field, kept) == shown
    assert typed_value(field, shown) == kept
