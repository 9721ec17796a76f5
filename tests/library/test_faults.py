"""The library after what luck does to it: killed programs, two writers, full, closed and vanished disks."""

from __future__ import annotations

import os
import random
import resource
import shutil
import signal
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TextIO

import pytest

from planner.errors import InputRefused
from planner.library import atomic_file, staging
from planner.library.draft import drafts, keep_draft, new_draft
from planner.library.store import Library, SavedMeanwhile
from tests.library.saving_loop import is_whole, sealed
from tests.library.saving_loop import main as saving_loop

KILLS = 30
SEED = 8


def _start(folder: Path, writer: str, saves: int) -> tuple[int, TextIO]:
    """A process of its own that saves in a loop, and the pipe in which it tells of each save."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        with _child_that_ends(), os.fdopen(writing, "w") as told:
            saving_loop(folder, writer, saves, told)
    os.close(writing)
    return child, os.fdopen(reading)


@contextmanager
def _child_that_ends() -> Iterator[None]:
    """Never let a forked child return into the test run."""
    try:
        yield
        os._exit(0)
    finally:
        os._exit(1)


def _check_sound(library: Library, told: list[str], before: int) -> None:
    """Every save that was told is there, in order, whole; the newest is the last told or one further.

    before : number of the newest version when the program began.
    """
    kept = library.versions("cases", "boat")
    assert [each.number for each in kept] == list(range(1, len(kept) + 1))
    digests = {str(each.number): each.sha256 for each in kept}
    for line in told:
        number, sha256 = line.split()
        assert digests[number] == sha256
    last_told = int(told[-1].split()[0]) if told else before
    assert kept[-1].number - last_told in {0, 1}
    assert is_whole(library.load("cases", "boat")[0])
    assert all(is_whole(library.load_version("cases", "boat", each.number)) for each in kept[-2:])
    assert [entry.key for entry in library.list_profiles("cases")] == ["boat"]


def test_killed_at_random_moments_while_saving_the_last_complete_version_is_there(tmp_path: Path) -> None:
    moments = random.Random(SEED)
    library = Library(tmp_path / "library", tmp_path / "demo")
    newest = library.save("cases", "boat", sealed("first", 0), None)
    for number in range(KILLS):
        child, pipe = _start(library.folder, f"kill {number}", 1_000_000)
        time.sleep(moments.uniform(0.0, 0.08))  # none to a few saves take that long
        os.kill(child, signal.SIGKILL)
        assert os.WTERMSIG(os.waitpid(child, 0)[1]) == signal.SIGKILL
        with pipe:
            told = pipe.read().splitlines()
        if told and told[-1].count(" ") == 1 and len(told[-1].split()[1]) < 64:
            told.pop()  # the pipe's last line, torn
        _check_sound(library, told[-3:], newest.number)
        _, version = library.load("cases", "boat")
        newest = library.save("cases", "boat", sealed("after", number), version)
        assert newest.number == version.number + 1
    litter = list(library.folder.rglob(".new-*"))
    assert litter == []  # the save after each kill has swept up


EVENTS = {
    "open",
    "os.rename",
    "os.remove",
    "os.mkdir",
    "os.rmdir",
    "shutil.rmtree",
    "tempfile.mkstemp",
    "tempfile.mkdtemp",
}


def _killed_at_event(number: int, deed: Callable[[], object]) -> bool:
    """Do it in a child that kills itself before its n-th touch of the disk; False when it got through."""
    child = os.fork()
    if child == 0:
        count = 0

        def hook(event: str, arguments: tuple[object, ...]) -> None:
            nonlocal count
            if event in EVENTS:
                count += 1
                if count == number:
                    os.kill(os.getpid(), signal.SIGKILL)

        sys.addaudithook(hook)
        with _child_that_ends():
            deed()
    status = os.waitpid(child, 0)[1]
    assert os.WIFSIGNALED(status) or os.WEXITSTATUS(status) == 0
    return os.WIFSIGNALED(status)


def test_killed_before_each_single_touch_of_the_disk_a_save_is_whole_or_not_there(tmp_path: Path) -> None:
    master = Library(tmp_path / "master", tmp_path / "demo")
    opened = master.save("cases", "boat", sealed("first", 0), None)
    moments = 0
    for number in range(1, 200):
        shutil.rmtree(tmp_path / "library", ignore_errors=True)
        shutil.copytree(master.folder, tmp_path / "library")
        library = Library(tmp_path / "library", tmp_path / "demo")
        save = partial(library.save, "cases", "boat", sealed("second", 1), opened)
        if not _killed_at_event(number, save):
            break
        moments += 1
        again = Library(tmp_path / "library", tmp_path / "demo")
        text, version = again.load("cases", "boat")
        assert text in {sealed("first", 0), sealed("second", 1)}
        assert version.number == (1 if text == sealed("first", 0) else 2)
        assert again.load_version("cases", "boat", 1) == sealed("first", 0)
        third = again.save("cases", "boat", sealed("third", 2), version)
        assert third.number == version.number + 1
        assert list(again.folder.rglob(".new-*")) == []
    assert library.load("cases", "boat")[0] == sealed("second", 1)  # the one that got through
    assert moments >= 6  # lock, temporary file, rename, folder, and the same for the version


def test_killed_before_each_single_touch_of_the_disk_several_files_are_all_there_or_none(
    tmp_path: Path,
) -> None:
    files = {f"cases/boat-{number}.toml": f'name = "Boat {number}"\n'.encode() for number in range(2)}
    outcomes = set()
    for number in range(1, 200):
        shutil.rmtree(tmp_path / "library", ignore_errors=True)
        library = Library(tmp_path / "library", tmp_path / "demo")
        with library.writing():
            pass

        def deed(library: Library = library) -> None:
            with library.writing():
                staging.write_all(library.folder, files)

        finished = not _killed_at_event(number, deed)
        again = Library(tmp_path / "library", tmp_path / "demo")
        with again.writing():  # whoever writes next finishes or discards
            pass
        there = len(again.list_profiles("cases"))
        assert there in {0, 2}
        assert not any((again.folder / staging.STAGING).glob("*"))
        outcomes.add((there, finished))
        if finished:
            break
    # Killed early nothing is there, killed late all of it, as when it was not killed.
    assert outcomes == {(0, False), (2, False), (2, True)}


def test_two_programs_saving_one_profile_lose_no_version(tmp_path: Path) -> None:
    folder, saves = tmp_path / "library", 15
    programs = [_start(folder, writer, saves) for writer in ("one", "two")]
    told = []
    for child, pipe in programs:
        with pipe:
            told.append(pipe.read().splitlines())
        assert os.waitpid(child, 0)[1] == 0
    numbers = sorted(int(line.split()[0]) for lines in told for line in lines)
    assert numbers == list(range(1, 2 * saves + 1))  # each version has exactly one winner
    library = Library(folder, tmp_path / "demo")
    texts = {library.load_version("cases", "boat", number) for number in numbers}
    assert texts == {sealed(writer, number) for writer in ("one", "two") for number in range(saves)}


def test_two_windows_that_opened_one_version_have_one_winner(tmp_path: Path) -> None:
    library = Library(tmp_path / "library", tmp_path / "demo")
    opened = library.save("cases", "boat", sealed("first", 0), None)
    outcomes: list[str] = []
    gate = threading.Barrier(8)

    def save(number: int) -> None:
        gate.wait()
        try:
            library.save("cases", "boat", sealed("window", number), opened)
            outcomes.append("saved")
        except SavedMeanwhile as refused:
            assert refused.mine == sealed("window", number)
            outcomes.append("refused")

    windows = [threading.Thread(target=save, args=(number,)) for number in range(8)]
    for window in windows:
        window.start()
    for window in windows:
        window.join()
    assert sorted(outcomes) == ["refused"] * 7 + ["saved"]
    assert len(library.versions("cases", "boat")) == 2


def test_a_lock_that_stays_held_ends_in_a_message(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(atomic_file, "LOCK_WAIT_S", 0.05)
    library = Library(tmp_path / "library", tmp_path / "demo")
    other = Library(tmp_path / "library", tmp_path / "demo")
    with library.writing(), pytest.raises(InputRefused, match="held by another program"):
        other.save("cases", "boat", sealed("x", 0), None)


@contextmanager
def _largest_file(size: int) -> Iterator[None]:
    """Let the system refuse to write files longer than this, as a full disk does in their midst."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    former = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
        signal.signal(signal.SIGXFSZ, former)


def test_a_disk_that_fills_up_in_the_midst_of_a_save_leaves_the_former_text(tmp_path: Path) -> None:
    library = Library(tmp_path / "library", tmp_path / "demo")
    opened = library.save("cases", "boat", sealed("first", 0), None)
    draft = keep_draft(library, new_draft("cases", "Boat", "short"))
    with _largest_file(10_000):
        with pytest.raises(InputRefused, match="no room left"):
            library.save("cases", "boat", sealed("second", 1), opened)
        with pytest.raises(InputRefused, match="no room left"):
            keep_draft(library, new_draft("cases", "Boat", "x" * 20_000))
        assert library.load("cases", "boat")[0] == sealed("first", 0)
    assert library.save("cases", "boat", sealed("second", 1), opened).number == 2
    assert [each.id for each in drafts(library)] == [draft.id]
    assert list(library.folder.rglob(".new-*")) == []


def test_a_disk_that_is_full_only_for_the_history_loses_nothing_either(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    library = Library(tmp_path / "library", tmp_path / "demo")
    opened = library.save("cases", "boat", sealed("first", 0), None)

    def full(folder: Path, text: str, version: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("planner.library.history.keep", full)
    with pytest.raises(InputRefused, match="no room left"):
        library.save("cases", "boat", sealed("second", 1), opened)
    monkeypatch.undo()
    text, version = library.load("cases", "boat")
    assert (text, version.number) == (sealed("second", 1), 2)  # in place, and a version from now on
    library.save("cases", "boat", sealed("third", 2), version)
    assert [library.load_version("cases", "boat", number) for number in (1, 2, 3)] == [
        sealed("first", 0),
        sealed("second", 1),
        sealed("third", 2),
    ]


@contextmanager
def _as_nobody() -> Iterator[None]:
    """Without the administrator's right to write everywhere, where the tests run as one."""
    administrator = os.geteuid() == 0
    if administrator:
        os.seteuid(65534)
    try:
        yield
    finally:
        if administrator:
            os.seteuid(0)


def test_a_folder_that_cannot_be_written_is_read_and_told() -> None:
    with tempfile.TemporaryDirectory() as scratch:
        Path(scratch).chmod(0o755)
        library = Library(Path(scratch) / "library", Path(scratch) / "demo")
        opened = library.save("cases", "boat", sealed("first", 0), None)
        for path in [library.folder, *library.folder.rglob("*")]:
            path.chmod(0o555 if path.is_dir() else 0o444)
        with _as_nobody():
            again = Library(library.folder, Path(scratch) / "demo")
            assert again.load("cases", "boat") == (sealed("first", 0), opened)
            with pytest.raises(InputRefused, match="not writable"):
                again.save("cases", "boat", sealed("second", 1), opened)
            with pytest.raises(InputRefused, match="not writable"):
                keep_draft(again, new_draft("cases", "Boat", "text"))
        for path in [library.folder, *library.folder.rglob("*")]:
            path.chmod(0o755)
        assert library.load("cases", "boat")[0] == sealed("first", 0)


def test_a_folder_that_vanished_is_told_and_not_made_anew(tmp_path: Path) -> None:
    library = Library(tmp_path / "library", tmp_path / "demo")
    opened = library.save("cases", "boat", sealed("first", 0), None)
    library.folder.rename(tmp_path / "elsewhere")
    for deed in (
        lambda: library.save("cases", "boat", sealed("second", 1), opened),
        lambda: library.load("cases", "boat"),
        lambda: library.list_profiles("cases"),
    ):
        with pytest.raises(InputRefused, match="gone"):
            deed()
    assert not library.folder.exists()
    (tmp_path / "elsewhere").rename(library.folder)
    assert library.load("cases", "boat")[0] == sealed("first", 0)


def test_a_profile_that_vanishes_while_it_is_listed_is_told(tmp_path: Path) -> None:
    library = Library(tmp_path / "library", tmp_path / "demo")
    library.save("cases", "boat", sealed("first", 0), None)
    entry = library.find("cases", "boat")
    entry.path.unlink()
    with pytest.raises(InputRefused):
        library.load("cases", "boat")
    assert library.list_profiles("cases") == ()
