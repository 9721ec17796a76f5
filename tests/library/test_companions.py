from __future__ import annotations

import pytest

from planner.errors import InputRefused
from planner.library.companions import add_companion, list_companions
from planner.library.references import references, target_of
from planner.library.store import Library


def test_a_log_is_kept_once_and_other_bytes_never_replace_it(library: Library) -> None:
    first = add_companion(library, "logs", "Run 3.csv", b"one")
    assert add_companion(library, "logs", "run-3.CSV", b"one") == first == "../logs/run-3.csv"
    assert add_companion(library, "logs", "Run 3.csv", b"two") == "../logs/run-3-2.csv"
    assert add_companion(library, "logs", "Run 3.csv", b"two") == "../logs/run-3-2.csv"
    assert [path.read_bytes() for path in list_companions(library, "logs")] == [b"two", b"one"]


@pytest.mark.parametrize("name", ["../../run.csv", "C:\\tmp\\run.csv", "/etc/run.csv", "run.csv"])
def test_an_uploaded_name_is_never_a_path(library: Library, name: str) -> None:
    assert add_companion(library, "logs", name, b"one") == "../logs/run.csv"
    assert [path.name for path in (library.folder / "logs").iterdir()] == ["run.csv"]


@pytest.mark.parametrize(
    ("kind", "name", "data"),
    [
        ("logs", "run.exe", b"x"),
        ("weather", "run.xlsx", b"x"),
        ("logs", "run.csv", b""),
        ("logs", "csv", b"x"),
        ("..", "run.csv", b"x"),
    ],
)
def test_other_files_are_refused(library: Library, kind: str, name: str, data: bytes) -> None:
    with pytest.raises(InputRefused):
        add_companion(library, kind, name, data)


def test_an_empty_file_is_to_be_exported_again_and_not_thinned(library: Library) -> None:
    with pytest.raises(InputRefused, match="Export it again"):
        add_companion(library, "logs", "run.csv", b"")


def test_the_files_a_text_names_are_found_wherever_they_stand() -> None:
    values = {
        "repeats": ["a.toml", "../batteries/b.toml"],
        "weather": "w.epw",
        "bank": {"units": ["c.toml"]},
        "load": [{"kind": "current"}, {"log": "../logs/d.csv", "use": [{"start": "0 h"}]}],
        "instruments": {"log": {"time": "1 s"}},  # an instrument of that name is no file
    }
    assert list(references(values)) == [
        (("repeats", 1), "a.toml"),
        (("repeats", 2), "../batteries/b.toml"),
        (("weather",), "w.epw"),
        (("bank", "units", 1), "c.toml"),
        (("load", 2, "log"), "../logs/d.csv"),
    ]


@pytest.mark.parametrize(
    ("written", "target"),
    [
        ("b.toml", "batteries/b.toml"),
        ("../logs/run.csv", "logs/run.csv"),
        ("../.history/run.csv", None),
        ("../logs/..", None),
        ("../../x.csv", None),
        ("/logs/run.csv", None),
        ("..\\logs\\run.csv", None),
        ("logs/run.csv", None),
        ("../logs/Run.csv", None),
        ("", None),
    ],
)
def test_only_files_in_the_librarys_folders_are_reached(written: str, target: str | None) -> None:
    assert target_of("batteries", written) == target
