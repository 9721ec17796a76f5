from __future__ import annotations

import io
import shutil
import stat
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.errors import InputRefused
from planner.library import zip_guard
from planner.library.archive_zip import export_zip, import_zip, incoming, open_sound, open_zip
from planner.library.checking import check_text
from planner.library.companions import add_companion
from planner.library.entries import PROFILE_KINDS
from planner.library.parcel import copy_to_edit
from planner.library.place import DEMO
from planner.library.store import Library
from planner.library.zip_guard import unpack

GOOD = b'format = 1\nname = "Boat"\n'
LOG = b"Time (s),Current (A)\n" + b"".join(b"%d,%d\n" % (second, 3) for second in range(120))


def _zip(files: dict[str, bytes], *, change: Callable[[zipfile.ZipInfo], None] = lambda info: None) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            info = zipfile.ZipInfo("x")
            info.filename = info.orig_filename = name
            info.compress_type = zipfile.ZIP_DEFLATED
            change(info)
            archive.writestr(info, data)
    return packed.getvalue()


def _recorded(name: str, log: str) -> str:
    return (
        f'format = 1\nname = "{name}"\nduration = "2 min"\nambient = "20 degC"\n\n[[load]]\nkind = "recorded"\n'
        f'log = "{log}"  # the bench\nbetween_samples = "hold"\n'
    )


def _listing(library: Library) -> dict[str, bytes]:
    if not library.folder.is_dir():
        return {}
    shown = (path for path in library.folder.rglob("*") if path.is_file())
    return {
        str(path.relative_to(library.folder)): path.read_bytes() for path in shown if path.name != ".lock"
    }


@pytest.fixture
def other(library: Library, tmp_path: Path) -> Library:
    """A second, empty library."""
    return Library(tmp_path / "other", library.demo)


@pytest.fixture
def filled(library: Library) -> Library:
    """A library with a recorded outing, its log, and a case that joins it."""
    log = add_companion(library, "logs", "Morning run.CSV", LOG)
    assert log == "../logs/morning-run.csv"
    library.save("outings", "Morning", _recorded("Morning", log), None)
    library.save("cases", "Boat", 'format = 1\nname = "Boat"\nouting = "morning"\nnote = "hers"\n', None)
    return library


def test_exported_and_imported_profiles_are_the_same_byte_for_byte(filled: Library, other: Library) -> None:
    packed = export_zip(filled, [("cases", "Boat")])
    placed = import_zip(other, open_zip(packed), {})
    assert set(placed) == {"cases/boat.toml", "outings/morning.toml", "logs/morning-run.csv"}
    for target in placed:
        assert (other.folder / target).read_bytes() == (filled.folder / target).read_bytes()
    assert export_zip(other, [("cases", "Boat")]) == packed


def test_importing_the_same_zip_twice_changes_nothing(filled: Library, other: Library) -> None:
    parcel = open_zip(export_zip(filled, [("cases", "Boat")]))
    import_zip(other, parcel, {})
    before = _listing(other)
    assert all(each.same for each in incoming(other, parcel))
    import_zip(other, parcel, {})
    assert _listing(other) == before


def test_a_name_in_use_is_reported_and_nothing_is_imported_before_a_choice(
    filled: Library, other: Library
) -> None:
    other.save("outings", "Morning", _recorded("Morning", add_companion(other, "logs", "a.csv", LOG)), None)
    parcel = open_zip(export_zip(filled, [("cases", "Boat")]))
    before = _listing(other)
    held = [each for each in incoming(other, parcel) if each.held_by is not None]
    assert [(each.target, each.same) for each in held] == [("outings/morning.toml", False)]
    with pytest.raises(InputRefused, match='"keep both" or "skip"'):
        import_zip(other, parcel, {})
    assert _listing(other) == before


def test_keeping_both_renames_and_changes_whatever_names_the_renamed(filled: Library, other: Library) -> None:
    mine = _recorded("Morning", add_companion(other, "logs", "morning-run.csv", LOG + b"120,4\n"))
    other.save("outings", "Morning", mine, None)
    parcel = open_zip(export_zip(filled, [("cases", "Boat")]))
    placed = import_zip(other, parcel, {"outings/morning.toml": "keep both"})
    assert placed["outings/morning.toml"] == "outings/morning-2.toml"
    assert placed["logs/morning-run.csv"] == "logs/morning-run-2.csv"
    assert other.load("outings", "Morning")[0] == mine
    assert other.load("outings", "Morning (2)")[0] == _recorded("Morning (2)", "../logs/morning-run-2.csv")
    assert 'outing = "morning-2"' in other.load("cases", "Boat")[0]
    assert (other.folder / "logs" / "morning-run-2.csv").read_bytes() == LOG


def test_skipping_lets_the_librarys_own_serve(filled: Library, other: Library) -> None:
    mine = _recorded("Morning", add_companion(other, "logs", "other.csv", LOG))
    other.save("outings", "morning at the lake", mine, None)  # the same name, another file
    parcel = open_zip(export_zip(filled, [("cases", "Boat")]))
    import_zip(other, parcel, {"outings/morning.toml": "skip"})
    assert 'outing = "morning-at-the-lake"' in other.load("cases", "Boat")[0]
    assert [entry.key for entry in other.list_profiles("outings")] == ["morning-at-the-lake"]


def test_one_bad_profile_keeps_the_whole_zip_out(other: Library) -> None:
    files = {"cases/boat.toml": GOOD, "outings/bad.toml": b'format = 1\nname = "Bad"\nduration = "2 m"\n'}
    with pytest.raises(InputRefused) as refused:
        open_zip(_zip(files))
    keys = {(problem.file, problem.key) for problem in refused.value.problems}
    assert ("outings/bad.toml", "ambient") in keys
    assert ("outings/bad.toml", "load") in keys
    assert _listing(other) == {}


def test_the_rest_of_a_zip_can_be_brought_in_without_what_is_not_finished(filled: Library, other: Library) -> None:
    """Nor the case that joins it; the guard's own refusals and a zip of nothing else are not got around."""
    filled.save("outings", "Half done", 'format = 1\nname = "Half done"\n', None)
    filled.save("cases", "Ship", 'format = 1\nname = "Ship"\nouting = "half-done"\n', None)
    wanted = [("cases", "Boat"), ("cases", "Ship"), ("outings", "Half done")]
    packed = export_zip(filled, wanted)
    with pytest.raises(InputRefused):
        open_zip(packed)
    parcel, left_out = open_sound(packed)
    assert left_out == {"outings/half-done.toml", "cases/ship.toml"}
    import_zip(other, parcel, {})
    assert [entry.name for entry in other.list_profiles("outings") + other.list_profiles("cases")] == ["Morning", "Boat"]
    with pytest.raises(InputRefused, match="no profile"):
        open_sound(export_zip(filled, wanted[1:]))
    with pytest.raises(InputRefused):
        open_sound(_zip({"cases/boat.toml": GOOD, "../outside.toml": GOOD}))
    with pytest.raises(InputRefused):
        open_sound(b"PK no zip")


@pytest.mark.parametrize(
    "log", ["/etc/passwd", "../../../../etc/passwd", "../logs/../../x.csv", "C:\\x.csv", "../logs/gone.csv"]
)
def test_a_profile_that_names_a_file_outside_is_refused_and_the_file_not_opened(log: str) -> None:
    text = _recorded("Boat", log.replace("\\", "\\\\")).encode()
    with pytest.raises(InputRefused) as refused:
        open_zip(_zip({"outings/boat.toml": text}))
    assert any(problem.key.endswith("log") for problem in refused.value.problems)
    assert "root:" not in str(refused.value)


def _link(info: zipfile.ZipInfo) -> None:
    info.external_attr = (stat.S_IFLNK | 0o777) << 16


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("../evil.toml", "in no folder"),
        ("/etc/evil.toml", "in no folder"),
        ("cases/../../evil.toml", "not a plain file name"),
        ("cases/sub/evil.toml", "not a plain file name"),
        ("cases\\evil.toml", "in no folder"),
        ("cases/C:evil.toml", "not a plain file name"),
        ("cases/.hidden.toml", "not a plain file name"),
        ("cases/con.toml", "not a plain file name"),
        ("cases/sp\u202eim.toml", "not a plain file name"),
        ("cases/boat\x00.toml", "not a plain file name"),
        ("cases/b\u00f6at.toml", "not a plain file name"),
        ("cases/BOAT.toml", "not a plain file name"),
        ("cases/" + "n" * 5_000 + ".toml", "not a plain file name|longer list"),
        ("cases/boat.py", "a .py file"),
        ("logs/inner.zip", "a .zip file"),
        ("logs/run.toml", "a .toml file"),
        ("scripts/boat.toml", "in no folder"),
        ("boat.toml", "in no folder"),
    ],
)
def test_names_that_lead_elsewhere_or_are_none_of_the_librarys_are_refused(name: str, told: str) -> None:
    with pytest.raises(InputRefused, match=told) as refused:
        unpack(_zip({"cases/fine.toml": GOOD, name: GOOD}), "x.zip")
    assert str(refused.value).isascii()
    assert len(str(refused.value)) < 1_000


def test_a_name_that_is_not_utf_8_is_refused() -> None:
    packed = _zip({"cases/boat.toml": GOOD}).replace(b"boat", b"b\xf6\xe4t")
    with pytest.raises(InputRefused, match="not a plain file name"):
        unpack(packed, "x.zip")


def test_links_are_refused() -> None:
    with pytest.raises(InputRefused, match="a link"):
        unpack(_zip({"cases/boat.toml": b"/etc/passwd"}, change=_link), "x.zip")


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_name_that_comes_twice_is_refused() -> None:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("cases/boat.toml", GOOD)
        archive.writestr("cases/boat.toml", GOOD + b"# other\n")
    with pytest.raises(InputRefused, match="there 2 times"):
        unpack(packed.getvalue(), "x.zip")


def test_what_unpacks_to_far_more_than_it_is_is_refused_before_it_is_unpacked(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    opened: list[object] = []
    monkeypatch.setattr(zipfile.ZipFile, "read", lambda archive, info: opened.append(info))
    with pytest.raises(InputRefused, match="at most 200 to 1"):
        unpack(_zip({"logs/run.csv": b"0" * 20_000_000}), "x.zip")
    monkeypatch.setattr(zip_guard, "LARGEST_TOTAL", 2_000_000)
    many = {f"logs/run-{number}.csv": bytes(range(256)) * 1_000 for number in range(8)}  # 2.05 MB
    with pytest.raises(InputRefused, match="MB unpacked"):
        unpack(_zip(many), "x.zip")
    assert opened == []


def test_a_size_that_lies_is_found_out() -> None:
    packed = bytearray(_zip({"logs/run.csv": b"0" * 5_000_000}))
    at = packed.rfind(b"PK\x01\x02")
    struct.pack_into("<L", packed, at + 24, 1_000)  # the size unpacked, in the list at the end
    with pytest.raises(InputRefused, match="damaged"):
        unpack(bytes(packed), "x.zip")


def test_too_many_entries_are_refused_before_the_list_is_read() -> None:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for number in range(11_000):
            archive.writestr(f"cases/boat-{number}.toml", b"")
    with pytest.raises(InputRefused, match="longer list"):
        unpack(packed.getvalue(), "x.zip")
    few = {f"cases/boat-{number}.toml": b"" for number in range(2_001)}
    with pytest.raises(InputRefused, match="2001 files"):
        unpack(_zip(few), "x.zip")


@pytest.mark.parametrize("data", [b"", b"PK", b"not a zip", b"PK\x05\x06" + b"\x00" * 18])
def test_what_is_no_zip_or_an_empty_one_is_refused(data: bytes) -> None:
    with pytest.raises(InputRefused):
        open_zip(data)


SOUND = _zip({"cases/boat.toml": GOOD, "logs/run.csv": LOG})


@settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.tuples(st.integers(0, len(SOUND) - 1), st.integers(0, 255)), min_size=1, max_size=6))
def test_a_damaged_zip_is_unpacked_right_or_refused_and_never_a_trace(changes: list[tuple[int, int]]) -> None:
    data = bytearray(SOUND)
    for place, value in changes:
        data[place] = value
    try:
        files = unpack(bytes(data), "x.zip")
    except InputRefused as refused:
        assert all(problem.fix for problem in refused.problems)
    else:
        # What is given has passed its checksum; a changed byte in a name or a date is not covered by one.
        assert set(files.values()) <= {GOOD, LOG}


def test_a_demo_profile_is_copied_with_all_it_names_and_reads_without_a_problem(tmp_path: Path) -> None:
    library = Library(tmp_path / "library", DEMO)
    key = copy_to_edit(library, "outings", "series_pair", "My pair")
    text = library.load("outings", "My pair")[0]
    assert key == "series_pair-2"
    assert check_text("outings", text, library.folder).problems == ()
    demo = library.load("outings", "series_pair")[0]
    assert text.splitlines()[0] == demo.splitlines()[0]
    own = {entry.key for entry in library.list_profiles("batteries") if not entry.read_only}
    assert own == {"unit_one-2", "unit_five-2"}
    copy_to_edit(library, "outings", "recorded_morning", "My morning")
    assert (library.folder / "logs" / "outing_reservoir_invented.csv").is_file()
    with pytest.raises(InputRefused, match="name in use"):
        copy_to_edit(library, "outings", "recorded_morning", "My Morning")


def test_more_files_than_a_zip_may_hold_are_refused_and_none_is_left_out(
    filled: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    every = [(kind, entry.key) for kind in PROFILE_KINDS for entry in filled.list_profiles(kind) if not entry.read_only]
    held = len(zipfile.ZipFile(io.BytesIO(export_zip(filled, every))).namelist())
    monkeypatch.setattr("planner.library.parcel.MOST_FILES", held)
    assert len(zipfile.ZipFile(io.BytesIO(export_zip(filled, every))).namelist()) == held
    monkeypatch.setattr("planner.library.parcel.MOST_FILES", held - 1)
    with pytest.raises(InputRefused, match="more than"):
        export_zip(filled, every)


def test_demo_data_are_not_exported_and_a_missing_log_is_told(filled: Library) -> None:
    with pytest.raises(InputRefused, match="Copy it to edit"):
        export_zip(filled, [("batteries", "unit_zero")])
    shutil.rmtree(filled.folder / "logs")
    with pytest.raises(InputRefused, match=r"morning-run\.csv"):
        export_zip(filled, [("cases", "Boat")])


def test_a_case_takes_no_file_from_outside_along(filled: Library) -> None:
    (filled.folder.parent / "secret.toml").write_text('name = "Secret"', encoding="utf-8")
    text = 'format = 1\nname = "Spy"\nouting = "../../secret"\n'
    filled.save("cases", "Spy", text, None)
    with zipfile.ZipFile(io.BytesIO(export_zip(filled, [("cases", "Spy")]))) as archive:
        assert archive.namelist() == ["cases/spy.toml"]
    (problem,) = check_text("cases", text, filled.folder).problems
    assert problem.key == "outing"
