"""Profiles with all the files they name, on the way from one library to another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from planner import toml_text
from planner.errors import InputRefused
from planner.library.companions import free_name
from planner.library.edit import set_value
from planner.library.entries import PROFILE_KINDS, name_in
from planner.library.file_name import is_file_key, spoken
from planner.library.references import CASE_KEYS, misplaced, references, target_of, written_as
from planner.library.staging import write_all
from planner.library.store import Library

MOST_FILES = 2_000


@dataclass(frozen=True, slots=True)
class Parcel:
    """files : "kind/name.ending" -> bytes, such as "batteries/unit-one.toml"."""

    files: Mapping[str, bytes]

    @property
    def profiles(self) -> tuple[str, ...]:
        """The profiles among the files."""
        return tuple(target for target in self.files if kind_of(target) in PROFILE_KINDS)


def kind_of(target: str) -> str:
    """The kind in "kind/name.ending"."""
    return target.split("/")[0]


def key_of(target: str) -> str:
    """The profile's key in "kind/key.toml"."""
    return Path(target).stem


def name_of(target: str, data: bytes) -> str:
    """The name in a profile's text."""
    return name_in(toml_text.parse(data, target)) or key_of(target)


def collect(root: Path, wanted: list[str]) -> Parcel:
    """The wanted files of a folder of profiles, with all that they name, and those name in turn.

    wanted : as "batteries/unit-one.toml". A case brings the profiles it joins where they are in the folder.
    Raises InputRefused for a file that is not there or named outside the folder, and for more than 2,000 files.
    """
    files: dict[str, bytes] = {}
    left = list(wanted)
    while left:
        target = left.pop(0)
        if target in files:
            continue
        if len(files) == MOST_FILES:
            found = f"more than {MOST_FILES} files"
            raise toml_text.refusal("library", found, f"at most {MOST_FILES}", "Take fewer profiles at once.")
        files[target] = _bytes_of(root, target)
        kind = kind_of(target)
        if kind not in PROFILE_KINDS:
            continue
        outside = misplaced(kind, toml_text.parse(files[target], target), target)
        if outside:
            raise InputRefused(outside)
        joined = joined_by(target, files[target])
        left += named_by(target, files[target]) + [each for each in joined if (root / each).is_file()]
    return Parcel(dict(sorted(files.items())))


def named_by(target: str, data: bytes) -> list[str]:
    """The library's files that a profile's text names."""
    kind = kind_of(target)
    found = (target_of(kind, written) for _, written in references(toml_text.parse(data, target)))
    return [each for each in found if each is not None]


def joined_by(target: str, data: bytes) -> list[str]:
    """The profiles that a case joins, there or not; none for other kinds."""
    if kind_of(target) != "cases":
        return []
    values = toml_text.parse(data, target)
    found = [(kind, values.get(key)) for key, kind in CASE_KEYS.items()]
    return [f"{kind}/{key}.toml" for kind, key in found if isinstance(key, str) and is_file_key(key)]


def place(
    library: Library, parcel: Parcel, names: Mapping[str, str], served: Mapping[str, str]
) -> dict[str, str]:
    """Put a parcel's files into the library, all or none. Only while holding it (`library.writing()`).

    names : profile -> the name it gets. served : profiles left out -> the library's own one in their stead.
    Returns each file's old place and its new one; a key or file name that is taken gets a number, and
    whatever names it is changed with it.
    """
    moved: dict[str, str] = {}
    for target, data in parcel.files.items():
        kind, name = target.split("/")
        if target in served:
            moved[target] = served[target]
        elif kind in PROFILE_KINDS:
            taken = frozenset(key_of(each) for each in moved.values() if kind_of(each) == kind)
            moved[target] = f"{kind}/{library.free_key(kind, key_of(target), taken)}.toml"
        else:
            reserved = frozenset(Path(each).name for each in moved.values() if kind_of(each) == kind)
            moved[target] = f"{kind}/{free_name(library.folder / kind, name, data, reserved)}"
    files = {}
    for target, data in parcel.files.items():
        if target not in served and not (library.folder / moved[target]).exists():
            profile = kind_of(target) in PROFILE_KINDS
            files[moved[target]] = _renamed(target, data, moved, names.get(target)) if profile else data
    write_all(library.folder, files)
    return moved


def copy_to_edit(library: Library, kind: str, name: str, new_name: str) -> str:
    """A demo profile as one of your own, with the files it names. Returns its key.

    Raises InputRefused when the new name is in use.
    """
    entry = library.find(kind, name)
    root = library.demo if entry.read_only else library.folder
    if not entry.read_only:
        library.copy(kind, entry.key, new_name)
        return library.find(kind, new_name).key
    wanted = f"{kind}/{entry.path.name}"
    parcel = collect(root, [wanted])
    with library.writing():
        library.require_free_name(kind, new_name)
        names = free_titles(library, parcel, [each for each in parcel.profiles if each != wanted])
        moved = place(library, parcel, {**names, wanted: new_name}, {})
    return key_of(moved[wanted])


def free_titles(library: Library, parcel: Parcel, targets: list[str]) -> dict[str, str]:
    """Names for some of a parcel's profiles: their own, with a number behind where it is in use."""
    found: dict[str, str] = {}
    for target in targets:
        kind, name = kind_of(target), name_of(target, parcel.files[target])
        entries = (*library.list_profiles(kind), *library.list_profiles(kind, archived=True))
        taken = {spoken(entry.name) for entry in entries}
        others = [each for each in parcel.profiles if kind_of(each) == kind and each != target]
        taken |= {spoken(found.get(each) or name_of(each, parcel.files[each])) for each in others}
        number, found[target] = 2, name
        while spoken(found[target]) in taken:
            found[target] = f"{name[:190]} ({number})"
            number += 1
    return found


def _renamed(target: str, data: bytes, moved: Mapping[str, str], name: str | None) -> bytes:
    """The text with its new name and with the new places of what it names."""
    text = data.decode("utf-8")
    values = toml_text.parse(data, target)
    kind = kind_of(target)
    for spot, written in references(values):
        old = target_of(kind, written)
        if old is not None and moved.get(old, old) != old:
            text = set_value(text, spot, written_as(moved[old]))
    for key, folder in CASE_KEYS.items() if kind == "cases" else ():
        old = f"{folder}/{values.get(key)}.toml"
        if moved.get(old, old) != old:
            text = set_value(text, key, key_of(moved[old]))
    return (text if name is None else set_value(text, "name", name)).encode("utf-8")


def _bytes_of(root: Path, target: str) -> bytes:
    path = root / target
    if path.is_symlink() or not path.is_file():
        raise toml_text.refusal(target, "not there", "a file of the library", "Add it, or name another.")
    return toml_text.read_file(path) if kind_of(target) in PROFILE_KINDS else path.read_bytes()
