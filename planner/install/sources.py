"""Where a figure of this room comes from, and how well that was checked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

# read: the published text itself was looked up; reprint: a summary or reprint of it was;
# memory: from memory of a well-known text; practice: common practice, no source.
Sureness = Literal["read", "reprint", "memory", "practice"]


@dataclass(frozen=True, slots=True)
class Source:
    """A published text (or the plain word that there is none) and how it was checked."""

    text: str
    sure: Sureness


TABLE_5 = Source("33 CFR 183.425 Table 5", "read")
TABLE_5_EDITION = "annual edition of 2015; check for amendments"
LICENSED = "Local code and a qualified person decide."
