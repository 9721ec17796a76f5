"""The library's page: copies, versions, what is put away, cases, and a zip out of one library into another."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from planner.library.archive_zip import export_zip
from planner.library.place import DEMO
from planner.library.store import Library
from planner.library.templates import TEMPLATES

TEXT = TEMPLATES["outings"]["winch"]


def texts(page: AppTest) -> str:
    return "\n".join(part.value for part in (*page.title, *page.header, *page.markdown, *page.caption, *page.success))


def press(page: AppTest, label: str) -> None:
    next(each for each in page.button if each.label == label).click().run()
    assert not page.exception


def pick(page: AppTest, kind: str, key: str) -> None:
    page.selectbox(key=f"profile_{kind}").set_value(key).run()
    assert page.selectbox(key=f"profile_{kind}").value == key


def test_a_demo_profile_is_copied_and_never_written_to(open_page: Callable[..., AppTest], own_folder: Path) -> None:
    before = {path: path.read_bytes() for path in DEMO.rglob("*") if path.is_file()}
    page = open_page("library_page")
    pick(page, "outings", "kayak_evening")
    next(box for box in page.text_input if box.label == "Name of the copy").set_value("Our evening")
    press(page, "Copy")
    (path,) = (own_folder / "outings").glob("*.toml")
    assert 'name = "Our evening"' in path.read_text()
    assert page.session_state["outing_in_use"] == path.stem
    assert {path: path.read_bytes() for path in DEMO.rglob("*") if path.is_file()} == before


def test_versions_are_compared_and_an_earlier_one_brought_back(open_page: Callable[..., AppTest], own_folder: Path) -> None:
    library = Library(own_folder)
    version = library.save("outings", "Winch", TEXT, None)
    library.save("outings", "Winch", TEXT.replace('"3 h"', '"4 h"'), version)
    page = open_page("library_page")
    pick(page, "outings", "winch")
    (shown,) = [code.value for code in page.code]
    assert '-duration = "3 h"' in shown and '+duration = "4 h"' in shown
    press(page, "Make version 1 the current one again")
    assert library.load("outings", "winch")[0] == TEXT
    assert len(library.versions("outings", "winch")) == 3


def test_what_is_put_away_can_be_brought_back(open_page: Callable[..., AppTest], own_folder: Path) -> None:
    library = Library(own_folder)
    library.save("outings", "Winch", TEXT, None)
    page = open_page("library_page")
    pick(page, "outings", "winch")
    press(page, "Put it away")
    assert not (own_folder / "outings" / "winch.toml").exists()
    press(page, "Bring it back")
    assert (own_folder / "outings" / "winch.toml").read_text() == TEXT


def test_what_is_put_away_while_it_is_in_use_is_told_by_its_name(open_page: Callable[..., AppTest], own_folder: Path) -> None:
    Library(own_folder).save("outings", "Лебёдка", TEXT.replace("Winch", "Лебёдка", 1), None)
    page = open_page("library_page")
    page.selectbox(key="profile_outings").select("Лебёдка").run()
    press(page, "Use it on every page")
    press(page, "Put it away")
    assert [each.value for each in page.warning] == []
    assert "Put away: Лебёдка. It was in use, so a demo outing is shown now." in texts(page).replace("\\", "")


def test_words_find_a_profile_by_name_or_note(open_page: Callable[..., AppTest]) -> None:
    page = open_page("library_page")
    page.text_input(key="find").set_value("kayak navigation").run()
    assert list(page.dataframe[0].value["Name"]) == ["Kayak evening (invented)"]
    page.text_input(key="find").set_value("no such thing").run()
    assert "Nothing here" in texts(page)


def test_a_case_is_kept_and_opened_again(open_page: Callable[..., AppTest], own_folder: Path) -> None:
    page = open_page("library_page")
    page.session_state["battery_in_use"], page.session_state["outing_in_use"] = "unit_one", "kayak_evening"
    page.session_state["shelf"] = "cases"
    page.run()
    next(box for box in page.text_input if box.label == "Buyer’s case").set_value("Evenings")
    page.text_area[0].set_value("Will it last until dark?")
    press(page, "Keep it")
    page.session_state["battery_in_use"], page.session_state["outing_in_use"] = "unit_two", "trolling_day"
    page.run()
    press(page, "Open this case")
    assert (page.session_state["battery_in_use"], page.session_state["outing_in_use"]) == ("unit_one", "kayak_evening")
    assert "Will it last until dark?" in texts(page).replace("\\", "")


def test_a_case_whose_outing_is_gone_is_not_said_to_be_in_use(open_page: Callable[..., AppTest], own_folder: Path) -> None:
    library = Library(own_folder)
    library.save("outings", "Winch", TEXT, None)
    case = 'format = 1\nname = "Ann"\nbattery = "unit_one"\nouting = "winch"\nclimate = "gone"\n'
    library.save("cases", "Ann", case, None)
    library.archive("outings", "winch")
    page = open_page("library_page")
    page.session_state["shelf"] = "cases"
    page.run()
    press(page, "Open this case")
    assert (page.session_state["battery_in_use"], page.session_state["outing_in_use"]) == ("unit_one", "trolling_day")
    told = texts(page).replace("\\", "")
    assert "Opened: Ann. But its outing and its climate cannot be found" in told
    assert "The outing of before stays in use. Charging in the cold is left out." in told
    assert "are in use on every page" not in told


def test_the_zip_is_packed_at_the_click_and_not_at_every_look(
    open_page: Callable[..., AppTest], own_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    Library(own_folder).save("outings", "Winch", TEXT, None)

    def packs(*_: object) -> None:
        raise AssertionError("packed while the page was drawn")

    monkeypatch.setattr(zipfile.ZipFile, "writestr", packs)
    page = open_page("library_page")
    assert not page.exception
    assert any(each.label == "Download as zip" for each in page.get("download_button"))


def test_a_zip_of_another_library_asks_where_both_have_a_name(
    open_page: Callable[..., AppTest], own_folder: Path, tmp_path: Path
) -> None:
    other = Library(tmp_path / "other")
    other.save("outings", "Winch", TEXT.replace('"3 h"', '"5 h"'), None)
    Library(own_folder).save("outings", "Winch", TEXT, None)
    page = open_page("library_page")
    page.get("file_uploader")[0].set_value([("l.zip", export_zip(other, [("outings", "winch")]), "application/zip")])
    page.run()
    assert not page.exception
    press(page, "Bring in")
    held = {path.read_text() for path in (own_folder / "outings").glob("*.toml")}
    assert TEXT in held and len(held) == 2


def test_a_zip_with_an_unfinished_outing_brings_in_the_rest_when_it_is_asked_to(
    open_page: Callable[..., AppTest], own_folder: Path, tmp_path: Path
) -> None:
    other = Library(tmp_path / "other")
    other.save("outings", "Winch", TEXT, None)
    other.save("outings", "Half done", TEXT.replace('Winch', 'Half done', 1).replace('"3 h"', '"1 min"'), None)
    packed = export_zip(other, [("outings", "winch"), ("outings", "half-done")])
    page = open_page("library_page")
    page.get("file_uploader")[0].set_value([("l.zip", packed, "application/zip")])
    page.run()
    assert "Cannot be brought in" in texts(page)
    assert not any(each.label == "Bring in" for each in page.button)
    (rest,) = [each for each in page.checkbox if "half-done" in each.label.replace("\\", "")]
    rest.check().run()
    press(page, "Bring in")
    assert [path.name for path in (own_folder / "outings").glob("*.toml")] == ["winch.toml"]


def test_a_folder_that_cannot_be_a_library_is_told_and_the_demo_data_still_serve(
    open_page: Callable[..., AppTest], monkeypatch, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("PLANNER_LIBRARY", str(tmp_path / "file"))
    page = open_page("library_page")
    assert "No answer yet" in texts(page) and "Choose a folder" in texts(page).replace("\\", "")
    page.switch_page("planner/screens/fit_page.py").run()
    assert not page.exception and "Fits" in page.title[0].value
