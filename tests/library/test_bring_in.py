"""Loose files brought in: each lies where its kind lies, and the profile names it there."""

from __future__ import annotations

import pytest

from planner.errors import InputRefused
from planner.library.archive_zip import import_zip, incoming
from planner.library.bring_in import parcel_of_files
from planner.library.store import Library

LOG = b"Time (s),Current (A)\n0,1\n10,1\n"
OUTING = b"""# mine
format = 1
name = "Morning log"
duration = "10 s"
ambient = "20 degC"

[[load]]
name = "all of it"
kind = "recorded"
log = "C:\\\\data\\\\Run 3.csv"  # as the logger calls it
between_samples = "hold"
"""


def test_a_profile_and_its_log_are_kept_together(library: Library) -> None:
    data = OUTING.replace(b"\\\\", b"/")
    parcel = parcel_of_files({"my plan.toml": data, "Run 3.csv": LOG}, "my plan.toml")
    assert [each.name for each in incoming(library, parcel)] == ["Morning log"]
    assert import_zip(library, parcel, {}) == {
        "outings/my-plan.toml": "outings/my-plan.toml",
        "logs/run-3.csv": "logs/run-3.csv",
    }
    text, _ = library.load("outings", "Morning log")
    assert 'log = "../logs/run-3.csv"  # as the logger calls it' in text
    assert (library.folder / "logs" / "run-3.csv").read_bytes() == LOG


def test_a_log_that_is_missing_is_told_and_nothing_is_kept(library: Library) -> None:
    with pytest.raises(InputRefused, match="log"):
        parcel_of_files({"my plan.toml": OUTING}, "my plan.toml")
    assert not library.folder.exists()


@pytest.mark.parametrize(
    ("name", "data", "told"),
    [
        ("x.toml", b'format = 1\nname = "x"\n', "no key of any kind"),
        ("x.toml", b"= [", "not TOML"),
        ("x.exe", b"MZ", "exe"),
    ],
)
def test_what_is_no_profile_is_refused_in_words(name: str, data: bytes, told: str) -> None:
    with pytest.raises(InputRefused, match=told):
        parcel_of_files({name: data}, name)
