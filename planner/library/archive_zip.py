"""Profiles out as a zip and in again: checked whole, then all of it or nothing."""

from __future__ import annotations

import io
import tempfile
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from planner.errors import InputRefused, Problem
from planner.library.checking import check_text
from planner.library.disk_trouble import told_as_refusal
from planner.library.entries import PROFILE_KINDS, Entry
from planner.library.file_name import spoken
from planner.library.parcel import (
    Parcel,
    collect,
    free_titles,
    joined_by,
    key_of,
    kind_of,
    name_of,
    named_by,
    place,
)
from planner.library.store import Library
from planner.library.zip_guard import unpack

MOST_ROUNDS = 5  # a profile names profiles, and those name no further ones; a case joins them
KEEP_BOTH, SKIP = "keep both", "skip"
_EPOCH = (1980, 1, 1, 0, 0, 0)  # the first date a zip can hold: the same profiles make the same bytes


@dataclass(frozen=True, slots=True)
class Incoming:
    """One profile of a zip beside the library.

    target : "batteries/unit-one.toml". held_by : the library's own profile of that key or name, None when
    there is none. same : both are equal, with every file they name, so there is nothing to choose.
    """

    target: str
    name: str
    held_by: Entry | None
    same: bool


def export_zip(library: Library, profiles: Iterable[tuple[str, str]]) -> bytes:
    """A zip of profiles, given as (kind, name), with every file they name. Raises InputRefused as `outgoing` does."""
    return packed(outgoing(library, profiles))


def outgoing(library: Library, profiles: Iterable[tuple[str, str]]) -> Parcel:
    """Profiles, given as (kind, name), with every file they name. Current texts, no history.

    Raises InputRefused for one that is demo data or not there, and for a named file that is missing.
    """
    entries = [library.find(kind, name) for kind, name in profiles]
    for entry in entries:
        if entry.read_only:
            fix = "Every planner has it. Copy it to edit, then export the copy."
            raise InputRefused(
                [Problem(entry.path.name, "(file)", "demo data", "a profile of your own", fix)]
            )
    with told_as_refusal(library.folder):
        return collect(library.folder, [f"{entry.kind}/{entry.path.name}" for entry in entries])


def packed(parcel: Parcel) -> bytes:
    """The parcel as a zip; a day's log takes about a second."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for target, data in parcel.files.items():
            info = zipfile.ZipInfo(target, _EPOCH)
            info.external_attr = 0o100644 << 16
            archive.writestr(info, data, zipfile.ZIP_DEFLATED)
    return stream.getvalue()


def open_zip(data: bytes, file: str = "import.zip", left_out: frozenset[str] = frozenset()) -> Parcel:
    """The zip's profiles and files, every profile read without a problem. Nothing reaches the library.

    left_out : profiles of the zip that are not wanted. Raises InputRefused with what the guard or the readers say.
    """
    files = {target: content for target, content in unpack(data, file).items() if target not in left_out}
    parcel = Parcel(files)
    if not parcel.profiles:
        raise InputRefused([Problem(file, "(file)", "no profile", "at least one", "Choose another zip.")])
    found = _problems(parcel)
    problems = [problem for each in found.values() for problem in each] or _of_one_name(parcel)
    if problems:
        raise InputRefused(problems)
    return parcel


def open_sound(data: bytes, file: str = "import.zip") -> tuple[Parcel, frozenset[str]]:
    """What of the zip can be brought in: without the profiles that have a problem, and those that name or join them.

    A library may hold a profile that is not finished, and its zip is no use elsewhere otherwise. Returns the targets
    left out as well. Raises InputRefused where nothing is left, or where it is not the profiles that are refused.
    """
    files, left_out = unpack(data, file), frozenset[str]()
    for _ in range(MOST_ROUNDS):
        rest = Parcel({target: content for target, content in files.items() if target not in left_out})
        wrong = set(_problems(rest))
        sound = [each for each in rest.profiles if each not in wrong]
        more = wrong.union(each for each in sound if left_out & set(joined_by(each, rest.files[each])))
        if not more:
            break
        left_out |= more
    return open_zip(data, file, left_out), left_out


def incoming(library: Library, parcel: Parcel) -> tuple[Incoming, ...]:
    """Each profile of the zip, and what the library has in its place."""
    return tuple(_incoming(library, target, parcel) for target in parcel.profiles)


def import_zip(library: Library, parcel: Parcel, choices: Mapping[str, str]) -> dict[str, str]:
    """Put an opened zip into the library, all or nothing; a crash in between is finished at the next start.

    choices : target -> "keep both" | "skip", for each profile whose key or name the library has with
    another text. Equal texts are skipped.
    Returns each file's place in the zip and its place in the library. Raises InputRefused naming every
    choice that is missing.
    """
    with library.writing():
        found = incoming(library, parcel)
        held = [each for each in found if each.held_by is not None and not each.same]
        open_ = [each for each in held if choices.get(each.target) not in {KEEP_BOTH, SKIP}]
        if open_:
            raise InputRefused([_choice(each) for each in open_])
        skipped = {each.target for each in held if choices[each.target] == SKIP}
        skipped |= {each.target for each in found if each.same}
        names = free_titles(library, parcel, [each.target for each in held if each.target not in skipped])
        served = {
            each.target: f"{each.held_by.kind}/{each.held_by.path.name}"
            for each in found
            if each.target in skipped and each.held_by is not None
        }
        return place(library, parcel, names, served)


def _incoming(library: Library, target: str, parcel: Parcel) -> Incoming:
    kind, name = kind_of(target), name_of(target, parcel.files[target])
    entries = (*library.list_profiles(kind), *library.list_profiles(kind, archived=True))
    own = [entry for entry in entries if not entry.read_only]
    same_key = next((entry for entry in own if entry.key == key_of(target)), None)
    held_by = same_key or next((entry for entry in own if spoken(entry.name) == spoken(name)), None)
    same = held_by is not None and held_by.key == key_of(target) and _is_there(library, parcel, [target])
    return Incoming(target, name, held_by, same)


def _is_there(library: Library, parcel: Parcel, left: list[str]) -> bool:
    """Whether the library has these files of the parcel, and all that they name, with the same bytes."""
    seen: set[str] = set()
    while left:
        target = left.pop()
        if target in seen or target not in parcel.files:
            continue
        seen.add(target)
        data, path = parcel.files[target], library.folder / target
        if not path.is_file() or path.read_bytes() != data:
            return False
        if kind_of(target) in PROFILE_KINDS:
            left += named_by(target, data) + joined_by(target, data)
    return True


def _problems(parcel: Parcel) -> dict[str, tuple[Problem, ...]]:
    """What is wrong with each profile that has something wrong.

    They are read apart from the library, as the readers open the logs that a text names.
    """
    found = {}
    with tempfile.TemporaryDirectory(prefix="planner-import-") as scratch, told_as_refusal(Path(scratch)):
        for target, content in parcel.files.items():
            (Path(scratch) / kind_of(target)).mkdir(exist_ok=True)
            (Path(scratch) / target).write_bytes(content)
        for target in parcel.profiles:
            found[target] = _check(target, parcel.files[target], Path(scratch))
    return {target: problems for target, problems in found.items() if problems}


def _of_one_name(parcel: Parcel) -> list[Problem]:
    """Profiles of one kind and one name: no one could tell them apart."""
    first: dict[tuple[str, str], str] = {}
    found = []
    for target in parcel.profiles:
        name = name_of(target, parcel.files[target])
        other = first.setdefault((kind_of(target), spoken(name)), target)
        if other != target:
            found.append(
                Problem(target, "name", name[:60], "a name of its own", f"{other} has the same name.")
            )
    return found


def _check(target: str, data: bytes, root: Path) -> tuple[Problem, ...]:
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        fix = "Save it as UTF-8."
        return (Problem(target, "(file)", f"not UTF-8 at byte {error.start}", "UTF-8 text", fix),)
    return check_text(kind_of(target), text, root, target).problems


def _choice(each: Incoming) -> Problem:
    held = each.held_by.name if each.held_by else ""
    allowed = f'"{KEEP_BOTH}" or "{SKIP}"'
    return Problem(each.target, "(choice)", f"the library has {held[:60]}", allowed, "Choose one of the two.")
