"""The sheet as data: page one for the buyer, page two the evidence. Rendered by the modules beside this one.

Every sentence is one of the answer's own; nothing is worded a second time. A sheet is a function of the assessment,
the date and the tester's words alone, so that it can be made again.
"""

from __future__ import annotations

import datetime
import unicodedata
from dataclasses import dataclass
from typing import Any

from planner import __version__
from planner.explain.answer import fit_json
from planner.explain.answer_text import (
    KEEP_TO,
    WOULD_HELP,
    apart,
    cures,
    headline,
    is_asked,
    limits,
    not_tested,
    reasons,
    three_numbers,
)
from planner.explain.cautions import cautions
from planner.explain.digest import input_digest
from planner.explain.entry_names import entry_named
from planner.explain.sheet_evidence import Table, evidence_tables
from planner.explain.warnings import one_unit, warnings
from planner.explain.words import capital, listed
from planner.verdict.assess import Assessment

# they turn the reading direction of what follows: a name could rewrite its neighbours (Unicode Standard Annex 9)
DIRECTION_MARKS = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
MOST_LINES = 6  # of the tester's words: more would push the cautions off the buyer's page
NO_DIGEST = "none, an input did not come from a file"


@dataclass(frozen=True, slots=True)
class Part:
    """A heading and its items; nothing is shown when there is no item."""

    heading: str
    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """What a sheet says.

    about : what was tested and for what, as lines. parts : page one below the verdict, in order. tables, notes,
    made_with : the evidence. tester : name and terms in lines, empty by default. answer : all of it for programs.
    """

    verdict: str
    headline: str
    battery: str
    outing: str
    about: tuple[str, ...]
    parts: tuple[Part, ...]
    cautions: Part
    tester: str
    date: datetime.date
    tables: tuple[Table, ...]
    notes: Part
    made_with: tuple[tuple[str, str], ...]
    answer: dict[str, Any]


def sheet_of(assessment: Assessment, date: datetime.date, tester: str = "") -> Sheet:
    """The sheet of an answer. date : printed on it. tester : name and terms, as the tester wants them."""
    counted = [check for check in assessment.checks if is_asked(assessment, check)]
    parts = (
        Part("Why", tuple(reasons(assessment))),
        Part(WOULD_HELP, tuple(cures(assessment))),
        Part(KEEP_TO, tuple(limits(assessment))),
        Part("Three numbers", tuple(three_numbers(assessment))),
        Part("What was not tested", tuple(not_tested(counted))),
        Part("Not asked for this outing, and not in the verdict", tuple(apart(assessment))),
    )
    record, outing = assessment.record, assessment.outing
    return Sheet(
        verdict=assessment.verdict,
        headline=headline(assessment),
        battery=plain(record.name),
        outing=plain(outing.name),
        about=tuple(plain(line) for line in _about(assessment)),
        parts=tuple(_plain_part(part) for part in parts),
        cautions=_plain_part(Part("Cautions", cautions(assessment))),
        tester=plain_lines(tester),
        date=date,
        tables=tuple(_plain_table(table) for table in evidence_tables(assessment)),
        notes=_plain_part(Part("Beside this answer", _notes(assessment))),
        made_with=_made_with(assessment, date),
        answer=fit_json(assessment),
    )


def _notes(assessment: Assessment) -> tuple[str, ...]:
    return tuple(capital(entry_named(text)) for text in warnings(assessment))


def plain(text: str) -> str:
    """A text of one line without characters that print nothing or turn the reading direction."""
    kept = "".join(" " if unicodedata.category(sign) in ("Cc", "Zl", "Zp") else sign
                   for sign in text if sign not in DIRECTION_MARKS)  # fmt: skip
    return " ".join(kept.split())


def plain_lines(text: str) -> str:
    """A text of a few lines, as an address is; empty ones are left out, and from the last one on they run on."""
    lines = [line for line in map(plain, text.splitlines()) if line]
    return "\n".join([*lines[: MOST_LINES - 1], " ".join(lines[MOST_LINES - 1 :])]).strip()


def _about(assessment: Assessment) -> list[str]:
    """The unit, when it was tested, the outing, the weather, and that it was one unit."""
    record = assessment.record
    tested = f"Battery: {record.name}"
    if record.tag is not None:
        tested += f"; unit {record.tag}"
    if record.tested_on is not None:
        tested += f"; tested {record.tested_on.isoformat()}"
    lines = [tested, *_joined(assessment), f"Outing: {assessment.outing.name}"]
    if assessment.climate is not None:
        lines.append(f"Weather: {assessment.climate.name}")
    return [*lines, one_unit(record)]


def _joined(assessment: Assessment) -> list[str]:
    """The units a bank names, where they are others than the battery asked about: the answer stands on them."""
    units = assessment.batch.different_units
    if units == (assessment.record,):
        return []
    named = f"Joined: {listed([unit.name for unit in assessment.batch.units])}"
    return [named if assessment.record in units else f"{named}; the answer is about these"]


def _made_with(assessment: Assessment, date: datetime.date) -> tuple[tuple[str, str], ...]:
    digest = input_digest(assessment.record, assessment.outing, assessment.climate, assessment.batch.units)
    return (
        ("Date", date.isoformat()),
        ("Version", __version__),
        ("Seed", str(assessment.seed)),
        ("Draws", f"{assessment.draws:,}"),
        ("Inputs, SHA-256", digest or NO_DIGEST),
    )


def _plain_part(part: Part) -> Part:
    return Part(part.heading, tuple(plain(item) for item in part.items))


def _plain_table(table: Table) -> Table:
    """What it says, in the names of the page: a file's keys are the file's."""
    rows = tuple(tuple(plain(entry_named(cell)) for cell in row) for row in table.rows)
    notes = tuple(plain(entry_named(note)) for note in table.notes)
    return Table(table.heading, table.heads, rows, table.shares, notes)
