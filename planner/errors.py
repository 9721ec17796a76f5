"""What is refused, and why: the fields first, the sentence built from them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


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

    def __str__(self) -> str:
        return f"{self.file}: {self.key} is {self.value}; accepted: {self.allowed}. {self.fix}"


class InputRefused(Exception):
    """An input cannot be used. Carries every problem found, never only the first."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))
