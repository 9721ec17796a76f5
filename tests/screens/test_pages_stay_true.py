"""What pages tell in rare cases: the limit's condition, a copied case, a currency that is none, rows that are none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest
from streamlit.testing.v1 import AppTest

from planner.explain.answer_text import cures, limits
from planner.library.draft import drafts
from planner.library.store import Library
from planner.screens.fit_parts import _csv
from planner.screens.fit_view import rows_of, runtime_sentence, view_of
from planner.screens.state import BATTERY, CLIMATE, OUTING
from planner.screens.unit_choice import CURRENCY_ACCEPTED, SWITCH
from planner.screens.verdict_bar import gaps
from planner.verdict.check import Told
from tests.explain.demo import BATTERIES, OUTINGS, assessed


def shown(page: AppTest) -> str:
    return "\n".join(part.value for part in (*page.markdown, *page.success))


def test_the_page_keeps_the_condition_that_the_sheet_puts_on_a_limit():
    pairs = [assessed(battery, outing) for battery in BATTERIES[:4] for outing in OUTINGS[:6]]
    conditional = [found for found in pairs if any("if it does not switch off" in text for text in limits(found))]
    assert conditional
    for found in pairs:
        assert view_of(found, str).limits == tuple(limits(found))
        assert view_of(found, str).cures == tuple(cures(found))


@pytest.mark.parametrize(("known", "told"), [("claimed", "a guess from the label."), ("unknown", "a guess.")])
def test_a_charge_that_no_label_names_is_no_guess_from_the_label(known, told):
    found = assessed("unit_two", "trolling_day")
    fitted = replace(found.fitted, capacity_evidence=known)
    assert f"so this is {told}" in runtime_sentence(replace(found, fitted=fitted))


def test_a_copied_case_is_not_said_to_be_in_use(open_page: Callable[..., AppTest]):
    page = open_page("library_page")
    page.session_state["shelf"] = "cases"
    page.run()
    next(box for box in page.text_input if box.label == "Buyer’s case").set_value("Evenings")
    next(button for button in page.button if button.label == "Keep it").click().run()
    next(button for button in page.button if button.label == "Copy").click().run()
    assert not page.exception
    assert "Copied as Evenings" in shown(page).replace("\\", "") and "in use now" not in shown(page)


def test_a_currency_that_is_none_is_told_and_not_passed_over(open_page: Callable[..., AppTest]):
    page = open_page("fit_page")
    page.session_state[SWITCH] = True
    page.run()
    page.text_input(key="units_currency").set_value("US$").run()
    assert not page.exception
    assert any(block.value.endswith(CURRENCY_ACCEPTED) for block in page.markdown)
    page.text_input(key="units_currency").set_value("EUR").run()
    assert not any(CURRENCY_ACCEPTED in block.value for block in page.markdown)
    assert page.session_state["shown_units"].currency == "EUR"


@pytest.mark.parametrize("rows", [list(range(15)), ["a"] * 15, [[1, "2 A"], 3, *({"x": 1},) * 13]])
def test_a_long_table_of_what_is_no_row_is_shown_to_be_mended(open_page: Callable[..., AppTest], own_folder: Path, rows):
    page = open_page("enter_page")
    page.button(key="begin_outing").click().run()
    (draft,) = drafts(Library(own_folder))
    form = f"outing_{page.session_state['outing_form'][1]}"
    page.session_state[f"{form}:text:box"] = True
    page.run()
    (area,) = [each for each in page.text_area if each.label == "Text"]
    table = str(rows).replace("'", '"').replace(": ", " = ").replace('"x" =', "x =")
    motor = f'\n[[load]]\nname = "m"\nkind = "motor"\ntable = {table}\nuse = [{{ start = "0 s", length = "1 h", speed = 1 }}]\n'
    area.set_value(draft.text + motor).run()
    assert not page.exception
    assert any(each.value.startswith(":red[▲]") for each in page.markdown)


def test_a_name_in_a_table_taken_along_is_no_formula():
    table = pd.DataFrame({"Battery": ["=1+1", "Plain"], "Middle (h)": [1.5, float("nan")], "=head": ["a", "b"]})
    assert _csv(table).decode("utf-8-sig").splitlines() == ["Battery,Middle (h),'=head", "'=1+1,1.5,a", "Plain,,b"]


@pytest.mark.parametrize(
    ("check", "told", "place"),
    [
        ("energy", Told("buyer_log"), (OUTING, "load")),
        ("energy", Told("prior_test", {"name": "cell_ohm"}), (BATTERY, "step_test")),
        ("inverter", Told("prior_test", {"name": "diffusion_tau_s"}), (BATTERY, "capacity_test")),
        ("reserve", Told("enter_reserve"), (OUTING, "get_home")),
        ("inverter", Told("enter_inverter"), (OUTING, "load")),
        ("bank", Told("enter_bank"), (OUTING, "bank")),
        ("winter_charging", Told("enter_climate"), (CLIMATE, "")),
        ("energy", Told("capacity_test"), (BATTERY, "capacity_test")),
    ],
)
def test_a_gap_leads_to_where_what_it_asks_for_is_entered(check, told, place):
    found = assessed("unit_one", "trolling_day")
    lacking = replace(found.checks[0], id=check, verdict="not proven", settled_by=told)
    outing = replace(found.outing, questions=None)
    view = view_of(found, str)
    (row,) = rows_of(replace(found, checks=(lacking,), outing=outing))
    first = gaps(replace(view, rows=(row,)), True)[0]
    assert (first.kind, first.group) == place
