"""From what was chosen to an answer, kept by a digest of every byte and setting that goes into it."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

import streamlit as st

from planner.screens.fit_view import FitView, view_of
from planner.screens.given import Given
from planner.screens.reading import KEPT, KEPT_FOR, Choices, Inputs, Refused, worked
from planner.verdict.assess import DRAWS, SEED, assess


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


def answer(asked: Asked) -> FitView | Refused:
    """The answer, from the store when the same was asked before."""
    return _answer(asked.digest, asked)


@st.cache_data(max_entries=KEPT, ttl=KEPT_FOR, show_spinner=False)
def _answer(digest: str, _asked: Asked) -> FitView | Refused:  # the digest is the key; _asked is not hashed
    def judged(inputs: Inputs) -> FitView:
        (record,), (model,) = inputs.records, inputs.models
        outing = inputs.needed_outing()
        return view_of(
            assess(record, outing, inputs.climate, _asked.draws, _asked.seed, model, inputs.units), inputs.restored
        )

    return worked(_asked.choices, judged)
