"""From what was chosen to an answer, kept by a digest of every byte and setting that goes into it.

The words come first: charts are drawn after the verdict stands, and files are made when they are asked for.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

import streamlit as st

from planner.explain.answer import fit_json, fit_text
from planner.explain.chart_look import Figure
from planner.explain.charts import fit_figures
from planner.explain.shown_units import ShownUnits, in_units
from planner.screens.fit_view import FitView, view_of
from planner.screens.given import Given
from planner.screens.reading import KEPT, KEPT_FOR, Choices, Inputs, Refused, worked
from planner.screens.turns import in_turn, one_look
from planner.verdict.assess import DRAWS, SEED, Assessment, judge
from planner.verdict.batch import run_batch

# the assessment that this run of a page made, with the digest it is of; None outside a run
_AT_HAND: ContextVar[dict[str, Assessment] | None] = ContextVar("at_hand", default=None)


@dataclass(frozen=True, slots=True)
class Asked:
    """One question put to the planner."""

    battery: Given
    outing: Given
    climate: Given | None = None
    draws: int = DRAWS
    seed: int = SEED

    @property
    def digest(self) -> str:
        """Changes with every byte and setting that can change the answer."""
        climate = "none" if self.climate is None else self.climate.digest
        text = f"{self.battery.digest} {self.outing.digest} {climate} {self.draws} {self.seed}"
        return hashlib.sha256(text.encode()).hexdigest()

    @property
    def choices(self) -> Choices:
        """The inputs without the settings."""
        return Choices((self.battery,), self.outing, self.climate)


@contextmanager
def one_run() -> Iterator[None]:
    """A run of a page: what it worked out serves its charts as well, and is let go at its end (some 20 to 50 MB)."""
    before = _AT_HAND.set({})
    try:
        with one_look():
            yield
    finally:
        _AT_HAND.reset(before)


def answer(asked: Asked) -> FitView | Refused:
    """The answer in words, from the store when the same was asked before."""
    return _answer(asked.digest, asked)


def answer_figures(asked: Asked) -> tuple[Figure, ...] | Refused:
    """The charts of the answer, from the store when they were drawn before."""
    return _figures(asked.digest, asked)


def answer_as_text(asked: Asked, shown: ShownUnits) -> str:
    """The answer as the command prints it, in these units; made anew."""
    return _made(asked, lambda found: in_units(fit_text(found), shown))


def answer_as_json(asked: Asked) -> str:
    """The answer as the command's JSON; made anew."""
    return _made(asked, lambda found: json.dumps(fit_json(found), indent=2, ensure_ascii=False))


@st.cache_data(max_entries=KEPT, ttl=KEPT_FOR, show_spinner=False)
def _answer(digest: str, _asked: Asked) -> FitView | Refused:  # the digest is the key; _asked is not hashed
    def judged(inputs: Inputs) -> FitView:
        found = assess_inputs(_asked, inputs)
        held = _AT_HAND.get()
        if held is not None:
            held[digest] = found
        return view_of(found, inputs.restored)

    with in_turn():
        return worked(_asked.choices, judged)


@st.cache_data(max_entries=KEPT, ttl=KEPT_FOR, show_spinner=False)
def _figures(digest: str, _asked: Asked) -> tuple[Figure, ...] | Refused:
    found = (_AT_HAND.get() or {}).get(digest)
    with in_turn():
        if found is not None:
            return fit_figures(found)
        return worked(_asked.choices, lambda inputs: fit_figures(assess_inputs(_asked, inputs)))


def assess_inputs(asked: Asked, inputs: Inputs) -> Assessment:
    """The assessment of the page and of its sheet."""
    (bench,) = inputs.benches
    outing = inputs.needed_outing()
    batch = run_batch(bench.record, outing, asked.draws, asked.seed, bench.fitted, inputs.units)
    return judge(batch, inputs.climate, asked.draws, asked.seed, bench)


def _made(asked: Asked, write: Callable[[Assessment], str]) -> str:
    """A file of the answer, the user's own names in it; the problems in words where an input was changed since."""
    found = worked(asked.choices, lambda inputs: inputs.restored(write(assess_inputs(asked, inputs))))
    return "\n".join(map(str, found.problems)) if isinstance(found, Refused) else found
