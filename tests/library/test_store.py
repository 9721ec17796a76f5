from __future__ import annotations

import datetime
import hashlib
import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.errors import InputRefused
from planner.library import history
from planner.library.file_name import spoken
from planner.library.parcel import copy_to_edit
from planner.library.place import DEMO
from planner.library.store import Library, SavedMeanwhile, open_library


def _texts(count: int, name: str = "Boat") -> list[str]:
    return [f'format = 1\nname = "{name}"\nnote = "state {number}"\n' for number in range(count)]


def test_a_saved_text_is_read_back_byte_for_byte(library: Library) -> None:
    text = '\ufeff# a comment\r\nname = "Boat"   # two spaces\t\r\n\r\n'
    version = library.save("cases", "Boat", text, None)
    assert library.load("cases", "Boat") == (text, version)
    assert version.sha256 == hashlib.sha256(text.encode()).hexdigest()
    assert (library.folder / "cases" / "boat.toml").read_bytes() == text.encode()


def test_every_text_saved_is_kept_in_order_with_its_time(library: Library) -> None:
    version = None
    for text in _texts(4):
        version = library.save("cases", "Boat", text, version)
    kept = library.versions("cases", "boat")
    assert [each.number for each in kept] == [1, 2, 3, 4]
    assert [library.load_version("cases", "boat", each.number) for each in kept] == _texts(4)
    now = datetime.datetime.now(datetime.UTC)
    # Within the time of this test, one second for the rounding of the kept time.
    assert all(abs((now - each.saved_at).total_seconds()) < 60 for each in kept)


def test_a_clock_that_goes_back_reorders_nothing(library: Library, monkeypatch: pytest.MonkeyPatch) -> None:
    class Backwards(datetime.datetime):
        hours = 0

        @classmethod
        def now(cls, tz: datetime.tzinfo | None = None) -> datetime.datetime:
            cls.hours += 1
            return datetime.datetime(2026, 3, 14, tzinfo=tz) - datetime.timedelta(hours=cls.hours)

    monkeypatch.setattr(history.datetime, "datetime", Backwards)
    version = None
    for text in _texts(3):
        version = library.save("cases", "Boat", text, version)
    monkeypatch.undo()
    kept = library.versions("cases", "boat")
    assert [each.saved_at for each in kept] == sorted((each.saved_at for each in kept), reverse=True)
    assert [library.load_version("cases", "boat", each.number) for each in kept] == _texts(3)
    assert library.load("cases", "boat")[0] == _texts(3)[-1]


def test_saving_the_same_text_again_makes_no_version(library: Library) -> None:
    version = library.save("cases", "Boat", _texts(1)[0], None)
    assert library.save("cases", "Boat", _texts(1)[0], version).same_as(version)
    assert len(library.versions("cases", "boat")) == 1


def test_a_save_over_a_newer_version_is_refused_and_shows_both(library: Library) -> None:
    first, second, third = _texts(3)
    opened = library.save("cases", "Boat", first, None)
    newer = library.save("cases", "Boat", second, opened)
    with pytest.raises(SavedMeanwhile) as refused:
        library.save("cases", "Boat", third, opened)
    assert (refused.value.mine, refused.value.theirs) == (third, second)
    assert refused.value.their_version.same_as(newer)
    assert '-note = "state 1"' in refused.value.difference
    assert '+note = "state 2"' in refused.value.difference
    assert library.load("cases", "boat")[0] == second


def test_the_way_back_to_an_older_text_is_a_new_version_and_not_the_older_one(library: Library) -> None:
    first, second, third = _texts(3)
    opened = library.save("cases", "Boat", first, None)
    library.save("cases", "Boat", first, library.save("cases", "Boat", second, opened))
    with pytest.raises(SavedMeanwhile):  # the text is what was opened, the version is not
        library.save("cases", "Boat", third, opened)


def test_a_new_profile_never_replaces_one_of_its_name(library: Library) -> None:
    library.save("cases", "Boat", _texts(1)[0], None)
    for name in ("Boat", "boat", " BOAT", "Bo\u200bat"):
        with pytest.raises(SavedMeanwhile, match="there already"):
            library.save("cases", name, 'name = "Boat"\nnote = "mine"\n', None)
    assert library.load("cases", "Boat")[0] == _texts(1)[0]


def test_two_names_that_make_one_file_name_are_two_profiles(library: Library) -> None:
    library.save("cases", "Boat A", 'name = "Boat A"', None)
    library.save("cases", "Boat/A", 'name = "Boat/A"', None)
    assert [entry.key for entry in library.list_profiles("cases")] == ["boat-a", "boat-a-2"]
    assert library.load("cases", "Boat/A")[0] == 'name = "Boat/A"'


def test_an_edit_by_hand_is_a_version_and_is_not_lost(library: Library) -> None:
    first, by_hand, third = _texts(3)
    opened = library.save("cases", "Boat", first, None)
    (library.folder / "cases" / "boat.toml").write_text(by_hand, encoding="utf-8")
    with pytest.raises(SavedMeanwhile):
        library.save("cases", "Boat", third, opened)
    text, version = library.load("cases", "Boat")
    assert (text, version.number) == (by_hand, 2)
    library.save("cases", "Boat", third, version)
    kept = [library.load_version("cases", "boat", each.number) for each in library.versions("cases", "boat")]
    assert kept == [first, by_hand, third]


def test_a_file_dropped_into_the_folder_is_a_profile(library: Library) -> None:
    library.save("cases", "Boat", _texts(1)[0], None)
    (library.folder / "cases" / "dropped.toml").write_text('name = "Dropped"', encoding="utf-8")
    text, version = library.load("cases", "Dropped")
    assert version.number == 1
    library.save("cases", "Dropped", text + "\n# more\n", version)
    assert library.load_version("cases", "dropped", 1) == text


def test_the_difference_of_two_versions_is_told_in_lines(library: Library) -> None:
    first, second = _texts(2)
    library.save("cases", "Boat", second, library.save("cases", "Boat", first, None))
    lines = library.difference("cases", "boat", 1, 2)
    assert [line for line in lines if line[0] in "+-" and line[:3] not in {"+++", "---"}] == [
        '-note = "state 0"',
        '+note = "state 1"',
    ]
    assert library.difference("cases", "boat", 2, 2) == ()


def test_what_is_put_away_is_neither_listed_nor_lost(library: Library) -> None:
    library.save("cases", "Boat", _texts(1)[0], None)
    library.archive("cases", "Boat")
    assert library.list_profiles("cases") == ()
    assert [entry.name for entry in library.list_profiles("cases", archived=True)] == ["Boat"]
    with pytest.raises(InputRefused, match="put away"):
        library.save("cases", "Boat", _texts(2)[1], None)
    library.restore("cases", "Boat")
    assert library.load("cases", "Boat")[0] == _texts(1)[0]
    assert len(library.versions("cases", "boat")) == 1


def test_a_profile_whose_file_is_gone_comes_back_from_its_versions(library: Library) -> None:
    library.save("cases", "Boat", _texts(2)[1], library.save("cases", "Boat", _texts(1)[0], None))
    (library.folder / "cases" / "boat.toml").unlink()
    with pytest.raises(InputRefused):
        library.load("cases", "boat")
    library.restore("cases", "Boat")
    assert library.load("cases", "boat")[0] == _texts(2)[1]


def test_a_renamed_profile_keeps_its_file_so_that_cases_still_find_it(library: Library) -> None:
    text = 'name = "Boat" # hers\n'
    renamed = library.rename("cases", "Boat", "Ship", library.save("cases", "Boat", text, None))
    assert library.load("cases", "Ship") == ('name = "Ship" # hers\n', renamed)
    assert library.load("cases", "boat")[0] == library.load("cases", "Ship")[0]
    library.save("cases", "Boat", 'name = "Boat"\n', None)
    assert library.load("cases", "Boat")[0] == 'name = "Boat"\n'


def test_no_profile_takes_the_name_of_another(library: Library) -> None:
    library.save("cases", "Boat", 'name = "Boat"', None)
    version = library.save("cases", "Ship", 'name = "Ship"', None)
    with pytest.raises(InputRefused, match="name in use"):
        library.rename("cases", "Ship", "BOAT", version)
    with pytest.raises(InputRefused, match="name in use"):
        library.save("cases", "Ship", 'name = "Boat"', version)


@pytest.mark.parametrize("blank", ["", "  ", "\u200b"])
def test_a_profile_without_a_name_is_refused(library: Library, blank: str) -> None:
    library.save("cases", "Boat", 'name = "Boat"', None)
    with pytest.raises(InputRefused, match="Write a name"):
        copy_to_edit(library, "cases", "Boat", blank)
    with pytest.raises(InputRefused, match="Write a name"):
        copy_to_edit(library, "batteries", "unit_zero", blank)
    assert [entry.name for entry in library.list_profiles("cases") if not entry.read_only] == ["Boat"]


def test_a_copy_is_a_profile_of_its_own(library: Library) -> None:
    version = library.save("cases", "Boat", _texts(1)[0], None)
    library.copy("cases", "Boat", "Boat two")
    library.save("cases", "Boat", _texts(2)[1], version)
    assert library.load("cases", "Boat two")[0] == _texts(1, "Boat two")[0]


def test_search_finds_all_words_in_name_and_note_in_any_case(library: Library) -> None:
    library.save("cases", "Boat", 'name = "Boat"\nnote = "Wants a HEATER"', None)
    library.save("outings", "Lake", '# with the grandchildren\nname = "Lake"', None)
    assert [entry.name for entry in library.search("heater BOAT")] == ["Boat"]
    assert [entry.name for entry in library.search("grandchildren")] == ["Lake"]
    assert library.search("heater lake") == ()
    assert "Demo unit zero (invented)" in [entry.name for entry in library.search("demo zero")]


def test_demo_data_are_listed_read_and_never_written(library: Library) -> None:
    before = {path: path.read_bytes() for path in library.demo.rglob("*.toml")}
    text, version = library.load("batteries", "unit_zero")
    assert [entry.read_only for entry in library.list_profiles("batteries")] == [True]
    for deed in (
        lambda: library.save("batteries", "unit_zero", text + "\n", version),
        lambda: library.rename("batteries", "unit_zero", "Mine", version),
        lambda: library.archive("batteries", "unit_zero"),
        lambda: library.copy("batteries", "unit_zero", "Mine"),
    ):
        with pytest.raises(InputRefused, match="Copy it to edit"):
            deed()
    library.save("batteries", "unit_zero", text, None)
    assert {path: path.read_bytes() for path in library.demo.rglob("*.toml")} == before
    assert (library.folder / "batteries" / "unit_zero-2.toml").is_file()


@pytest.mark.parametrize("below", ["", "batteries", "../profiles/new"])
def test_the_demo_data_are_no_library(below: str) -> None:
    with pytest.raises(InputRefused, match="demo data"):
        open_library(str(DEMO / below))


def test_the_environment_chooses_the_folder_and_an_option_overrules_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PLANNER_LIBRARY", str(tmp_path / "one"))
    assert open_library().folder == tmp_path / "one"
    assert open_library(str(tmp_path / "two")).folder == tmp_path / "two"
    monkeypatch.delenv("PLANNER_LIBRARY")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert open_library().folder.parent == tmp_path / "data"
    assert list(tmp_path.iterdir()) == []  # opening makes nothing


def test_a_relative_data_folder_is_left_aside_wherever_the_planner_was_started(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # XDG Base Directory Specification: "All paths set in these environment variables must be absolute. If an
    # implementation encounters a relative path … it should consider the path invalid and ignore it."
    monkeypatch.delenv("PLANNER_LIBRARY", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    for relative in ("data", "./data", "../data", ""):
        monkeypatch.setenv("XDG_DATA_HOME", relative)
        assert open_library().folder.parent == tmp_path / "home" / ".local" / "share"


def test_a_damaged_version_is_told_and_not_given(library: Library) -> None:
    library.save("cases", "Boat", _texts(2)[1], library.save("cases", "Boat", _texts(1)[0], None))
    oldest = min((library.folder / ".history" / "cases" / "boat").iterdir())
    oldest.write_bytes(oldest.read_bytes().replace(b"state 0", b"state 9"))
    with pytest.raises(InputRefused, match="damaged"):
        library.load_version("cases", "boat", 1)
    assert library.load_version("cases", "boat", 2) == _texts(2)[1]


def test_what_is_no_toml_is_refused_and_what_cannot_be_read_is_still_listed(library: Library) -> None:
    version = library.save("cases", "Boat", _texts(1)[0], None)
    for text in ("name = ", 'name = "\ud800"', "a" + ".a" * 100 + " = 1", "x" * 2_100_000):
        with pytest.raises(InputRefused):
            library.save("cases", "Boat", text, version)
    (library.folder / "cases" / "broken.toml").write_bytes(b"\xff\xfe")
    (library.folder / "cases" / ".new-halfway").write_bytes(b"name =")
    (library.folder / "cases" / "link.toml").symlink_to("/etc/passwd")
    listed = library.list_profiles("cases")
    assert [(entry.name, entry.readable) for entry in listed] == [("Boat", True), ("broken", False)]
    with pytest.raises(InputRefused, match="UTF-8"):
        library.load("cases", "broken")


def test_unknown_kinds_and_names_are_refused_with_what_there_is(library: Library) -> None:
    library.save("cases", "Boat", _texts(1)[0], None)
    with pytest.raises(InputRefused, match="batteries, outings, climates, cases"):
        library.load("../cases", "Boat")
    with pytest.raises(InputRefused, match="Boat"):
        library.load("cases", "Sh\u202eip")


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(names=st.lists(st.text(min_size=1, max_size=40), min_size=1, max_size=3, unique_by=spoken))
def test_any_name_is_saved_inside_the_folder_and_found_again(library: Library, names: list[str]) -> None:
    sound = [name for name in names if name.isprintable() and name.strip() and spoken(name)]
    for name in sound:
        if any(spoken(name) in (spoken(entry.name), entry.key) for entry in library.list_profiles("cases")):
            continue  # saved by an example before, or the file name of one
        quoted = name.replace("\\", "\\\\").replace('"', '\\"')
        text = f'name = "{quoted}"\n'
        library.save("cases", name, text, None)
        assert library.load("cases", name)[0] == text
    outside = {path.name for path in library.folder.parent.iterdir()} - {"library", "demo"}
    assert not outside
    kept = (library.folder / "cases").iterdir() if sound else []
    assert all(path.suffix == ".toml" for path in kept)
    assert os.path.commonpath([library.folder, *library.folder.rglob("*")]) == str(library.folder)


def test_a_file_put_in_by_hand_is_not_lost_to_one_that_was_put_away(library: Library) -> None:
    first, second = _texts(2)
    library.save("cases", "Boat", first, None)
    library.archive("cases", "Boat")
    by_hand = library.folder / "cases" / "boat.toml"
    by_hand.write_text(second)
    with pytest.raises(InputRefused, match="there already"):
        library.restore("cases", "Boat")
    assert by_hand.read_text() == second
    library.archive("cases", "Boat")
    away = {entry.path.read_text() for entry in library.list_profiles("cases", archived=True)}
    assert away == {first, second} and not by_hand.exists()
