"""The last good value of an input whose verdict is good or not: a coarse scan, then halving.

A verdict has no slope to follow, so it is halved on, over whole steps: the value found was tried and was good,
and the value one step further was tried and was not.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

Guess = Callable[[int], int | None]

BOUNDARY = "boundary"
GOOD_EVERYWHERE = "good everywhere"
GOOD_NOWHERE = "good nowhere"
GOOD_TO_THE_END = "good to the end"  # not at first, but from some step on to the last one searched


@dataclass(frozen=True, slots=True)
class Found:
    """What a search found, in steps from the present value; further from it is more asked.

    kind : BOUNDARY, or why there is none. inside, outside : the last good step and the next one.
    searched : first and last step that was looked at. monotone : the scan saw one change of verdict only.
    """

    kind: str
    inside: int | None
    outside: int | None
    searched: tuple[int, int]
    monotone: bool


def settle(good: Callable[[int], bool], guess: int, lowest: int, highest: int) -> tuple[int, int] | None:
    """Two neighbouring steps, the first good and the second not, met by strides that double from a guess.

    None when the strides come to an end of the range without a change.
    """
    stride, here = 1, min(max(guess, lowest), highest)
    if good(here):
        while here < highest:
            there = min(here + stride, highest)
            if not good(there):
                return _halve(good, here, there)
            here, stride = there, 2 * stride
        return None
    while here > lowest:
        there = max(here - stride, lowest)
        if good(there):
            return _halve(good, there, here)
        here, stride = there, 2 * stride
    return None


def find_boundary(good: Callable[[int], bool], further: Sequence[int], nearer: Sequence[int],
                  guess: Guess | None = None) -> Found:  # fmt: skip
    """The boundary that is met first from the present value, step 0.

    good : whether the verdict at a step is good. further : steps of the scan, rising from above 0.
    nearer : steps of the scan on the side where less is asked, falling from below 0.
    guess : from a good step, the one that is likely the last good one.
    From a good present value the scan goes further, to its end, and takes the first change. From one that is
    not good it goes nearer to the first good step; where there is none, it goes further after all, as what is
    too hot may be good colder.
    """
    ahead = [0, *further]
    if good(0):
        return _first_change(good, ahead, (0, ahead[-1]), guess)
    last = 0
    for step in nearer:
        if good(step):
            return Found(BOUNDARY, *_halve(good, step, last, guess), (step, 0), monotone=True)
        last = step
    found = _first_change(good, ahead, (last, ahead[-1]), guess)
    return Found(found.kind, found.inside, found.outside, found.searched, monotone=found.kind != BOUNDARY)


def _first_change(good: Callable[[int], bool], steps: Sequence[int], searched: tuple[int, int],
                  guess: Guess | None) -> Found:  # fmt: skip
    """The first change from good to not good along the steps."""
    seen = [good(step) for step in steps]
    if not any(seen):
        return Found(GOOD_NOWHERE, None, None, searched, monotone=True)
    changes = [(a, b) for (a, was), (b, now) in pairwise(zip(steps, seen, strict=True)) if was and not now]
    if not changes:
        return Found(
            GOOD_EVERYWHERE if all(seen) else GOOD_TO_THE_END, None, None, searched, monotone=all(seen)
        )
    after = seen[steps.index(changes[0][1]) :]
    return Found(BOUNDARY, *_halve(good, *changes[0], guess), searched, monotone=not any(after))


def _halve(good: Callable[[int], bool], inside: int, outside: int, guess: Guess | None = None) -> tuple[int, int]:
    """Two neighbouring steps, the first good and the second not: from a guess, else by halving."""
    likely = None if guess is None else guess(inside)
    if likely is not None:
        met = settle(good, min(max(likely, inside), outside - 1), inside, outside)
        if met is not None:
            return met
    while outside - inside > 1:
        middle = (inside + outside) // 2
        inside, outside = (middle, outside) if good(middle) else (inside, middle)
    return inside, outside
