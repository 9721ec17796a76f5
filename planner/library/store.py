"""The library: saved profiles with all their versions, in one folder of plain files.

    batteries/ outings/ climates/ cases/   KEY.toml, the current text
    logs/ weather/                         files that texts name, such as log = "../logs/run-3.csv"
    .history/KIND/KEY/                     every text saved, one file a version
    .archive/KIND/KEY.toml                 put away; nothing is ever deleted

A save puts the text that is replaced among the versions first, then renames the new text into its place,
then adds it to the versions. So at every moment each complete text is on the disk, and an edit by hand
counts as a version too. Writers hold one lock; readers need none.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from planner import toml_text
from planner.errors import InputRefused, Problem
from planner.library import history
from planner.library.atomic_file import locked, remove_unfinished, sync_folder, write_atomically
from planner.library.disk_trouble import told_as_refusal
from planner.library.edit import set_value
from planner.library.entries import PROFILE_KINDS, Entry, entries_in, name_in
from planner.library.file_name import file_key, spoken, unused
from planner.library.history import Version, version_of
from planner.library.place import DEMO, library_folder
from planner.library.staging import finish_interrupted

LOCK = ".lock"
HISTORY = ".history"
ARCHIVE = ".archive"


class SavedMeanwhile(InputRefused):
    """A save that would have hidden a text its writer has not seen. Both texts are still there.

    mine : the text not saved. theirs, their_version : what the library holds. difference : from theirs
    to mine, as unified lines.
    """

    def __init__(self, file: str, mine: str, theirs: str, their_version: Version, *, new: bool) -> None:
        self.mine = mine
        self.theirs = theirs
        self.their_version = their_version
        self.difference = history.difference(theirs, mine, "in the library", "not saved")
        saved = f"version {their_version.number} of {their_version.saved_at:%Y-%m-%d %H:%M} UTC"
        found = f"there already, {saved}" if new else f"changed meanwhile: {saved}"
        allowed = "a name of its own" if new else "the version that was opened"
        fix = "Look at both, then save over it, or under another name."
        super().__init__([Problem(file, "(file)", found, allowed, fix)])


def open_library(option: str | None = None) -> Library:
    """The library at the option, the environment's PLANNER_LIBRARY, or in the user's data folder.

    Raises InputRefused for a folder inside the demo data, and for a file.
    """
    return Library(library_folder(option))


class Library:
    """One folder of profiles, and the demo profiles beside it, which are only read.

    Wherever a name is asked for, a profile's key, its name, or a name that makes its key will do.
    Every method raises InputRefused for what it cannot do; the last complete texts are then still there.
    """

    def __init__(self, folder: Path, demo: Path = DEMO) -> None:
        self.folder = folder.absolute()
        self.demo = demo
        allowed = "a folder of your own"
        if folder.resolve().is_relative_to(demo.resolve()):
            fix = "The demo data are not written to: choose another folder."
            raise InputRefused([Problem(str(folder), "library", "the demo data", allowed, fix)])
        if folder.exists() and not folder.is_dir():
            raise InputRefused([Problem(str(folder), "library", "a file", allowed, "Choose a folder.")])
        self._was_there = folder.is_dir()

    # ---- reading ----

    def list_profiles(self, kind: str, *, archived: bool = False) -> tuple[Entry, ...]:
        """The profiles of a kind by name: own first, then demo; or those put away."""
        _require_kind(kind)
        self._require_folder()
        with told_as_refusal(self.folder):
            if archived:
                return tuple(entries_in(self.folder / ARCHIVE / kind, kind, archived=True))
            demo = entries_in(self.demo / kind, kind, read_only=True)
            return (*entries_in(self.folder / kind, kind), *demo)

    def find(self, kind: str, name: str) -> Entry:
        """The profile of that key or name."""
        entries = self.list_profiles(kind)
        entry = _match(entries, name)
        if entry is None:
            known = ", ".join(entry.name for entry in entries[:20]) or "none saved yet"
            fix = "Take one of these, or bring back one that was put away."
            raise InputRefused([Problem(self.folder.name, kind, _shown(name), known, fix)])
        return entry

    def load(self, kind: str, name: str) -> tuple[str, Version]:
        """The current text, exactly as saved, and its version."""
        return self._read(self.find(kind, name))

    def versions(self, kind: str, name: str) -> tuple[Version, ...]:
        """All versions, oldest first, the current one last."""
        entry = self.find(kind, name)
        current = self._read(entry)[1]
        kept = history.versions(self._history(kind, entry.key))
        return (*(version for version in kept if not version.same_as(current)), current)

    def load_version(self, kind: str, name: str, number: int) -> str:
        """The text of one version."""
        entry = self.find(kind, name)
        text, current = self._read(entry)
        if number == current.number:
            return text
        with told_as_refusal(self.folder):
            return history.text_of(self._history(kind, entry.key), number)

    def difference(self, kind: str, name: str, older: int, newer: int) -> tuple[str, ...]:
        """What changed from one version to another, as unified lines; empty when nothing did."""
        before, after = (self.load_version(kind, name, number) for number in (older, newer))
        return history.difference(before, after, f"version {older}", f"version {newer}")

    def search(self, words: str, kinds: tuple[str, ...] = PROFILE_KINDS) -> tuple[Entry, ...]:
        """Profiles whose name or note has every one of the words, in any case."""
        wanted = spoken(words[:1_000]).split()
        entries = (entry for kind in kinds for entry in self.list_profiles(kind))
        return tuple(
            entry
            for entry in entries
            if all(word in spoken(f"{entry.name} {entry.key} {entry.note}") for word in wanted)
        )

    # ---- writing ----

    def save(self, kind: str, name: str, text: str, expected: Version | None) -> Version:
        """Save a text and return its version; a text that is there already makes no new one.

        name : for a new profile, what its file name is made from. expected : the version that was
        opened, None for a new profile.
        Raises SavedMeanwhile when the library holds another version or, for a new one, that name already.
        """
        _require_kind(kind)
        stated = _name_stated(text, name)
        with self.writing():
            entries = self.list_profiles(kind)
            if expected is None:
                own = tuple(entry for entry in entries if not entry.read_only)
                entry = _match(own, name, exactly=True)
            else:
                entry = _match(entries, name)
            if entry is not None:
                return self._save_over(entry, text, expected, stated)
            self.require_free_name(kind, stated)
            return self._put(kind, self.free_key(kind, name), text)

    def copy(self, kind: str, name: str, new_name: str) -> Version:
        """A new profile with the same text and another name. Demo data: `parcel.copy_to_edit`."""
        entry = self.find(kind, name)
        if entry.read_only:
            raise _read_only(entry)
        return self.save(kind, new_name, set_value(self._read(entry)[0], "name", new_name), None)

    def rename(self, kind: str, name: str, new_name: str, expected: Version) -> Version:
        """The profile with another name. Its key stays, so that cases which name it still find it."""
        key = self.find(kind, name).key
        return self.save(kind, key, set_value(self.load(kind, key)[0], "name", new_name), expected)

    def archive(self, kind: str, name: str) -> None:
        """Put a profile away: no longer listed, never deleted."""
        with self.writing():
            entry = self.find(kind, name)
            if entry.read_only:
                raise _read_only(entry)
            target = self.folder / ARCHIVE / kind / entry.path.name
            if target.exists():  # a file of that name put here by hand since: neither may hide the other
                target = target.with_name(f"{self.free_key(kind, entry.key)}.toml")
            target.parent.mkdir(parents=True, exist_ok=True)
            entry.path.replace(target)
            sync_folder(target.parent)
            sync_folder(entry.path.parent)

    def restore(self, kind: str, name: str) -> None:
        """Bring back a profile that was put away, or the last version of one whose file is gone."""
        with self.writing():
            entry = _match(self.list_profiles(kind, archived=True), name)
            if entry is not None:
                self.require_free_name(kind, entry.name, entry.key)
                target = self.folder / kind / entry.path.name
                if target.exists():
                    fix = "Move it out of the folder, or save it under another name, then bring this one back."
                    raise InputRefused([Problem(str(target), "(file)", "there already", "a free file name", fix)])
                entry.path.replace(target)
                sync_folder(self.folder / kind)
                return
            key = file_key(name)
            kept = history.versions(self._history(kind, key))
            if not kept or (self.folder / kind / f"{key}.toml").exists():
                fix = "Look at the list of what was put away."
                raise InputRefused([Problem(self.folder.name, kind, _shown(name), "one put away", fix)])
            self._put(kind, key, history.text_of(self._history(kind, key), kept[-1].number))

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Hold the library as its only writer, its folders made and interrupted work finished."""
        self._require_folder()
        with told_as_refusal(self.folder):
            for kind in PROFILE_KINDS:
                (self.folder / kind).mkdir(parents=True, exist_ok=True)
            self._was_there = True
            with locked(self.folder / LOCK):
                finish_interrupted(self.folder)
                yield

    def free_key(self, kind: str, name: str, also_taken: frozenset[str] = frozenset()) -> str:
        """A key for a new profile of that name. It stays free only while holding the library."""
        return unused(file_key(name), self._taken(kind) | also_taken)

    def require_free_name(self, kind: str, name: str, own_key: str | None = None) -> None:
        """Raise InputRefused for no name, and when another profile than `own_key` has it, put away or not."""
        if not spoken(name):
            raise InputRefused([Problem("library", "name", "empty", "a name of its own", "Write a name.")])
        entries = (*self.list_profiles(kind), *self.list_profiles(kind, archived=True))
        for entry in entries:
            if entry.key != own_key and not entry.read_only and spoken(entry.name) == spoken(name):
                where = " (put away)" if entry.archived else ""
                fix = "Choose another name, or bring that one back." if where else "Choose another name."
                found = f"{_shown(name)}, a name in use{where}"
                raise InputRefused([Problem(f"{entry.key}.toml", "name", found, "a name of its own", fix)])

    # ---- how ----

    def _taken(self, kind: str) -> set[str]:
        own = {path.stem for path in (self.folder / kind).glob("*.toml")}
        away = {path.stem for path in (self.folder / ARCHIVE / kind).glob("*.toml")}
        demo = {path.stem for path in (self.demo / kind).glob("*.toml")}
        return own | away | demo

    def _history(self, kind: str, key: str) -> Path:
        return self.folder / HISTORY / kind / key

    def _require_folder(self) -> None:
        if self._was_there and not self.folder.is_dir():
            fix = "Bring it back (a stick pulled out?), or choose another folder."
            raise InputRefused([Problem(str(self.folder), "library", "gone", "the library's folder", fix)])

    def _read(self, entry: Entry) -> tuple[str, Version]:
        """The text and its version. An edit by hand is the version after the last one saved."""
        folder = self._history(entry.kind, entry.key)
        with told_as_refusal(entry.path):
            while True:  # a save may fall between reading the versions and the text
                kept = history.versions(folder)
                text = _decoded(toml_text.read_file(entry.path), entry.path)
                if kept == history.versions(folder):
                    break
        if entry.read_only:
            return text, version_of(text, 0, entry.changed_at)
        if kept and kept[-1].sha256 == history.digest(text):
            return text, kept[-1]
        return text, version_of(text, kept[-1].number + 1 if kept else 1, entry.changed_at)

    def _save_over(self, entry: Entry, text: str, expected: Version | None, stated: str) -> Version:
        if entry.read_only:
            raise _read_only(entry)
        current_text, current = self._read(entry)
        if expected is None or not current.same_as(expected):
            raise SavedMeanwhile(entry.path.name, text, current_text, current, new=expected is None)
        if text == current_text:
            return current
        if spoken(stated) != spoken(entry.name):
            self.require_free_name(entry.kind, stated, entry.key)
        folder = self._history(entry.kind, entry.key)
        if not any(version.same_as(current) for version in history.versions(folder)):
            history.keep(folder, current_text, current)
        return self._put(entry.kind, entry.key, text)

    def _put(self, kind: str, key: str, text: str) -> Version:
        folder = self._history(kind, key)
        kept = history.versions(folder)
        version = version_of(text, kept[-1].number + 1 if kept else 1)
        remove_unfinished(self.folder / kind)
        write_atomically(self.folder / kind / f"{key}.toml", text.encode("utf-8"))
        history.keep(folder, text, version)
        return version


def _match(entries: tuple[Entry, ...], name: str, *, exactly: bool = False) -> Entry | None:
    """By key, by name, and unless `exactly` by the key the name would make."""
    by_key = {entry.key: entry for entry in reversed(entries)}
    by_name = {spoken(entry.name): entry for entry in reversed(entries)}
    found = by_key.get(name) or by_name.get(spoken(name))
    return found or (None if exactly else by_key.get(file_key(name)))


def _require_kind(kind: str) -> None:
    if kind not in PROFILE_KINDS:
        fix = "Choose one of these."
        raise InputRefused([Problem("library", "kind", _shown(kind), ", ".join(PROFILE_KINDS), fix)])


def _name_stated(text: str, name: str) -> str:
    """The name in the text, else the one given. Raises InputRefused for what is no TOML text."""
    shown = f"{file_key(name)}.toml"
    try:
        data = text.encode("utf-8")
    except UnicodeEncodeError as error:
        fix = "Type it anew at that place."
        raise toml_text.refusal(shown, f"half a letter at {error.start}", "UTF-8 text", fix) from error
    return name_in(toml_text.parse(data, shown)) or name


def _decoded(data: bytes, path: Path) -> str:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise toml_text.refusal(path.name, "not UTF-8", "UTF-8 text", "Save it as UTF-8.") from error


def _read_only(entry: Entry) -> InputRefused:
    fix = "Copy it to edit: the copy is yours."
    return InputRefused([Problem(entry.path.name, "(file)", "demo data", "a profile of your own", fix)])


def _shown(name: str) -> str:
    """A name for a message: short, without invisible or direction-turning characters."""
    return repr(spoken(name[:200])[:60])
