"""What the user chose or uploaded, as bytes, and how the readers get at it. No name from outside becomes a path."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from tempfile import TemporaryDirectory

from planner.errors import InputRefused, Problem
from planner.library.entries import COMPANION_KINDS

PROFILE_ENDINGS = ("toml",)
NAMED_FROM = (*COMPANION_KINDS, "batteries")  # a record names further units, a bank its own
COMPANION_ENDINGS = ("csv", "xlsx", "parquet", "toml", "epw", "tm2")


@dataclass(frozen=True, slots=True)
class Upload:
    """One uploaded file: the name is for showing and for matching only."""

    name: str
    data: bytes


@dataclass(frozen=True)  # no slots: the digest is kept
class Given:
    """One input, as it is when its digest is first asked for: choices are made anew for every look at a page.

    path : a profile of this machine, and title its name. Else main is an upload, and companions are what it names; or,
    with a folder, main is a text not saved yet that will lie there and names the files around it.
    """

    path: Path | None = None
    main: Upload | None = None
    companions: tuple[Upload, ...] = ()
    folder: Path | None = None
    title: str | None = None

    @cached_property
    def digest(self) -> str:
        """SHA-256 of everything that can change what is read. Files a profile may name count by size and time."""
        found = hashlib.sha256()
        for name, data in self._parts():
            found.update(f"{len(name.encode())} {len(data)} {name}".encode())
            found.update(data)
        return found.hexdigest()

    def _parts(self) -> Iterator[tuple[str, bytes]]:
        folder = self.folder
        if self.path is not None:
            yield str(self.path), self.path.read_bytes()
            folder = self.path.parent
        if folder is not None:
            for kind in NAMED_FROM:
                for name, state in _states(folder.parent / kind):
                    yield f"{kind}/{name}", f"{state.st_size} {state.st_mtime_ns}".encode()
        for upload in (self.main, *self.companions):
            if upload is not None:
                yield upload.name, upload.data


def _states(folder: Path) -> list[tuple[str, os.stat_result]]:
    """Name and state of each file of a folder, by name; none when there is no such folder."""
    try:
        with os.scandir(folder) as there:
            return sorted((file.name, file.stat()) for file in there)
    except OSError:  # what cannot be seen cannot be read either, which its reader tells
        return []


@dataclass(frozen=True, slots=True)
class Placed:
    """Where the readers find an input. named : the files it may name; None for a profile of this machine.

    shown : texts of ours to the names the user knows, for messages. text : what is read instead of the file at
    `path`, which is not there yet.
    """

    path: Path
    named: Mapping[str, Path] | None
    shown: Mapping[str, str]
    text: bytes | None = None

    def restored(self, text: str) -> str:
        """A text with the user's own file names in it."""
        for ours, theirs in self.shown.items():
            text = text.replace(ours, theirs)
        return text


@contextmanager
def placed(given: Given) -> Iterator[Placed]:
    """The input on disk for as long as it is read: uploads in a folder of their own under names of ours.

    Raises InputRefused when two uploads have one name.
    """
    if given.path is not None:
        yield Placed(given.path, None, {str(given.path): given.path.name})
        return
    assert given.main is not None
    if given.folder is not None:
        path = given.folder / "main-draft.toml"
        shown = {str(path): given.main.name, path.name: given.main.name}
        yield Placed(path, None, shown, given.main.data)
        return
    with TemporaryDirectory(prefix="upload-") as folder:
        yield _write(Path(folder), given.main, given.companions)


def _write(folder: Path, main: Upload, companions: tuple[Upload, ...]) -> Placed:
    path = folder / "main-upload.toml"
    path.write_bytes(main.data)
    named: dict[str, Path] = {}
    for number, upload in enumerate(companions, start=1):
        if upload.name in named:
            problem = Problem(
                upload.name, "(file)", "uploaded twice", "one file of a name", "Remove one of them."
            )
            raise InputRefused([problem])
        named[upload.name] = folder / f"companion-{number}.{_ending(upload.name)}"
        named[upload.name].write_bytes(upload.data)
    shown = {str(place): name for name, place in named.items()} | {str(path): main.name}
    shown |= {place.name: name for name, place in named.items()} | {path.name: main.name}
    return Placed(path, named, shown | {str(folder): "the upload"})


def _ending(name: str) -> str:
    """The ending, which tells a reader the format; one of a few, never the user's own text."""
    ending = name.rsplit(".", 1)[-1].lower()
    return next((known for known in COMPANION_ENDINGS if known == ending), "csv")


def titled(given: Given, problems: tuple[Problem, ...]) -> tuple[Problem, ...]:
    """The problems of a profile of this machine, its name before its file's, which has no letter of another script."""
    if given.title is None or given.path is None:
        return problems
    own = f"{given.title} ({given.path.name})"
    return tuple(replace(each, file=own) if each.file == given.path.name else each for each in problems)


def with_names_restored(refused: InputRefused, restored: Callable[[str], str]) -> tuple[Problem, ...]:
    """The problems of a refusal in the names the user knows."""
    return tuple(
        replace(
            problem, file=restored(problem.file), value=restored(problem.value), allowed=restored(problem.allowed),
            fix=restored(problem.fix),
        )
        for problem in refused.problems
    )  # fmt: skip
