"""What is done before the first visitor comes."""

from __future__ import annotations

import threading
import time

import pytest
import streamlit as st

from planner.screens import answering, first_answer, ready
from planner.screens.answering import Asked, answer, answer_figures
from planner.screens.fit_view import FitView
from planner.screens.shelf import choosable
from planner.screens.state import BATTERY, FIRST, OUTING


def test_the_first_page_finds_its_answer_and_charts_made(monkeypatch: pytest.MonkeyPatch) -> None:
    st.cache_data.clear()
    first_answer.make()

    def refuse(*_: object) -> None:
        raise AssertionError("worked out again")

    monkeypatch.setattr(answering, "assess_inputs", refuse)
    monkeypatch.setattr(answering, "fit_figures", refuse)
    asked = Asked(choosable(BATTERY)[FIRST[BATTERY]].given, choosable(OUTING)[FIRST[OUTING]].given)
    found = answer(asked)
    assert isinstance(found, FitView)
    assert found.verdict
    assert answer_figures(asked)


def test_a_page_waits_for_what_was_begun_and_no_longer(monkeypatch: pytest.MonkeyPatch) -> None:
    ready.wait_until_ready()  # nothing was begun
    done = threading.Event()
    thread = threading.Thread(target=done.wait)
    thread.start()
    monkeypatch.setattr(ready, "_thread", thread)
    monkeypatch.setattr(ready, "LONGEST_S", 0.1)
    began = time.monotonic()
    ready.wait_until_ready()
    assert time.monotonic() - began >= 0.1
    assert thread.is_alive()
    done.set()
    thread.join()
    ready.wait_until_ready()
