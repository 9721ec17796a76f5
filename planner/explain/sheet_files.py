"""The sheet in each kind of file, by the ending of the file's name."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from planner.explain.sheet import Sheet
from planner.explain.sheet_charts import PRINTED, pictures
from planner.explain.sheet_html import html_text
from planner.explain.sheet_plain import csv_text, json_text, plain_text
from planner.explain.sheet_print import pdf_bytes, png_bytes
from planner.verdict.assess import Assessment

KINDS: Mapping[str, Callable[[Sheet, Assessment], bytes]] = {
    ".pdf": lambda sheet, answer: pdf_bytes(sheet, pictures(answer, PRINTED)),
    ".html": lambda sheet, answer: html_text(sheet, pictures(answer)).encode(),
    ".png": lambda sheet, answer: png_bytes(sheet, pictures(answer, PRINTED)),
    ".csv": lambda sheet, _: csv_text(sheet).encode(),
    ".json": lambda sheet, _: json_text(sheet).encode(),
    ".txt": lambda sheet, _: plain_text(sheet).encode(),
}


def sheet_bytes(sheet: Sheet, assessment: Assessment, ending: str) -> bytes:
    """The file's bytes. ending : one of KINDS. Raises KeyError for another."""
    return KINDS[ending](sheet, assessment)
