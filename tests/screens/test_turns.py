"""Whose answer is worked out next: order, number at once, patience. Laws of a queue, no outside source."""

import threading
import time

import pytest

from planner.screens.turns import Turns, in_turn, one_look

SOON_S = 20.0


def start(turns, number, done, inside=None):
    """A thread that takes its turn and notes its number."""

    def work():
        with turns.turn(number):
            if inside is not None:
                inside()
            done.append(number)

    thread = threading.Thread(target=work)
    thread.start()
    return thread


def waiting(turns, count):
    """Wait until so many stand in the row."""
    until = time.monotonic() + SOON_S
    while len(turns._waiting) != count:
        assert time.monotonic() < until, "they never joined the row"
        time.sleep(0.001)


def test_the_oldest_look_is_next_whoever_came_first_to_the_row():
    turns, done = Turns(1, SOON_S), []
    with turns.turn(0):
        threads = []
        for place, number in enumerate((7, 3, 9, 5), 1):
            threads.append(start(turns, number, done))
            waiting(turns, place)
        assert done == []
    for thread in threads:
        thread.join(SOON_S)
    assert done == [3, 5, 7, 9]


@pytest.mark.parametrize("at_once", [1, 2, 3])
def test_never_more_at_once_than_stated_and_all_are_served(at_once):
    turns, done, count, most, lock = Turns(at_once, SOON_S), [], 0, 0, threading.Lock()

    def inside():
        nonlocal count, most
        with lock:
            count += 1
            most = max(most, count)
        time.sleep(0.002)
        with lock:
            count -= 1

    threads = [start(turns, number, done, inside) for number in range(30)]
    for thread in threads:
        thread.join(SOON_S)
    assert sorted(done) == list(range(30)) and most == at_once
    assert turns._free == at_once and not turns._waiting


def test_who_waited_long_goes_on_beside_and_leaves_no_turn_behind():
    turns, done = Turns(1, 0.05), []
    with turns.turn(0):
        start(turns, 1, done).join(SOON_S)
        assert done == [1] and not turns._waiting
    assert turns._free == 1


def test_a_turn_ends_with_an_error_too():
    turns = Turns(1, SOON_S)
    with pytest.raises(KeyError), turns.turn(0):
        raise KeyError
    assert turns._free == 1


def test_outside_a_look_nobody_waits(monkeypatch):
    turns = Turns(1, SOON_S)
    monkeypatch.setattr("planner.screens.turns._turns", turns)
    with turns.turn(0), in_turn():
        assert turns._free == 0 and not turns._waiting
    with one_look(), in_turn():
        assert turns._free == 0
    assert turns._free == 1
