"""Files that are either the old ones or the new ones, whatever happens in between; and one lock."""

from __future__ import annotations

import os
import stat
import sys
import time
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from planner.errors import InputRefused, Problem

UNFINISHED = ".new-"  # begins the name of a file that is still being written
LOCK_WAIT_S = 10.0  # a save takes some hundredths of a second; who waits this long waits for a stuck program
LOCK_PAUSE_S = 0.005


def write_atomically(path: Path, data: bytes) -> None:
    """The file with new bytes: written beside it, flushed, synced, renamed, the folder synced.

    Who may read it: as before where the file was there, else as the user's umask has it.
    Raises OSError; the file is then what it was before.
    """
    handle, name = _new_file_beside(path)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        if path.exists():
            name.chmod(stat.S_IMODE(path.stat().st_mode))
        name.replace(path)
    except BaseException:
        name.unlink(missing_ok=True)
        raise
    sync_folder(path.parent)


def _new_file_beside(path: Path) -> tuple[int, Path]:
    """A new file in the same folder, opened for writing; the system takes the user's umask off its mode."""
    name = path.parent / f"{UNFINISHED}{uuid.uuid4().hex}"
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    return os.open(name, flags, 0o666), name


def sync_folder(folder: Path) -> None:
    """Write the folder's list of names to the disk."""
    if sys.platform == "win32":  # a folder cannot be opened there
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def remove_unfinished(folder: Path) -> None:
    """Remove what a killed program left half written. Only while holding the lock."""
    for path in folder.glob(f"{UNFINISHED}*"):
        path.unlink(missing_ok=True)


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Hold the lock file, as the only one on this computer: other processes and other threads wait.

    The system itself frees the lock of a program that was killed, so a lock never goes stale.
    Raises InputRefused after ten seconds, OSError when the file cannot be made.
    """
    handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        end = time.monotonic() + LOCK_WAIT_S
        while not _try_lock(handle):
            if time.monotonic() > end:
                fix = "Close the other window or wait until it is done, then save again."
                raise InputRefused([Problem(str(path), "(file)", "held by another program", "free", fix)])
            time.sleep(LOCK_PAUSE_S)
        yield
    finally:
        os.close(handle)


if sys.platform == "win32":
    import msvcrt

    def _try_lock(handle: int) -> bool:
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

else:
    import fcntl

    def _try_lock(handle: int) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True
