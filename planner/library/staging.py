"""Several new files at once: all of them, or none, even when the program is killed in between.

The files are written aside, then a list of where each belongs is put beside them. From that moment they
count as saved: whoever next takes the library's lock finishes moving them. Without the list they are litter.
"""

from __future__ import annotations

import json
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

from planner.library.atomic_file import sync_folder, write_atomically
from planner.library.entries import COMPANION_KINDS, PROFILE_KINDS
from planner.library.file_name import file_key_with_ending

STAGING = ".staging"
MOVES = "moves.json"


def write_all(root: Path, files: Mapping[str, bytes]) -> None:
    """Put new files into the library. Only while holding its lock.

    files : "kind/name.ending" -> bytes; none of them may exist yet.
    Raises OSError before anything is visible; ValueError for a name that is none of the library's.
    """
    for target in files:
        _require_target(target)
    (root / STAGING).mkdir(exist_ok=True)
    folder = Path(tempfile.mkdtemp(dir=root / STAGING))
    try:
        moves = {f"{number:05d}": target for number, target in enumerate(files)}
        for staged, target in moves.items():
            write_atomically(folder / staged, files[target])
        write_atomically(folder / MOVES, json.dumps(moves).encode())
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    _move_all(root, folder)


def finish_interrupted(root: Path) -> None:
    """Finish what was saved, remove what was not. Only while holding the lock."""
    if not (root / STAGING).is_dir():
        return
    for folder in sorted((root / STAGING).iterdir()):
        if (folder / MOVES).is_file():
            _move_all(root, folder)
        else:
            shutil.rmtree(folder, ignore_errors=True)


def _move_all(root: Path, folder: Path) -> None:
    moves = json.loads((folder / MOVES).read_bytes())
    for staged, target in moves.items():
        _require_target(target)
        if (folder / staged).is_file():  # else it was moved before the program was killed
            (root / target).parent.mkdir(exist_ok=True)
            (folder / staged).replace(root / target)
    for kind in sorted({target.split("/")[0] for target in moves.values()}):
        sync_folder(root / kind)
    shutil.rmtree(folder)


def _require_target(target: str) -> None:
    kind, _, name = target.partition("/")
    if kind not in PROFILE_KINDS + COMPANION_KINDS or name != file_key_with_ending(name):
        raise ValueError(f"not a file of the library: {target!r}")
