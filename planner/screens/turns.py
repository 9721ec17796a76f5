"""Whose answer is worked out next where many look at once: of the look that began first, a few at a time.

Twenty answers worked out side by side are all ready at the end of the last; one after another, half of them are there
in half the time, and all of them no later.
"""

from __future__ import annotations

import heapq
import itertools
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

# one in Python, of which there is one processor's worth, while the engine has another's numbers on the rest
AT_ONCE = 2
PATIENCE_S = 2.0  # who waited so long waits behind work of many seconds, and goes on beside it

_LOOK: ContextVar[int | None] = ContextVar("look", default=None)  # its number; None outside a look at a page
_numbers = itertools.count()


class Turns:
    """At most `at_once` in their turn; of those who wait the one with the lowest number is next."""

    def __init__(self, at_once: int, patience_s: float) -> None:
        self._free, self._patience_s = at_once, patience_s
        self._lock = threading.Lock()
        self._waiting: list[tuple[int, int, threading.Event]] = []
        self._joined = itertools.count()  # tells two of one number apart

    @contextmanager
    def turn(self, number: int) -> Iterator[None]:
        """Wait for one's turn, or as long as patience lasts; the turn ends with the block."""
        has_turn = self._wait(number)
        try:
            yield
        finally:
            if has_turn:
                self._pass_on()

    def _wait(self, number: int) -> bool:
        """Whether the turn came in time."""
        with self._lock:
            if self._free:
                self._free -= 1
                return True
            mine = (number, next(self._joined), threading.Event())
            heapq.heappush(self._waiting, mine)
        if mine[2].wait(self._patience_s):
            return True
        with self._lock:
            if mine[2].is_set():  # it came just now
                return True
            self._waiting.remove(mine)
            heapq.heapify(self._waiting)
            return False

    def _pass_on(self) -> None:
        with self._lock:
            if self._waiting:
                heapq.heappop(self._waiting)[2].set()
            else:
                self._free += 1


_turns = Turns(AT_ONCE, PATIENCE_S)


@contextmanager
def one_look() -> Iterator[None]:
    """A look at a page, which has its place in the row from its beginning."""
    before = _LOOK.set(next(_numbers))
    try:
        yield
    finally:
        _LOOK.reset(before)


@contextmanager
def in_turn() -> Iterator[None]:
    """Work of some tenths of a second, when it is this look's turn; at once outside a look."""
    number = _LOOK.get()
    if number is None:
        yield
        return
    with _turns.turn(number):
        yield
