"""The sheet over the invented demo data: wording, inert texts, the same bytes again."""

from __future__ import annotations

import csv
import dataclasses
import datetime
import io
import json
import re

import pytest

from planner.explain.cautions import peak_is_shown
from planner.explain.sheet import plain, sheet_of
from planner.explain.sheet_files import KINDS, sheet_bytes
from planner.explain.sheet_print import two_columns
from planner.explain.sheet_units import sheet_in_units
from planner.explain.shown_units import AS_MADE, US
from tests.explain.demo import BATTERIES, COMBINATIONS, assessed
from tests.explain.wording import forbidden_in

DAY = datetime.date(2030, 1, 31)
# typst markup, code, HTML, a spreadsheet formula and a mark that turns the reading direction, all in one name
NASTY = '=1+1 #panic("no") *bold* $x$ @ref <script>alert(1)</script> \u202e&'
BARE = re.compile(r"\b12 ?(V|volts?)\b|C-rate|\b\d*\.?\d+ ?C\b|>\s*95|%|\bP[159]0\b", re.IGNORECASE)


def nasty():
    found = assessed("unit_one", "trolling_day")
    return dataclasses.replace(
        found,
        record=dataclasses.replace(found.record, name=NASTY),
        outing=dataclasses.replace(found.outing, name=NASTY),
    )


def page_one(sheet):
    # the battery's and the outing's names are the user's own and may say anything
    said = [item for part in sheet.parts for item in part.items]
    return "\n".join([sheet.headline, *said, *sheet.cautions.items])


def items_under(heading, sheet):
    return next(part for part in sheet.parts if part.heading == heading).items


@pytest.mark.parametrize("combination", COMBINATIONS, ids=lambda c: "-".join(map(str, c)))
def test_the_buyers_page_keeps_to_the_buyers_words(combination):
    found = assessed(*combination)
    sheet = sheet_of(found, DAY)
    text = page_one(sheet)
    assert forbidden_in(text) == []
    assert BARE.findall(text) == []
    for limit in (item for part in sheet.parts for item in part.items if "the counter" in item):
        assert "zeroed when the battery is full" in limit
    if not peak_is_shown(found) and found.runtime.ended_by != "trip":
        assert "if it does not switch off" in text.lower()
    assert any("We tested one unit" in line for line in sheet.about)


def test_numbers_tell_hours_before_amp_hours_and_the_worse_end_first():
    numbers = items_under("Three numbers", sheet_of(assessed("unit_one", "trolling_day"), DAY))
    assert [item.split(":")[0] for item in numbers] == ["How long", "How much", "How hard"]
    assert "In nine outings of ten at least" in numbers[0]


@pytest.mark.parametrize("ending", KINDS)
def test_the_same_inputs_and_date_give_the_same_bytes(ending):
    found = assessed("unit_two", "inverter_kitchen", "cold-lake")
    first, again = (sheet_bytes(sheet_of(found, DAY, "A. Tester"), found, ending) for _ in range(2))
    assert first == again
    other = sheet_bytes(sheet_of(found, datetime.date(2030, 2, 1), "A. Tester"), found, ending)
    assert other != first


def test_a_pdf_is_at_most_400_kb_and_holds_text_that_can_be_copied():
    found = assessed("unit_two", "trailer_weekend", "cold-lake")
    made = sheet_bytes(sheet_of(found, DAY), found, ".pdf")
    assert made.startswith(b"%PDF-")
    assert len(made) <= 400_000
    assert b"/ToUnicode" in made  # fonts that map their shapes back to letters (ISO 32000-1, 9.10.3)


def test_markup_in_a_name_is_only_text():
    found = nasty()
    sheet = sheet_of(found, DAY, tester=NASTY)
    assert sheet_bytes(sheet, found, ".pdf").startswith(b"%PDF-")  # markup that ran would panic
    page = sheet_bytes(sheet, found, ".html").decode()
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    cells = [cell for row in csv.reader(io.StringIO(sheet_bytes(sheet, found, ".csv").decode("utf-8-sig"))) for cell in row]
    assert any(NASTY[:4] in cell for cell in cells)
    assert [cell for cell in cells if cell.startswith(("=", "+", "-", "@"))] == []


def test_plain_takes_out_what_prints_nothing():
    assert plain("a\u202eb\tc\n d") == "ab c d"


def test_a_page_asks_for_nothing_from_elsewhere():
    found = assessed("unit_one", "trolling_day")
    page = sheet_bytes(sheet_of(found, DAY), found, ".html").decode()
    assert page.count("<svg") == 4
    assert re.findall(r'(?:src|href)="(?!#)[^"]*"', page.replace('xlink:href="', 'href="')) == []
    ids = re.findall(r'\bid="([^"]+)"', page)
    assert len(ids) == len(set(ids))


def test_json_holds_the_evidence_with_classes_and_the_whole_answer():
    found = assessed("unit_one", "trolling_day")
    told = json.loads(sheet_bytes(sheet_of(found, DAY), found, ".json"))
    rows = told["evidence"]["Question by question"]
    assert [row["Verdict"] for row in rows] == [check["verdict"] for check in told["answer"]["checks"]]
    assert rows[0]["Class"] == "B stated"
    assert told["evidence"]["Claims beside measurements"][0]["Label or seller says"] == "100 Ah"


def test_two_columns_hold_every_item_in_order():
    items = ("a" * 300, "b" * 20, "c" * 200, "d")
    left, right = two_columns(items)
    assert (*left, *right) == items
    assert left and right


def test_the_buyers_page_tells_the_year_beside_a_verdict_that_leaves_it_out():
    fit = assessed("unit_one", "trolling_day", "cold-lake")
    assert fit.verdict == "fits"
    (told,) = next(part for part in sheet_of(fit, DAY).parts if part.heading.startswith("Not asked")).items
    assert told.startswith("Charging it there all year: does not fit. With the weather you chose")
    asked = sheet_of(assessed("unit_one", "ice_shelter", "cold-lake"), DAY)
    assert all(not part.items for part in asked.parts if part.heading.startswith("Not asked"))


@pytest.mark.parametrize("shown", [AS_MADE, US])
@pytest.mark.parametrize("battery", BATTERIES)
def test_no_page_writes_a_unit_as_files_do(battery, shown):
    found = assessed(battery, "inverter_kitchen", "cold-lake")
    sheet = sheet_in_units(sheet_of(found, DAY), shown)
    told = [cell for table in sheet.tables for row in table.rows for cell in row]
    told += [*(note for table in sheet.tables for note in table.notes), *sheet.notes.items, page_one(sheet)]
    assert "°" in " ".join(told)
    assert [text for text in told if "degC" in text or "delta_" in text] == []


def test_the_evidence_page_names_tests_and_loads_and_leaves_keys_to_the_files():
    sheet = sheet_of(assessed("unit_one", "trolling_day", "cold-lake"), DAY)
    cells = [cell for table in sheet.tables for row in table.rows for cell in row]
    told = "\n".join([*cells, *(note for table in sheet.tables for note in table.notes), *sheet.notes.items])
    assert "full discharge 1" in told and "load 1 to load 3, way home" in told
    assert re.findall(r"\b[a-z]+_[a-z_]+\b|\bload\.\d|\bdegC\b", told) == []


def test_units_of_a_bank_that_the_answer_stands_on_are_named_on_the_buyers_page():
    other, one_of_them, alone = (
        sheet_of(assessed(battery, outing), DAY).about
        for battery, outing in (("unit_two", "series_pair"), ("unit_one", "series_pair"), ("unit_one", "bank_motor"))
    )
    names = "Joined: Demo unit one, 100 Ah (invented) and Demo unit five, 230 Ah with heater (invented)"
    assert f"{names}; the answer is about these" in other
    assert names in one_of_them
    assert not any(line.startswith("Joined") for line in alone)


def test_what_would_help_is_told_of_what_does_not_fit_alone():
    # the year decides: an inverter's cable does not charge the battery
    year = sheet_of(assessed("unit_one", "ice_shelter", "cold-lake"), DAY)
    assert year.verdict == "does not fit"
    assert items_under("What would help", year) == ()
    assert [item.split(":")[0] for item in items_under("What to keep to", year)] == ["Inverter"]
    found = assessed("unit_four", "inverter_kitchen")
    cured = [check.limit is not None for check in found.deciding]
    assert any(cured)
    assert len(items_under("What would help", sheet_of(found, DAY))) == sum(cured)


def test_questions_open_for_one_reason_are_told_together():
    sheet = sheet_of(assessed("unit_one", "series_pair"), DAY)
    (why,) = items_under("Why", sheet)
    assert why.startswith("How long it lasts; Reserve; Highest current held; ")
    assert why.endswith("so we draw no verdict from it.")


def test_a_hard_pull_is_told_beside_a_long_one_that_has_less_room():
    hard = items_under("Three numbers", sheet_of(assessed("unit_one", "anchor_winch"), DAY))[2]
    # by hand, at 5 h 30 min: 185 A of the winch, 13 A of the bilge pump for its 0.25 s, 2.4 A of the instruments;
    # a ramp to 284 A at 15 A/s was above 280.25 A for 0.25 s, less 1.5 % and 0.4 A, less 0.3 s of the clock at 15 A/s
    assert "The highest pull is 201 amps for 0.3 seconds: there it was shown to hold 271 amps." in hard
    steady = items_under("Three numbers", sheet_of(assessed("unit_one", "series_pair"), DAY))[2]
    assert "highest" not in steady


@pytest.mark.parametrize("known", ["claimed", "handbook"])
def test_no_time_is_told_of_a_battery_that_nobody_discharged(known):
    found = assessed("unit_two", "trolling_day")
    unmeasured = dataclasses.replace(found, fitted=dataclasses.replace(found.fitted, capacity_evidence=known))
    how_long, how_much, _ = items_under("Three numbers", sheet_of(unmeasured, DAY))
    assert how_long == "How long: you need 8 h. What this unit gives was not measured, so how long it lasts is not known."
    assert "gives was not measured" in how_much
