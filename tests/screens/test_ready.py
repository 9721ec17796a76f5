"""What is done before the first visitor comes."""

from __future__ import annotations

import gc
import threading
import time
from collections.abc import Iterator

import pytest
import streamlit as st

from planner import units
from planner.explain.shown_units import in_other_units
from planner.screens import answering, first_answer, ready
from planner.screens.answering import Asked, answer, answer_figures
from planner.screens.fit_view import FitView
from planner.screens.shelf import choosable
from planner.screens.state import BATTERY, FIRST, OUTING


def test_the_first_page_finds_its_answer_and_charts_made(monkeypatch: pytest.MonkeyPatch) -> None:
    st.cache_data.clear()
    first_answer.words()
    first_answer.charts()

    def refuse(*_: object) -> None:
        raise AssertionError("worked out again")

    monkeypatch.setattr(answering, "assess_inputs", refuse)
    monkeypatch.setattr(answering, "fit_figures", refuse)
    asked = Asked(choosable(BATTERY)[FIRST[BATTERY]].given, choosable(OUTING)[FIRST[OUTING]].given)
    found = answer(asked)
    assert isinstance(found, FitView)
    assert found.verdict
    assert answer_figures(asked)


@pytest.fixture
def begun(monkeypatch: pytest.MonkeyPatch) -> Iterator[threading.Event]:
    """A thread at work until the event is set; its words are not ready."""
    done = threading.Event()
    thread = threading.Thread(target=done.wait)
    thread.start()
    monkeypatch.setattr(ready, "_thread", thread)
    monkeypatch.setattr(ready, "_words_are_ready", threading.Event())
    monkeypatch.setattr(ready, "_somebody_waits", threading.Event())
    yield done
    done.set()
    thread.join()


def test_nothing_is_waited_for_where_nothing_was_begun() -> None:
    ready.wait_until_ready()
    assert not ready._somebody_waits.is_set()


def test_a_page_waits_for_what_was_begun_and_no_longer(
    begun: threading.Event, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ready, "LONGEST_S", 0.1)
    began = time.monotonic()
    ready.wait_until_ready()
    assert time.monotonic() - began >= 0.1
    assert not begun.is_set() and ready._somebody_waits.is_set()


def test_a_page_goes_on_as_soon_as_the_words_are_there(begun: threading.Event) -> None:
    ready._words_are_ready.set()
    ready.wait_until_ready()
    assert not begun.is_set()


@pytest.mark.parametrize("waiting", [False, True])
def test_charts_are_made_beforehand_unless_a_page_is_about_to_make_them(
    monkeypatch: pytest.MonkeyPatch, waiting: bool
) -> None:
    made: list[str] = []
    monkeypatch.setattr(first_answer, "words", lambda: made.append("words"))
    monkeypatch.setattr(first_answer, "charts", lambda: made.append("charts"))
    for name in ("_words_are_ready", "_somebody_waits"):
        monkeypatch.setattr(ready, name, threading.Event())
    if waiting:
        ready._somebody_waits.set()
    ready._first_answer()
    assert ready._words_are_ready.is_set() and gc.isenabled()
    assert made == (["words"] if waiting else ["words", "charts"])


def test_a_page_is_let_go_where_the_first_answer_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails() -> None:
        raise RuntimeError

    monkeypatch.setattr(first_answer, "words", fails)
    monkeypatch.setattr(ready, "_words_are_ready", threading.Event())
    with pytest.raises(RuntimeError):
        ready._first_answer()
    assert ready._words_are_ready.is_set() and gc.isenabled()


def test_the_editor_finds_the_registry_of_units_read(monkeypatch: pytest.MonkeyPatch) -> None:
    units._scale_from_pint.cache_clear()
    units._registry.cache_clear()
    first_answer.editor()

    def refuse() -> None:
        raise AssertionError("read again")

    monkeypatch.setattr(units, "_registry", refuse)
    assert in_other_units("20 degC", "temperature") == "68 °F"
