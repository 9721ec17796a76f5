"""The buyer's page is read by whoever reads a daily newspaper: twelve years of age at the most."""

from __future__ import annotations

import datetime

import pytest
import textstat

from planner.explain.sheet import sheet_of
from tests.explain.demo import COMBINATIONS, assessed

OLDEST = 12.0  # years (a chosen level)
FIRST_GRADE_AGE = 5.0  # a pupil of grade n is n + 5 years old (common practice, no source)


def reading_age(texts):
    """Years. Source: grade of Kincaid et al., Naval Technical Training Command RBR 8-75 (1975), by textstat."""
    return textstat.flesch_kincaid_grade("\n".join(texts)) + FIRST_GRADE_AGE


@pytest.mark.parametrize("combination", COMBINATIONS, ids=lambda c: "-".join(map(str, c)))
def test_the_buyers_page_of_every_pair_can_be_read_at_twelve(combination):
    sheet = sheet_of(assessed(*combination), datetime.date(2030, 1, 31))
    about_the_outing = [sheet.headline, *(item for part in sheet.parts for item in part.items)]
    assert reading_age(about_the_outing) <= OLDEST
    assert reading_age(sheet.cautions.items) <= OLDEST
    assert reading_age([*about_the_outing, *sheet.cautions.items]) <= OLDEST


def test_the_measure_tells_a_contract_from_a_picture_book():
    assert reading_age(["The cat sat on the mat. It was a fat cat."]) < 7.0
    heavy = "Notwithstanding contractual obligations, indemnification provisions terminate upon notification."
    assert reading_age([heavy]) > 18.0
