"""What a program does that saves one profile again and again, telling each finished save, until it is killed."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import TextIO

from planner.errors import InputRefused
from planner.library.store import Library, SavedMeanwhile

FILLER = "# a line of the profile that makes its text long enough to be half written\n" * 400


def sealed(writer: str, number: int) -> str:
    """A text whose last line tells whether the rest is whole."""
    body = f'name = "Boat"\nwriter = "{writer}"\nnumber = {number}\n{FILLER}'
    return f"{body}# {hashlib.sha256(body.encode()).hexdigest()}\n"


def is_whole(text: str) -> bool:
    body, _, seal = text.rpartition("# ")
    return seal == hashlib.sha256(body.encode()).hexdigest() + "\n"


def main(folder: Path, writer: str, saves: int, told: TextIO) -> None:
    library = Library(folder, folder / "no demo")
    saved = 0
    while saved < saves:
        text = sealed(writer, saved)
        try:
            try:
                opened = library.load("cases", "boat")[1]
            except InputRefused:
                opened = None
            version = library.save("cases", "boat", text, opened)
        except SavedMeanwhile:
            continue
        print(version.number, version.sha256, file=told, flush=True)
        saved += 1
