"""What every first visitor would wait for, done on a thread of its own from the moment the server starts.

It is the modules of the first page, the engine's machine code (compiled where this machine has none yet) and the
answer of the first page, which goes where every answer is kept.
"""

from __future__ import annotations

import gc
import threading
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import streamlit as st

FIRST_LOOK_S = 3.0  # what is not needed yet stays out of a first visitor's way for so long
LONGEST_S = 300.0  # after this a page goes on by itself and meets what the thread met
SLOW = "Getting the engine ready: about a minute the first time on a computer, a second or two later …"

_words_are_ready = threading.Event()
_somebody_waits = threading.Event()


def _first_answer() -> None:
    try:
        gc.disable()  # looking through thousands of new modules again and again costs a tenth of a second
        from planner.screens import first_answer

        first_answer.words()
    finally:
        gc.freeze()  # modules and machine code stay for good: no collection has to look through them
        gc.enable()
        _words_are_ready.set()
    if _somebody_waits.is_set():  # the page draws its charts itself, once its words are out
        time.sleep(FIRST_LOOK_S)
    else:
        first_answer.charts()
    first_answer.editor()


_thread = threading.Thread(target=_first_answer, name="getting ready", daemon=True)


@asynccontextmanager
async def getting_ready(_app: st.App) -> AsyncIterator[None]:
    """While the server runs; what is done is begun and not waited for."""
    _thread.start()
    yield


def wait_until_ready() -> None:
    """Hold the page, with a sentence on it, until the engine answers; at once where nothing was begun."""
    if _thread.is_alive() and not _words_are_ready.is_set():
        _somebody_waits.set()
        with st.spinner(SLOW):
            _words_are_ready.wait(LONGEST_S)
