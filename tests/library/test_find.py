"""From what is typed to a file: paths, stems, names, and what is said when there is none. Data invented."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.errors import InputRefused
from planner.library.find import BATTERY, CLIMATE, OUTING, find_profile, kind_of
from planner.library.place import DEMO, library_folder

RECORD = 'format = 1\nname = "{}"\n[[capacity_test]]\ncurrent = "10 A"\n'
NEED = 'format = 1\nname = "{}"\nduration = "1 h"\n[[load]]\nname = "lamp"\n'


@pytest.fixture
def library(tmp_path):
    (tmp_path / "batteries").mkdir()
    (tmp_path / "batteries" / "mine.toml").write_text(RECORD.format("My Own Unit"), encoding="utf-8")
    (tmp_path / "outings").mkdir()
    (tmp_path / "outings" / "mine.toml").write_text(NEED.format("My Own Day"), encoding="utf-8")
    return tmp_path


def refused(typed, kind, library):
    with pytest.raises(InputRefused) as caught:
        find_profile(typed, kind, library)
    (problem,) = caught.value.problems
    return problem


def test_a_path_wins_over_every_name(library, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("unit_one").write_text(RECORD.format("here"), encoding="utf-8")
    assert find_profile("unit_one", BATTERY, library) == Path("unit_one")


def test_the_stem_of_a_demo_profile_is_a_name(library):
    assert find_profile("unit_one", BATTERY, library) == DEMO / "batteries" / "unit_one.toml"


@pytest.mark.parametrize("typed", ["My Own Unit", "my own unit", " MINE "])
def test_the_name_inside_a_file_and_its_stem_are_found_whatever_the_letters(typed, library):
    assert find_profile(typed, BATTERY, library) == library / "batteries" / "mine.toml"


def test_the_kind_tells_two_profiles_of_one_name_apart(library):
    assert find_profile("mine", OUTING, library) == library / "outings" / "mine.toml"


def test_a_name_of_two_profiles_is_refused_with_both_places(library):
    problem = refused("mine", None, library)
    assert "several" in problem.value
    assert "batteries" in problem.allowed
    assert "outings" in problem.allowed


def test_an_unknown_name_is_refused_with_the_nearest(library):
    problem = refused("unit_on", BATTERY, library)
    assert "unit_one" in problem.fix
    assert problem.file == "unit_on"


def test_an_outing_is_not_offered_where_a_battery_is_wanted(library):
    problem = refused("trolling_day", BATTERY, library)
    assert "trolling_day" not in problem.fix


def test_a_folder_is_refused(library):
    assert refused(str(library), BATTERY, library).value == "a folder"


def test_hidden_folders_and_broken_files_are_no_profiles(library):
    (library / ".history").mkdir()
    (library / ".history" / "old.toml").write_text(RECORD.format("My Own Unit"), encoding="utf-8")
    (library / "broken.toml").write_text("= nothing\n", encoding="utf-8")
    assert find_profile("My Own Unit", BATTERY, library) == library / "batteries" / "mine.toml"


def test_a_library_that_is_not_there_leaves_the_demo_data(tmp_path):
    assert find_profile("unit_two", BATTERY, tmp_path / "nowhere").name == "unit_two.toml"


@pytest.mark.parametrize(
    ("table", "kind"),
    [({"load": []}, OUTING), ({"capacity_test": []}, BATTERY), ({"place": "box"}, CLIMATE), ({"monthly": []}, CLIMATE),
     ({"name": "x"}, None), ({"load": [], "wiring": {}}, OUTING)],
)  # fmt: skip
def test_a_file_is_known_by_its_keys(table, kind):
    assert kind_of(table) == kind


def test_the_library_is_the_one_chosen_else_the_one_of_the_environment(monkeypatch, tmp_path):
    monkeypatch.setenv("PLANNER_LIBRARY", str(tmp_path / "env"))
    assert library_folder() == tmp_path / "env"
    assert library_folder(str(tmp_path / "given")) == tmp_path / "given"
    monkeypatch.delenv("PLANNER_LIBRARY")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert library_folder().parent == tmp_path / "data"


@pytest.mark.parametrize("typed", ["x" * 300, "x" * 1_000_000, "a/" * 3000, "\u202e", "a\0b"])
def test_what_no_system_takes_for_a_path_is_only_not_found(typed, library):
    with pytest.raises(InputRefused, match="not found") as refused:
        find_profile(typed, None, library)
    assert len(str(refused.value)) < 1000


@pytest.mark.parametrize("typed", ["", " ", "\u200b"])
def test_a_name_of_nothing_is_asked_for(typed, library):
    with pytest.raises(InputRefused):
        find_profile(typed, None, library)


def test_a_file_that_no_reader_takes_hides_no_other(library):
    (library / "digits.toml").write_text(f"load = {'9' * 5000}", encoding="utf-8")
    (library / "dots.toml").write_text("load" + ".a" * 200_000 + " = 1", encoding="utf-8")
    assert find_profile("unit_one", BATTERY, library) == DEMO / "batteries" / "unit_one.toml"
