"""The printed sheet read back as its reader has it: by pdftotext of poppler, page by page."""

from __future__ import annotations

import datetime
import re
import subprocess

import pytest

from planner.battery.speaks import printed_constants
from planner.explain.cautions import peak_is_shown
from planner.explain.sheet import sheet_of
from planner.explain.sheet_files import sheet_bytes
from planner.explain.sheet_print import pdf_bytes
from tests.explain.demo import COMBINATIONS, assessed
from tests.explain.wording import forbidden_in

DAY = datetime.date(2030, 1, 31)
# a bare voltage class, an engineer's rate or percentile, a certainty
BARE = re.compile(r"\b12 ?(V|volts?)\b|C-rate|\b\d*\.?\d+ ?C\b|[>≥]\s*\d+ ?%|%|\bP[159]0\b", re.IGNORECASE)


def pages(data):
    """The text of each page, line ends forgotten."""
    done = subprocess.run(["pdftotext", "-", "-"], input=data, capture_output=True, check=True)
    return [" ".join(page.split()) for page in done.stdout.decode().split("\f")[:-1]]


def without_names(text, found):
    # the battery's and the outing's names are the user's own and may say anything
    for name in (found.record.name, found.outing.name):
        text = text.replace(name, "")
    return text


@pytest.mark.parametrize("combination", COMBINATIONS, ids=lambda c: "-".join(map(str, c)))
def test_the_printed_page_of_every_pair_reads_as_a_buyer_reads(combination):
    found = assessed(*combination)
    sheet = sheet_of(found, DAY)
    printed = pages(pdf_bytes(sheet, ()))
    assert len(printed) == 2
    first, second = (without_names(page, found) for page in printed)
    assert first.startswith(sheet.headline)
    assert BARE.findall(first) == []
    assert forbidden_in(first) == []
    # verdict, then what to keep to, the numbers, what is not known, the cautions
    headings = [part.heading for part in (*sheet.parts, sheet.cautions) if part.items]
    places = [first.index(f" {heading} ") for heading in headings]
    assert places == sorted(places)
    assert first.index("How long:") < first.index("How much:")
    assert first.count("the counter") == 0 or "zeroed when the battery is full" in first
    if not peak_is_shown(found) and found.runtime.ended_by != "trip":
        assert "if it does not switch off" in first.lower()
    assert "We tested" in first
    for _, value, _ in printed_constants():
        assert f" {value:g} " in second[second.index("How far a test speaks") :]
    assert "Seed" in second
    assert DAY.isoformat() in second


def test_a_range_of_hours_is_told_by_its_worse_end():
    first, _ = pages(pdf_bytes(sheet_of(assessed("unit_one", "trolling_day"), DAY), ()))
    assert re.search(r"In nine outings of ten at least \d+ h", first)


def test_charts_are_on_the_evidence_page_with_letters_that_can_be_searched():
    found = assessed("unit_two", "trailer_weekend", "cold-lake")
    data = sheet_bytes(sheet_of(found, DAY), found, ".pdf")
    first, second = pages(data)[:2]  # dense evidence flows on to a third page
    assert "Charge left (Ah)" in second
    assert "Held without a break (log scale)" in second
    assert "Charge left (Ah)" not in first


def test_an_address_is_printed_line_by_line_and_stays_on_the_buyers_page():
    """The longest the tester may say, in more lines than are kept apart: all of it is there, on page one."""
    found = assessed("unit_two", "trailer_weekend", "cold-lake")
    words = "\n".join(["A. Tester", "12 Quay Street", "", "<b>Tel.</b> 555 0100", *["word " * 9] * 18])
    assert 800 < len(words) <= 1000
    sheet = sheet_of(found, DAY, tester=words)
    assert sheet.tester.splitlines()[:3] == ["A. Tester", "12 Quay Street", "<b>Tel.</b> 555 0100"]
    assert len(sheet.tester.splitlines()) == 6 and sheet.tester.count("word") == 9 * 18
    done = subprocess.run(["pdftotext", "-layout", "-l", "1", "-", "-"], input=pdf_bytes(sheet, ()), capture_output=True, check=True)
    lines = [line.strip() for line in done.stdout.decode().splitlines()]
    place = lines.index("A. Tester")
    assert lines[place : place + 3] == ["A. Tester", "12 Quay Street", "<b>Tel.</b> 555 0100"]
    assert len(pages(pdf_bytes(sheet, ()))) == 2
    page = sheet_bytes(sheet, found, ".html").decode()
    assert "<p>A. Tester<br>12 Quay Street<br>&lt;b&gt;Tel.&lt;/b&gt; 555 0100<br>word" in page


@pytest.mark.parametrize("combination", COMBINATIONS[::4], ids=lambda c: "-".join(map(str, c)))
def test_no_letter_is_too_small_for_paper_and_no_page_holds_a_last_line_alone(combination):
    found = assessed(*combination)
    data = sheet_bytes(sheet_of(found, DAY), found, ".pdf")
    boxes = subprocess.run(["pdftotext", "-bbox", "-", "-"], input=data, capture_output=True, check=True).stdout.decode()
    heights = [float(low) - float(high) for high, low in re.findall(r'yMin="([\d.]+)" xMax="[\d.]+" yMax="([\d.]+)"', boxes)]
    # the height of a line of 6.5 points, letters of charts included (a chosen level)
    assert min(heights) >= 6.5
    evidence = pages(data)[1:]
    assert len(evidence) <= 2
    assert all(len(page.split()) >= 100 for page in evidence)


def test_a_chart_and_its_legend_stay_on_one_page():
    for battery, outing in (("unit_three", "inverter_kitchen"), ("unit_one", "bank_motor")):
        found = assessed(battery, outing)
        printed = pages(sheet_bytes(sheet_of(found, DAY), found, ".pdf"))
        (chart,) = [number for number, page in enumerate(printed) if "Held without a break (log scale)" in page]
        assert "Blank: not tested. Ring: what decides." in printed[chart]
