"""What is refused, and why: the fields first, the sentence built from them."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, fields

QUOTED = ("file", "key", "value")  # parts of a message that repeat what strangers wrote
LONGEST_QUOTED = 300  # characters of one of them; more is not read
# Control characters (Unicode category Cc) can steer a terminal; the marks of the bidirectional algorithm that override
# or isolate (UAX #9) turn the rest of a line round; a lone surrogate cannot be written. Line feed and tab stay.
_STEERS = re.compile("[\\x00-\\x08\\x0b-\\x1f\\x7f-\\x9f\\u202a-\\u202e\\u2066-\\u2069\\ud800-\\udfff]")


def visible(text: str) -> str:
    """The text with every character that could steer a terminal or turn a line round written as its escape."""
    return _STEERS.sub(lambda found: ascii(found[0])[1:-1], text)


def is_visible(text: str) -> bool:
    """Whether `visible` leaves the text as it is."""
    return _STEERS.search(text) is None


def is_blank(text: str) -> bool:
    """Whether nothing of the text can be seen: spaces, and signs without width (Unicode categories Z and C)."""
    return all(unicodedata.category(letter)[0] in "ZC" for letter in text)


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with one input.

    file : name of the file, or of the command's argument.
    key : dotted path inside it, list places counted from 1; "(file)" for the file as a whole.
    value : what was found, as typed.
    allowed : what is accepted.
    fix : how to mend it.
    """

    file: str
    key: str
    value: str
    allowed: str
    fix: str

    def __post_init__(self) -> None:
        """What strangers wrote is repeated here, so it is made harmless to show and short enough to read."""
        for part in fields(self):
            text: str = getattr(self, part.name)
            if part.name in QUOTED and len(text) > LONGEST_QUOTED:
                text = text[:LONGEST_QUOTED] + "…"
            if part.name == "value" and is_blank(text):
                text = f'"{text}"'
            if part.name == "key" and text and is_blank(text):
                text = ascii(text)
            object.__setattr__(self, part.name, visible(text))

    def __str__(self) -> str:
        return f"{self.file}: {self.key} is {self.value}; accepted: {self.allowed}. {self.fix}"


class InputRefused(Exception):
    """An input cannot be used. Carries every problem found, never only the first."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))
