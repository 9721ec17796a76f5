from __future__ import annotations

import re

import pytest

from planner.library.checking import check_text, problems_at
from planner.library.edit import add_row, delete_row, set_value
from planner.library.entries import PROFILE_KINDS
from planner.library.place import DEMO
from planner.library.store import Library
from planner.library.templates import TEMPLATES

ALL = [(kind, choice) for kind, choices in TEMPLATES.items() for choice in choices]


@pytest.mark.parametrize(("kind", "choice"), [each for each in ALL if each[0] != "batteries"])
def test_every_template_is_read_without_a_problem_and_can_be_saved(
    kind: str, choice: str, library: Library
) -> None:
    text = TEMPLATES[kind][choice]
    checked = check_text(kind, text, DEMO)
    assert checked.problems == ()
    library.save(kind, checked.profile.name, text, None)
    assert library.load(kind, checked.profile.name)[0] == text


def test_a_record_has_no_result_before_one_is_typed() -> None:
    """A figure of ours would stand as a test that nobody made, and be answered."""
    text = TEMPLATES["batteries"]["one discharge"]
    problems = check_text("batteries", text, DEMO).problems
    assert {problem.key for problem in problems} == {"capacity_test.1", "capacity_test.1.ended_by"}
    for key, value in (("current", "20 A"), ("charge", "95 Ah"), ("ended_by", "cutoff")):
        text = set_value(text, f"capacity_test.1.{key}", value)
    assert check_text("batteries", text, DEMO).problems == ()


def test_there_are_templates_for_every_kind_and_the_six_outings() -> None:
    assert set(TEMPLATES) == set(PROFILE_KINDS)
    assert list(TEMPLATES["outings"]) == [
        "trolling day",
        "trailer weekend",
        "ice shelter",
        "off-grid cabin",
        "kitchen on an inverter",
        "winch",
    ]


@pytest.mark.parametrize(("kind", "choice"), [each for each in ALL if each[0] != "cases"])
def test_every_template_with_figures_says_they_are_invented(kind: str, choice: str) -> None:
    assert "invented" in TEMPLATES[kind][choice].splitlines()[0]


def test_the_outings_stay_sound_when_loads_are_added_and_deleted() -> None:
    for text in TEMPLATES["outings"].values():
        load = {"name": "radio", "kind": "current", "current": "0.5 A", "evidence": "stated"}
        added = add_row(text, "load", load)
        assert check_text("outings", added, DEMO).problems == ()
        count = len(re.findall(r"^\[\[load\]\]", added, re.MULTILINE))
        assert delete_row(added, "load", count) == text


def test_problems_are_named_at_their_field() -> None:
    text = set_value(TEMPLATES["outings"]["winch"], "load.1.current", "80 V")
    text = set_value(text, "wiring.fuse", "many")
    text = set_value(text, "load.1.use.2.length", "-1 min")
    checked = check_text("outings", text, DEMO)
    assert checked.profile is None
    assert {problem.key for problem in checked.problems} == {
        "load.1.current",
        "wiring.fuse",
        "load.1.use.2.length",
    }
    assert {problem.key for problem in problems_at(checked.problems, "load.1")} == {
        "load.1.current",
        "load.1.use.2.length",
    }
    assert problems_at(checked.problems, "load.10") == ()
    mended = set_value(text, "load.1.current", "80 A")
    assert problems_at(check_text("outings", mended, DEMO).problems, "load.1.current") == ()


def test_a_text_under_edit_reaches_no_file_outside_the_library() -> None:
    text = TEMPLATES["climates"]["monthly means"].split("monthly")[0] + 'weather = "/etc/hosts"\n'
    (problem,) = check_text("climates", text, DEMO).problems
    assert (problem.key, problem.value) == ("weather", "/etc/hosts")
