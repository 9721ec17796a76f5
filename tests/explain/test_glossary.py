"""Every word that an answer is told in has its meaning at hand, and every origin of a number leads to a place."""

from __future__ import annotations

import pytest

from planner.explain.check_words import CHECK_WORDS
from planner.explain.glossary import EVIDENCE, TERMS, VERDICTS
from planner.explain.reasoning import MEASURED, chains
from planner.outing.schema import QUESTIONS
from planner.screens.form_climate import FORM as CLIMATE_FORM
from planner.screens.form_outing import FORM as OUTING_FORM
from planner.screens.form_record import FORM as RECORD_FORM
from planner.screens.why_part import origins, whys
from planner.verdict.check import DOES_NOT_FIT, FITS, LIMITS, NOT_PROVEN
from planner.verdict.check import EVIDENCE as CLASSES
from tests.explain.demo import COMBINATIONS, assessed


def test_every_verdict_class_and_question_has_a_meaning() -> None:
    assert set(VERDICTS) == {FITS, LIMITS, NOT_PROVEN, DOES_NOT_FIT}
    assert set(EVIDENCE) == set(CLASSES)
    assert set(CHECK_WORDS) == set(QUESTIONS)
    assert all(len(told.split()) >= 4 for words in (VERDICTS, EVIDENCE, TERMS) for told in words.values())


@pytest.mark.parametrize("combination", COMBINATIONS, ids=lambda c: "-".join(map(str, c)))
def test_every_measurement_and_need_of_a_chain_leads_to_a_group_of_an_editor(combination) -> None:
    groups = {
        kind: {group.key or "top" for group in form}
        for kind, form in {"battery": RECORD_FORM, "outing": OUTING_FORM, "climate": CLIMATE_FORM}.items()
    }
    found = assessed(*combination)
    linked = 0
    for chain in chains(found):
        for step in chain.steps:
            for origin in origins(step.origin):
                assert origin.group in groups[origin.kind]
                linked += 1
            if step.what == MEASURED:
                # a unit that the bank names is another file than the one in use, so no editor is open for it
                elsewhere = any(step.origin.startswith(f"{unit.name}: ") for unit in found.batch.units)
                assert bool(origins(step.origin)) != elsewhere, step.origin
    assert linked >= len(chains(found))
    assert [why.title for why in whys(found)]
    assert not [line.text for why in whys(found) for line in why.lines if "_test." in line.text]
