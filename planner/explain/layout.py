"""Plain text of at most 80 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from planner import __version__
from planner.explain.words import counted

COLUMNS = 80
BULLET = "- "


class Page:
    """Collects title, paragraphs and lists, top to bottom."""

    def __init__(self) -> None:
        self._lines: list[str] = []

    def title(self, verdict: str, names: Iterable[str]) -> None:
        """The verdict's line, and what it is about below it."""
        self._add(verdict)
        for name in names:
            self._add(name, "  ")

    def paragraph(self, text: str) -> None:
        """A paragraph, a blank line before it."""
        self._lines.append("")
        self._add(text)

    def part(self, heading: str, items: Iterable[str], wrap: bool = True) -> None:
        """A heading and its items; nothing when there is no item."""
        listed = list(items)
        if not listed:
            return
        self._lines += ["", heading]
        for item in listed:
            if wrap:
                self._add(item, BULLET)
            else:
                self._lines.append("  " + item)

    def footnote(
        self, seed: int, draws: int, digest: str | None, evidence: str, rules: Iterable[str] = ()
    ) -> None:
        """What is needed to make the same page again, after the rules that the evidence was read by."""
        self._lines += ["", "Evidence"]
        for rule in rules:
            self._add(rule, BULLET)
        known = digest if digest is not None else "none, an input did not come from a file"
        self._add(
            f"weakest that decides: {evidence}; {counted(draws, 'draws')}, seed {seed}, version {__version__}", BULLET
        )
        self._add(f"inputs, SHA-256: {known}", BULLET)

    def text(self) -> str:
        """The whole page, one newline at its end."""
        return "\n".join(line.rstrip() for line in self._lines) + "\n"

    def _add(self, text: str, first: str = "") -> None:
        indent = " " * len(first)
        self._lines += textwrap.wrap(
            " ".join(text.split()),
            COLUMNS,
            initial_indent=first,
            subsequent_indent=indent,
            break_on_hyphens=False,
        ) or [""]
