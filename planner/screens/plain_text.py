"""Text of others on a page: shown as it is, never read as formatting, a link, an icon or HTML."""

from __future__ import annotations

import re

from planner.errors import visible

_PUNCTUATION = re.compile(r"([\\`*_{}\[\]()<>#+\-.!|~$&^=\"'/@])")
_WORD_JOINER = (
    "\u2060"  # invisible; keeps ":name:" from becoming a picture, and web addresses from becoming links
)


def plain(text: str) -> str:
    """A text for st.markdown that reads there exactly as here, on one line.

    Every mark that Markdown or the page's own directives could take for formatting is escaped.
    Source: CommonMark 0.31, 2.4, backslash escapes.
    """
    line = visible(" ".join(text.split()))
    line = _PUNCTUATION.sub(r"\\\1", line)
    return re.sub(r":(?=\S)", ":" + _WORD_JOINER, line).replace("www\\.", f"www{_WORD_JOINER}\\.")
