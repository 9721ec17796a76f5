"""The sheet on paper, by typst: PDF with selectable text, or one PNG.

All texts go to typst as data and never as markup, so that a name holding markup prints as it was typed.
"""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Literal

from planner.explain.sheet import Part, Sheet
from planner.explain.sheet_charts import Picture

TEMPLATE = Path(__file__).with_name("sheet.typ")
PIXELS_PER_INCH = 110.0


def pdf_bytes(sheet: Sheet, pictures: Iterable[Picture]) -> bytes:
    """The sheet as PDF on A4: the buyer's page, then the evidence."""
    return _compiled(sheet, pictures, "pdf")


def png_bytes(sheet: Sheet, pictures: Iterable[Picture]) -> bytes:
    """The whole sheet as one tall picture."""
    return _compiled(sheet, pictures, "png")


def _compiled(sheet: Sheet, pictures: Iterable[Picture], kind: Literal["pdf", "png"]) -> bytes:
    import typst

    data = json.dumps(_data(sheet, tuple(pictures), kind))
    noon = datetime.datetime.combine(sheet.date, datetime.time(12), datetime.UTC)
    # packages come from nowhere, and the clock is the sheet's date: the same inputs give the same bytes
    made = typst.compile(
        TEMPLATE.read_bytes(),
        format=kind,
        ignore_system_fonts=True,  # the sheet's letters come with typst, and no machine's own change it
        sys_inputs={"sheet": data},
        timestamp=int(noon.timestamp()),
        ppi=PIXELS_PER_INCH,
    )
    assert isinstance(made, bytes)  # one file, as a picture is laid out as one page
    return made


def _data(sheet: Sheet, pictures: tuple[Picture, ...], kind: str) -> dict[str, Any]:
    """What the template shows."""
    return {
        "tall": kind == "png",
        "title": f"{sheet.battery}: {sheet.outing}",
        "verdict": sheet.verdict,
        "headline": sheet.headline,
        "about": list(sheet.about),
        "tester": sheet.tester,
        "date": sheet.date.isoformat(),
        "parts": [_part(part) for part in sheet.parts if part.items],
        "cautions": _part(sheet.cautions) | {"columns": two_columns(sheet.cautions.items)},
        "tables": [
            {"heading": table.heading, "heads": list(table.heads), "rows": [list(row) for row in table.rows],
             "shares": list(table.shares), "notes": list(table.notes)}
            for table in sheet.tables
        ],
        "notes": _part(sheet.notes) | {"columns": two_columns(sheet.notes.items)},
        "made": [list(pair) for pair in sheet.made_with],
        "pictures": [{"svg": one.svg, "legend": one.legend, "alt": one.alt} for one in pictures],
    }  # fmt: skip


def _part(part: Part) -> dict[str, Any]:
    return {"heading": part.heading, "items": list(part.items)}


def two_columns(items: tuple[str, ...]) -> list[list[str]]:
    """Items in two columns of nearly the same amount of text, their order kept."""
    lengths = [len(item) + 40 for item in items]  # an item's last line is half empty
    best = min(range(len(items) + 1), key=lambda k: max(sum(lengths[:k]), sum(lengths[k:])))
    return [list(items[:best]), list(items[best:])]
