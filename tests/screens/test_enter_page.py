"""The editors: every change is judged, kept as a draft, undone; saving never hides a newer text."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from planner.library.checking import check_text
from planner.library.draft import drafts
from planner.library.edit import add_row
from planner.library.store import Library
from planner.library.templates import TEMPLATES
from planner.screens.asked import asked, asked_columns
from planner.screens.form import Group
from planner.screens.form_climate import FORM as CLIMATE_FORM
from planner.screens.form_outing import FORM as OUTING_FORM
from planner.screens.form_record import FORM as RECORD_FORM

ROOT = Path(__file__).resolve().parent.parent.parent
KINDS = {"outing": "outings", "battery": "batteries", "climate": "climates"}


def begun(open_page: Callable[..., AppTest], kind: str = "outing") -> AppTest:
    page = open_page("enter_page")
    if kind != "outing":
        page.session_state["entered"] = kind
        page.run()
    page.button(key=f"begin_{kind}").click().run()
    assert not page.exception
    return page


def box(page: AppTest, label: str, number: int = 0):
    return [each for each in page.text_input if each.label.startswith(label)][number]


def unfold(page: AppTest, name: str) -> None:
    page.session_state[f"outing_{page.session_state['outing_form'][1]}:{name}"] = True
    page.run()
    assert not page.exception


def wrong(page: AppTest) -> list[str]:
    return [each.value for each in page.markdown if each.value.startswith(":red[▲]")]


def texts(page: AppTest) -> str:
    return "\n".join(part.value for part in (*page.title, *page.header, *page.markdown, *page.caption, *page.success))


def draft_text(folder: Path) -> str:
    (draft,) = drafts(Library(folder))
    return draft.text


def test_a_change_goes_into_the_draft_at_once_and_comments_stay(open_page: Callable[..., AppTest], own_folder: Path) -> None:
    page = begun(open_page)
    box(page, "How long the outing lasts").set_value("540 min").run()
    assert not page.exception
    text = draft_text(own_folder)
    assert 'duration = "540 min"' in text
    assert text.replace('"540 min"', '"8 h"') == TEMPLATES["outings"]["trolling day"]
    assert "= 9 h" in texts(page)
    assert not list((own_folder / "outings").glob("*.toml"))


def test_a_wrong_value_is_told_at_its_field_and_undo_takes_it_back(open_page: Callable[..., AppTest]) -> None:
    page = begun(open_page)
    box(page, "How long the outing lasts").set_value("6 parsecs").run()
    assert len(wrong(page)) == 1 and "parsecs" in wrong(page)[0]
    assert "No answer yet" in page.markdown[0].value
    page.button(key="undo_outing").click().run()
    assert wrong(page) == [] and box(page, "How long the outing lasts").value == "8 h"


def test_rows_are_added_copied_and_deleted(open_page: Callable[..., AppTest], own_folder: Path) -> None:
    page = begun(open_page)

    def press(label: str, number: int = 0) -> None:
        [each for each in page.button if each.label == label][number].click().run()
        assert not page.exception

    press("Copy this load", 1)
    assert draft_text(own_folder).count('name = "sounder"') == 2
    press("Delete this load", 0)
    assert "bow motor" not in draft_text(own_folder)
    press("Add a load")
    assert 'name = "new load"' in draft_text(own_folder)
    press("Add a row")
    assert draft_text(own_folder).count("start =") == 3


def test_a_group_is_drawn_when_it_is_opened_and_stays_open_while_rows_and_problems_come_and_go(
    open_page: Callable[..., AppTest],
) -> None:
    page = begun(open_page)

    def gauges() -> list[str]:
        return [each.value for each in page.text_input if each.label.startswith("Gauge")]

    assert gauges() == []
    unfold(page, "wiring:box")
    box(page, "Gauge").set_value("AWG 99").run()
    assert gauges() == ["AWG 99"] and len(wrong(page)) >= 1
    box(page, "Gauge").set_value("AWG 4").run()
    assert gauges() == ["AWG 4"]
    next(each for each in page.button if each.label == "Add a load").click().run()  # draws all fields anew
    assert not page.exception
    assert gauges() == ["AWG 4"]


def test_a_saved_draft_becomes_the_profile_in_use_everywhere(open_page: Callable[..., AppTest], own_folder: Path) -> None:
    page = begun(open_page)
    box(page, "Name").set_value("Two men").run()
    page.button(key="save_outing").click().run()
    assert not page.exception
    assert page.session_state["outing_in_use"] == "two-men"
    assert drafts(Library(own_folder)) == ()
    page.switch_page("planner/screens/wiring_page.py").run()
    (choice,) = [each for each in page.selectbox if each.label == "Outing as planned"]
    assert choice.value == "two-men"


def save_refused(open_page: Callable[..., AppTest], library: Library) -> AppTest:
    """A page whose save of 9 h met a version of 10 h that was saved meanwhile."""
    page = begun(open_page)
    page.button(key="save_outing").click().run()
    box(page, "How long the outing lasts").set_value("9 h").run()
    text, version = library.load("outings", "trolling-day")
    library.save("outings", "trolling-day", text.replace('"8 h"', '"10 h"'), version)
    page.button(key="save_outing").click().run()
    return page


def test_a_newer_text_is_never_hidden_and_both_are_shown(open_page: Callable[..., AppTest], own_folder: Path) -> None:
    library = Library(own_folder)
    page = save_refused(open_page, library)
    shown = "\n".join(code.value for code in page.code)
    assert 'duration = "10 h"' in shown and 'duration = "9 h"' in shown
    assert 'duration = "10 h"' in library.load("outings", "trolling-day")[0]
    page.button(key="over_outing").click().run()
    assert not page.exception
    assert 'duration = "9 h"' in library.load("outings", "trolling-day")[0]
    assert 'duration = "10 h"' in library.load_version("outings", "trolling-day", 2)


def test_a_refused_save_saves_nothing_that_is_changed_later(open_page: Callable[..., AppTest], own_folder: Path) -> None:
    """Not the same draft once it is changed on, and not another one that is begun instead."""
    library = Library(own_folder)
    page = save_refused(open_page, library)
    assert page.button(key="over_outing")
    box(page, "Name").set_value("Another name").run()
    assert not page.exception
    assert [entry.name for entry in library.list_profiles("outings") if not entry.read_only] == ["Trolling day"]
    page.button(key="drop_outing").click().run()
    box(page, "How long the outing lasts").set_value("12 h").run()
    assert not page.exception
    assert 'duration = "10 h"' in library.load("outings", "trolling-day")[0]
    assert 'duration = "12 h"' in draft_text(own_folder)


def other_window(page: AppTest) -> AppTest:
    """The same address in a session of its own."""
    other = AppTest.from_file(str(ROOT / "app.py"), default_timeout=60)
    other.query_params["outing"] = page.session_state["outing_in_use"]
    other.run()
    other.switch_page("planner/screens/enter_page.py").run()
    assert not other.exception
    return other


def test_two_windows_on_one_draft_show_what_each_other_changed_and_undo_none_of_it(
    open_page: Callable[..., AppTest], own_folder: Path
) -> None:
    page = begun(open_page)
    box(page, "How long the outing lasts").set_value("9 h").run()
    other = other_window(page)
    box(page, "Charge at the start").set_value("90 %").run()
    box(other, "Air around").set_value("5 °C").run()
    assert box(other, "Charge at the start").value == "90 %"
    assert "Changed in another window too" in texts(other)
    page.button(key="undo_outing").click().run()
    assert not page.exception
    assert 'ambient = "5 °C"' in draft_text(own_folder) and 'start_charge = "90 %"' in draft_text(own_folder)
    assert box(page, "Air around").value == "5 °C"
    assert page.button(key="undo_outing").disabled


def test_a_draft_that_another_window_saved_is_shown_as_it_was_saved(open_page: Callable[..., AppTest]) -> None:
    page = begun(open_page)
    box(page, "How long the outing lasts").set_value("9 h").run()
    other = other_window(page)
    page.button(key="save_outing").click().run()
    box(other, "Charge at the start").set_value("90 %").run()
    assert not other.exception
    (told,) = other.warning
    assert "saved or thrown away in another window" in told.value and "Trolling day" in told.value
    assert other.session_state["outing_in_use"] == "trolling-day"
    assert box(other, "How long the outing lasts").value == "9 h"


def test_demo_data_are_copied_before_they_are_changed(open_page: Callable[..., AppTest], own_folder: Path) -> None:
    page = open_page("enter_page", outing_chosen="recorded_morning")
    assert all(each.disabled for each in page.text_input if each.label.startswith("How long"))
    next(each for each in page.button if each.label == "Copy it to change it").click().run()
    assert not page.exception
    box(page, "How long the outing lasts").set_value("5 h").run()
    assert 'duration = "5 h"' in draft_text(own_folder)
    assert (own_folder / "logs").is_dir()


def test_the_text_itself_can_be_edited_and_broken_text_is_kept_too(open_page: Callable[..., AppTest], own_folder: Path) -> None:
    page = begun(open_page)
    unfold(page, "text:box")
    (area,) = [each for each in page.text_area if each.label == "Text"]
    area.set_value("name = ").run()
    assert not page.exception
    assert draft_text(own_folder) == "name = "
    assert "no TOML" in texts(page)
    page.button(key="undo_outing").click().run()
    assert box(page, "How long the outing lasts").value == "8 h"


@pytest.mark.parametrize("kind", KINDS)
def test_every_template_opens_without_a_problem_but_for_a_result_nobody_has_yet(
    open_page: Callable[..., AppTest], kind: str
) -> None:
    page = begun(open_page, kind)
    assert len(wrong(page)) == (2 if kind == "battery" else 0)
    assert ("All of it can be read" in texts(page)) == (kind != "battery")


@pytest.mark.parametrize("kind", KINDS)
def test_every_demo_profile_opens_with_every_key_in_a_field(kind: str) -> None:
    form = {"outing": OUTING_FORM, "battery": RECORD_FORM, "climate": CLIMATE_FORM}[kind]
    for path in (ROOT / "profiles" / KINDS[kind]).glob("*.toml"):
        unknown = set(_keys(tomllib.loads(path.read_text()))) - {"format"} - set(_offered(form))
        assert unknown == set(), path.name


def _keys(table: dict, place: str = ""):
    for key, value in table.items():
        here = f"{place}{key}"
        rows = value if isinstance(value, list) else [value]
        if rows and all(isinstance(row, dict) for row in rows):
            named = here == "instruments"
            for row in rows:
                for inner in row.values() if named else [row]:
                    yield from _keys(inner, f"{here}.")
        else:
            yield here


def _offered(form: tuple[Group, ...]):
    for group in form:
        before = f"{group.key}." if group.key else ""
        yield from (before + field.key for field in group.fields)
        for grid in group.grids:
            yield before + grid.key
            yield from (f"{before}{grid.key}.{column.key}" for column in grid.columns)


def choose(page: AppTest, place: str, option: str) -> None:
    next(each for each in page.selectbox if each.key.endswith(f":{place}:")).set_value(option).run()
    assert not page.exception


def test_a_test_becomes_a_ramp_without_a_time_to_mend_out_of_sight(open_page: Callable[..., AppTest], own_folder: Path) -> None:
    page = begun(open_page, "battery")
    for place, result in (("current", "20 A"), ("charge", "95 Ah")):
        next(each for each in page.text_input if each.key.endswith(f":capacity_test.1.{place}:")).set_value(result).run()
    choose(page, "capacity_test.1.ended_by", "cutoff")
    page.session_state[f"battery_{page.session_state['battery_form'][1]}:current_test:box"] = True
    page.run()
    next(each for each in page.button if each.label == "Add a test").click().run()
    next(each for each in page.text_input if each.key.endswith(":current_test.1.current:")).set_value("150 A").run()
    box(page, "Held for").set_value("60 s").run()
    choose(page, "current_test.1.ended_by", "trip")
    choose(page, "current_test.1.kind", "ramp")
    assert "duration" not in tomllib.loads(draft_text(own_folder))["current_test"][0]
    box(page, "Raised by").set_value("5 A/s").run()
    assert wrong(page) == [] and "All of it can be read" in texts(page)


def test_a_motor_becomes_a_steady_load_without_its_speeds(open_page: Callable[..., AppTest], own_folder: Path) -> None:
    page = begun(open_page)
    choose(page, "load.1.kind", "current")
    box(page, "Current (A)").set_value("20 A").run()
    held = tomllib.loads(draft_text(own_folder))["load"][0]
    assert "table" not in held and not any("speed" in use for use in held["use"])
    assert wrong(page) == [] and "All of it can be read" in texts(page)


def test_the_meter_of_a_test_is_chosen_among_those_entered(open_page: Callable[..., AppTest], own_folder: Path) -> None:
    page = begun(open_page, "battery")
    page.session_state[f"battery_{page.session_state['battery_form'][1]}:instruments:box"] = True
    page.run()
    assert meter_of(page).options == ["load"] and meter_of(page).value == "load"
    box(page, "Name of a new meter").set_value("clamp").run()
    next(each for each in page.button if each.label == "Add a meter").click().run()
    assert meter_of(page).options == ["load", "clamp"]
    meter_of(page).set_value("clamp").run()
    assert not page.exception and 'instrument = "clamp"' in draft_text(own_folder)


def meter_of(page: AppTest):
    return next(each for each in page.selectbox if each.key.endswith(":capacity_test.1.instrument:"))


def test_a_place_that_changes_no_answer_is_not_asked_for_and_a_file_that_holds_it_shows_it() -> None:
    (field,) = [field for field in CLIMATE_FORM[0].fields if field.key == "longitude"]
    assert field not in asked(CLIMATE_FORM[0].fields, {"latitude": 46.0})
    assert field in asked(CLIMATE_FORM[0].fields, {"latitude": 46.0, "longitude": -93.5})
    assert "no answer depends on it" in field.label


def test_what_goes_with_another_kind_is_shown_once_to_be_taken_out() -> None:
    fields = OUTING_FORM[1].fields
    heater_on_inverter = {"kind": "inverter", "power": "900 W", "voltage": "12 V"}
    shown = [each.label for each in asked(fields, heater_on_inverter) if each.key in ("power", "voltage")]
    assert shown == ["… at", "Power at its socket"]
    assert [each.key for each in asked_columns(OUTING_FORM[1].grids[0], {"kind": "power", "use": [{"speed": 1}]})] == [
        "start", "length", "speed", "on", "off",
    ]  # fmt: skip


PROVING = [each for each in RECORD_FORM if each.rows == "list" and each.key != "charge_test"]  # a charge proves nothing


@pytest.mark.parametrize("group", PROVING, ids=lambda each: each.key)
def test_a_new_test_proves_nothing_until_its_result_is_typed(group: Group) -> None:
    text = TEMPLATES["batteries"]["one discharge"]
    added = add_row(text, (group.key,), dict(group.first))
    problems = check_text("batteries", added, Path("library/batteries/new.toml")).problems
    assert [each for each in problems if each.key.startswith(f"{group.key}.")], "it counts as a test already"
