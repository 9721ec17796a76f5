"""A sentence for everything the verdict room can say. An unknown code is an error, never a guess.

Wording: one idea a sentence, the reading age of a daily newspaper, limits in the buyer's own controls.
"Not proven" is not "bad": it says what was not tested and which test would tell.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from planner.explain import (
    audit_sentences,
    bank_sentences,
    energy_sentences,
    peak_sentences,
    winter_sentences,
    wiring_sentences,
)
from planner.verdict.check import Told

Sentence = Callable[[Mapping[str, Any]], str]

SENTENCES: Mapping[str, Sentence] = {
    **energy_sentences.SENTENCES,
    **peak_sentences.SENTENCES,
    **wiring_sentences.SENTENCES,
    **bank_sentences.SENTENCES,
    **winter_sentences.SENTENCES,
    **audit_sentences.QUESTIONS,
}


def sentence(told: Told) -> str:
    """What is to be said, in words for the buyer.

    told : code and numbers (SI) from the verdict room. Raises KeyError for a code without a sentence.
    """
    return SENTENCES[told.code](told.parts)
