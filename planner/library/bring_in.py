"""Loose files, a profile and the files it names, as a parcel that can be put into the library like a zip."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping

from planner import toml_text
from planner.errors import InputRefused, Problem
from planner.library.archive_zip import open_zip
from planner.library.companions import ENDINGS
from planner.library.edit import set_value
from planner.library.file_name import file_key, file_key_with_ending
from planner.library.find import kind_of
from planner.library.parcel import Parcel
from planner.library.references import references, written_as

FOLDER_OF = {"battery": "batteries", "outing": "outings", "climate": "climates"}


def parcel_of_files(files: Mapping[str, bytes], main: str) -> Parcel:
    """A profile and the files beside it, each put where a library keeps its kind.

    files : name as uploaded -> bytes. main : the profile among them. What it names is found by the last part of
    the name as written, and the text is changed to name the new place.
    Raises InputRefused: a kind that cannot be told, and all that reading the profiles finds.
    """
    targets = {name: _target(name, data) for name, data in files.items()}
    moved = {_last(name): written_as(target) for name, target in targets.items()}
    placed = {
        target: _renamed(data, name, moved) if target.endswith(".toml") else data
        for (name, data), target in zip(files.items(), targets.values(), strict=True)
    }
    if len(placed) < len(files):
        raise InputRefused([Problem(main, "(file)", "two files of one name", "one", "Rename one of them.")])
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for target, data in placed.items():
            archive.writestr(target, data)
    return open_zip(packed.getvalue(), main)


def _target(name: str, data: bytes) -> str:
    last = _last(name)
    if last.lower().endswith(".toml"):
        kind = kind_of(toml_text.parse(data, last))
        if kind is None:
            fix = "Is it a battery, an outing or a climate?"
            raise InputRefused([Problem(last, "(file)", "no key of any kind", "a profile", fix)])
        return f"{FOLDER_OF[kind]}/{file_key(last[:-5])}.toml"
    safe = file_key_with_ending(last)
    ending = "." + safe.rpartition(".")[2]
    kinds = [kind for kind, endings in ENDINGS.items() if ending in endings]
    if not kinds:
        allowed = ", ".join(sorted({each for endings in ENDINGS.values() for each in endings}))
        raise InputRefused([Problem(last, "(file)", ending, allowed, "Save it as one of these.")])
    return f"{kinds[0]}/{safe}"


def _renamed(data: bytes, name: str, moved: Mapping[str, str]) -> bytes:
    """The text naming its files where they will lie. A weather file may be a CSV as well as a log may."""
    values = toml_text.parse(data, name)
    text = data.decode("utf-8-sig")
    for place, written in references(values):
        there = moved.get(_last(written))
        if there is not None:
            text = set_value(text, place, there)
    return text.encode("utf-8")


def _last(name: str) -> str:
    return name.replace("\\", "/").rsplit("/", 1)[-1]
