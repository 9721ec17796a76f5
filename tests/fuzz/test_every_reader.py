"""A part of the run of hostile inputs, each reader by itself; the whole is python -m tests.fuzz.run."""

from __future__ import annotations

import pytest

from planner.errors import InputRefused, Problem
from tests.fuzz import trial
from tests.fuzz.run import plan, tried
from tests.fuzz.subjects import SUBJECTS, Subject

INPUTS = 1000  # a tenth of the whole run
SEED = 20
PLANNED = plan(INPUTS)


@pytest.mark.parametrize("name", SUBJECTS)
def test_every_input_gets_an_answer_or_a_message_that_helps(name: str) -> None:
    outcomes = tried(name, PLANNED[name], SEED)
    bad = [
        f"--number {number}\n{outcome.defect}" for number, outcome in enumerate(outcomes) if outcome.defect
    ]
    assert bad == [], f"python -m tests.fuzz.run --subject '{name}' --seed {SEED} " + "\n".join(bad[:3])
    # Inputs that nobody refuses test nothing; what an address asks for in vain is told on a page that is drawn.
    assert any(outcome.refused for outcome in outcomes) or name == "page address"


@pytest.mark.parametrize("name", SUBJECTS)
def test_what_is_made_worse_was_good(name: str) -> None:
    outcome = trial.put_to(name, SUBJECTS[name].good()[0])
    assert outcome.defect is None
    assert not outcome.refused or name == "typed texts"  # no profile is called by the first of them


def _raises(error: Exception) -> Subject:
    def read(data: bytes, folder: object) -> object:
        raise error

    return Subject(lambda: [b""], lambda rng, data: data, read, 1)


@pytest.mark.parametrize(
    ("error", "defect"),
    [
        (KeyError("x"), "KeyError"),
        (MemoryError(), "out of memory"),
        (InputRefused([]), "without a problem"),
        (InputRefused([Problem("a.toml", "", "1", "2", "3")]), "without key"),
        (InputRefused([Problem("a.toml", "b", "1", "x" * 3000, "3")]), "characters"),
    ],
)
def test_a_defect_is_seen(error: Exception, defect: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(SUBJECTS, "broken", _raises(error))
    outcome = trial.put_to("broken", b"")
    assert outcome.defect is not None
    assert defect in outcome.defect


def test_an_input_is_made_again_from_its_number() -> None:
    assert trial.input_of("outing", 7, SEED) == trial.input_of("outing", 7, SEED)
    assert len({trial.input_of("outing", number, SEED) for number in range(30)}) > 20
