"""The sheet in each kind of file, by the ending of the file's name."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from planner.explain.sheet import Sheet
from planner.explain.sheet_charts import PRINTED, pictures
from planner.explain.sheet_html import html_text
from planner.explain.sheet_plain import csv_text, json_text, plain_text
from planner.explain.sheet_print import pdf_bytes, png_bytes
from planner.explain.sheet_units import sheet_in_units
from planner.explain.shown_units import AS_MADE, ShownUnits
from planner.verdict.assess import Assessment

KINDS: Mapping[str, Callable[[Sheet, Assessment, ShownUnits], bytes]] = {
    ".pdf": lambda sheet, answer, shown: pdf_bytes(sheet, pictures(answer, PRINTED, shown)),
    ".html": lambda sheet, answer, shown: html_text(sheet, pictures(answer, None, shown)).encode(),
    ".png": lambda sheet, answer, shown: png_bytes(sheet, pictures(answer, PRINTED, shown)),
    ".csv": lambda sheet, *_: csv_text(sheet).encode(),
    ".json": lambda sheet, *_: json_text(sheet).encode(),
    ".txt": lambda sheet, *_: plain_text(sheet).encode(),
}


def sheet_bytes(sheet: Sheet, assessment: Assessment, ending: str, shown: ShownUnits = AS_MADE) -> bytes:
    """The file's bytes, words and charts in the units shown. ending : one of KINDS. Raises KeyError for another."""
    return KINDS[ending](sheet_in_units(sheet, shown), assessment, shown)
