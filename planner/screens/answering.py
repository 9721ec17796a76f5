"""From what was chosen to an answer, kept by a digest of every byte and setting that goes into it."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

import streamlit as st

from planner.battery.fit import Fitted, fit_record
from planner.errors import InputRefused, Problem
from planner.outing.reader import read_outing
from planner.record.reader import read_record
from planner.record.schema import Record
from planner.screens.fit_view import FitView, view_of
from planner.screens.given import Given, Placed, placed, with_names_restored
from planner.verdict.assess import DRAWS, SEED, assess
from planner.winter.reader import read_climate

Read = TypeVar("Read")

KEPT, KEPT_FOR = 24, "2h"  # a view is about 0.5 MB (measured)


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


@dataclass(frozen=True, slots=True)
class Refused:
    """Why there is no answer."""

    problems: tuple[Problem, ...]


def answer(asked: Asked) -> FitView | Refused:
    """The answer, from the store when the same was asked before."""
    return _answer(asked.digest, asked)


@st.cache_data(max_entries=KEPT, ttl=KEPT_FOR, show_spinner=False)
def _answer(digest: str, _asked: Asked) -> FitView | Refused:  # the digest is the key; _asked is not hashed
    with ExitStack() as folders:
        try:
            battery, outing = (
                folders.enter_context(placed(given)) for given in (_asked.battery, _asked.outing)
            )
            climate = None if _asked.climate is None else folders.enter_context(placed(_asked.climate))
        except InputRefused as refused:
            return Refused(refused.problems)
        return _worked_out(_asked, battery, outing, climate)


def _worked_out(asked: Asked, battery: Placed, outing: Placed, climate: Placed | None) -> FitView | Refused:
    """Read all inputs, so that all problems are told at once; then judge."""
    problems: list[Problem] = []

    def read(reader: Callable[[Path, Mapping[str, Path] | None], Read], place: Placed) -> Read | None:
        try:
            return reader(place.path, place.named)
        except InputRefused as refused:
            problems.extend(with_names_restored(refused, place.restored))
            return None

    record, need = read(read_record, battery), read(read_outing, outing)
    weather = None if climate is None else read(read_climate, climate)
    if record is None or need is None or problems:
        return Refused(tuple(problems))

    def restored(text: str) -> str:
        for place in (battery, outing, climate):
            text = text if place is None else place.restored(text)
        return text

    try:
        fitted = _model(asked.battery.digest, record)
        return view_of(assess(record, need, weather, asked.draws, asked.seed, fitted), restored)
    except InputRefused as refused:  # a weather file is opened late
        return Refused(with_names_restored(refused, restored))


@st.cache_resource(max_entries=KEPT, ttl=KEPT_FOR, show_spinner=False)
def _model(digest: str, _record: Record) -> Fitted:  # frozen, and nobody writes into its arrays
    return fit_record(_record)
