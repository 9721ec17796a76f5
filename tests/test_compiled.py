"""Compilation to machine code tells that it takes its time. The functions are made for the test."""

from __future__ import annotations

import io
import logging

import numpy as np
from numba import njit

from planner import cli
from planner.compiled import COMPILING, compiled


@compiled
def half(value):
    return value / 2.0


@njit
def outer(values):
    return half(values[0]) + half(values[1])


def test_a_compilation_is_told_once_and_a_second_call_tells_nothing(caplog):
    with caplog.at_level(logging.INFO, logger="planner"):
        assert outer(np.array([1.0, 3.0])) == 2.0
        told = list(caplog.messages)
        outer(np.array([2.0, 4.0]))
    assert told == [COMPILING]
    assert caplog.messages == told


class Terminal(io.StringIO):
    def isatty(self):
        return True


def spoken(stream, monkeypatch):
    """What a command that compiles says on standard error."""

    def run(_given):
        logging.getLogger("planner.compiled").info(COMPILING)
        return ""

    monkeypatch.setattr("planner.commands.fit.run", run)
    monkeypatch.setattr("sys.stderr", stream)
    assert cli.main(["fit", "unit_one", "trolling_day"]) == 0
    return stream.getvalue()


def test_who_waits_at_a_terminal_is_told_and_a_pipe_is_not(monkeypatch):
    assert spoken(Terminal(), monkeypatch) == f"{COMPILING}\n"
    assert spoken(io.StringIO(), monkeypatch) == ""
    assert not logging.getLogger("planner").handlers
