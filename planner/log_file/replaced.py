"""A file that is opened more than once while it is read must be the same file each time."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from planner.log_file.columns import refuse


@contextmanager
def unchanged(path: Path) -> Iterator[None]:
    """Raise InputRefused when the file is another one, or has other bytes, at the end than at the beginning.

    Known by the node's number, size and time of change. Raises OSError when it is not there at the beginning.
    """
    before = _state(path)
    yield
    try:
        after = _state(path)
    except OSError:
        after = None
    if after != before:
        fix = "Wait until the program that writes it is done, or read a copy."
        refuse(path, "(file)", "changed while it was read", "a file that stays as it is", fix)


def _state(path: Path) -> tuple[int, int, int]:
    found = path.stat()
    return found.st_ino, found.st_size, found.st_mtime_ns
