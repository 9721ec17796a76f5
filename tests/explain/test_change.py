"""What a change did to the answer, in one line."""

import math

from planner.explain.change import State, change_sentence

FITS = State("fits", 5.0 * 3600.0 + 600.0, {"How long it lasts": "fits", "Highest current held": "fits"}, ())


def test_runtime_and_verdict_are_told_with_what_decides() -> None:
    after = State(
        "does not fit",
        4.0 * 3600.0 + 1200.0,
        {"How long it lasts": "does not fit", "Highest current held": "not proven"},
        ("How long it lasts",),
    )
    assert change_sentence(FITS, after) == (
        "Runtime 5 h 10 min → 4 h 20 min; now does not fit: how long it lasts; highest current held fits → not proven."
    )


def test_a_change_that_does_nothing_is_told_as_such() -> None:
    assert change_sentence(FITS, FITS) == "Nothing in the answer changed."


def test_a_question_that_is_new_is_no_change_and_no_end_is_told_in_words() -> None:
    after = State("fits", math.inf, {**FITS.questions, "Cable and fuse": "fits"}, ())
    assert change_sentence(FITS, after) == "Runtime 5 h 10 min → longer than 10,000 hours."
