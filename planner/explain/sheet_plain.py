"""The sheet without a layout: a text to paste in a message, a table for a spreadsheet, an object for programs."""

from __future__ import annotations

import io
import json

from planner.explain.sheet import Part, Sheet
from planner.verdict.table_file import CsvTable

COLUMNS = 10  # part, item and up to eight cells


def plain_text(sheet: Sheet) -> str:
    """Page one and what is needed to make it again; an item is one line, which the message's reader wraps."""
    made = Part("To make this sheet again", tuple(f"{label}: {value}" for label, value in sheet.made_with))
    blocks = ["\n".join((sheet.headline, *sheet.about))]
    blocks += [_block(part) for part in (*sheet.parts, sheet.cautions) if part.items]
    blocks += [sheet.tester] if sheet.tester else []
    return "\n\n".join([*blocks, _block(made)]) + "\n"


def _block(part: Part) -> str:
    return "\n".join((part.heading, *(f"- {item}" for item in part.items)))


def csv_text(sheet: Sheet) -> str:
    """The evidence tables one below the other, each with its heads; no cell begins a formula.

    The byte order mark tells a spreadsheet that the letters are UTF-8.
    """
    stream = io.StringIO()
    with CsvTable(stream, ["sheet", "verdict", sheet.verdict, *[""] * (COLUMNS - 3)]) as table:
        lines = [("sheet", *line.split(": ", 1)) for line in sheet.about]
        lines += [("sheet", label, value) for label, value in sheet.made_with]
        lines += [("sheet", "Tester", " ".join(sheet.tester.splitlines()))] if sheet.tester else []
        for part in (*sheet.parts, sheet.cautions, sheet.notes):
            lines += [(part.heading, item) for item in part.items]
        for one in sheet.tables:
            lines += [(one.heading, *row) for row in (one.heads, *one.rows)]
            lines += [(one.heading, note) for note in one.notes]
        for line in lines:
            table.write([*line, *[""] * (COLUMNS - len(line))])
    return "\ufeff" + stream.getvalue()


def json_text(sheet: Sheet) -> str:
    """Date, tester, page one, evidence, and the whole answer."""
    told = {
        "date": sheet.date.isoformat(),
        "tester": sheet.tester,
        "headline": sheet.headline,
        "about": list(sheet.about),
        "parts": {part.heading: list(part.items) for part in (*sheet.parts, sheet.cautions, sheet.notes)},
        "evidence": {
            one.heading: [dict(zip(one.heads, row, strict=True)) for row in one.rows] for one in sheet.tables
        },
        "evidence_notes": {one.heading: list(one.notes) for one in sheet.tables},
        "answer": sheet.answer,
    }
    return json.dumps(told, allow_nan=False, indent=1) + "\n"
