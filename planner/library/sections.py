"""A TOML text cut at its table headings, so that one table is edited and no other byte is touched.

Joined again, the pieces are the text. Comment lines directly above a heading, and the blank lines above
those, belong to the table below.
"""

from __future__ import annotations

import itertools
import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, replace

Path = tuple[str | int, ...]

# TOML's tokens as far as brackets and line ends outside of texts and comments need them.
_TOKEN = re.compile(
    r"""
    "{3}(?:[^\\]|\\.)*?"{3,5} | '{3}.*?'{3,5} | "(?:[^"\\\n]|\\[^\n])*" | '[^'\n]*'
    | \#[^\n]* | [^"'\#\[\]{}\n]+ | .
    """,
    re.DOTALL | re.VERBOSE,
)


@dataclass(frozen=True, slots=True)
class Section:
    """One table. lead : blank and comment lines above; header : its heading's line; body : its keys.

    path : ("load", 2, "start_surge") for [load.start_surge] after the second [[load]]; () for the top,
    whose lead and header are empty. in_list : headed by [[ ]].
    """

    lead: str
    header: str
    body: str
    path: Path
    in_list: bool

    def with_body(self, body: str) -> Section:
        """The same section with other keys."""
        return replace(self, body=body)


def split(text: str) -> list[Section]:
    """The sections of a valid TOML text, the top first."""
    starts = list(_header_starts(text))
    bounds = [0, *starts, len(text)]
    counts: dict[Path, int] = {}
    sections: list[Section] = []
    lead = ""
    for number, (start, end) in enumerate(itertools.pairwise(bounds)):
        chunk = text[start:end]
        header, body = "", chunk
        path: Path = ()
        in_list = False
        if number:
            cut = chunk.index("\n") + 1 if "\n" in chunk else len(chunk)
            header, body = chunk[:cut], chunk[cut:]
            path, in_list = _place(header, counts)
        own, next_lead = _without_tail(body) if end < len(text) else (body, "")
        sections.append(Section(lead, header, own, path, in_list))
        lead = next_lead
    return sections


def joined(sections: list[Section]) -> str:
    """The text of the sections."""
    return "".join(section.lead + section.header + section.body for section in sections)


def _header_starts(text: str) -> Iterator[int]:
    """Where a line begins that is a table's heading."""
    depth, line, blank = 0, 0, True
    in_header = False
    for match in _TOKEN.finditer(text):
        token = match[0]
        if token == "\n":
            line, blank, in_header = match.end(), True, False
            continue
        if token == "[" and depth == 0 and blank:
            in_header = True
            yield line
        if not in_header:
            depth += (token in "[{") - (token in "]}")
        blank = blank and not token.strip()


def _place(header: str, counts: dict[Path, int]) -> tuple[Path, bool]:
    """The table's place; counts the entries of each list on the way."""
    in_list = header.lstrip().startswith("[[")
    keys: list[str] = []
    values = tomllib.loads(header)
    while isinstance(values, dict) and values:
        key, inner = next(iter(values.items()))
        keys.append(key)
        values = inner[0] if isinstance(inner, list) else inner
    path: Path = ()
    for key in keys[:-1]:
        path = (*path, key)
        if path in counts:
            path = (*path, counts[path])
    path = (*path, keys[-1])
    if in_list:
        counts[path] = counts.get(path, 0) + 1
        path = (*path, counts[path])
    return path, in_list


def _without_tail(body: str) -> tuple[str, str]:
    """The body, and the comment lines at its end with the blank lines above them."""
    lines = body.splitlines(keepends=True)
    end = len(lines)
    while end and lines[end - 1].lstrip().startswith("#"):
        end -= 1
    while end and not lines[end - 1].strip():
        end -= 1
    # The last line of a long text in quotes may look like a comment. Its body is then no TOML, and the edit
    # is refused rather than made wrong.
    return "".join(lines[:end]), "".join(lines[end:])
