"""What the disk refuses, said as any other refusal is: what, where, and what to do."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from planner.errors import InputRefused, Problem

_SAVED = "What was saved before is still there."
_FULL = ("no room left on the disk", "free space", f"Make room, then save again. {_SAVED}")
_CLOSED = ("not writable", "a folder that can be written", f"Change its permissions. {_SAVED}")
_REASONS = {
    errno.ENOSPC: _FULL,
    errno.EDQUOT: _FULL,
    errno.EFBIG: _FULL,
    errno.EROFS: _CLOSED,
    errno.EACCES: _CLOSED,
    errno.EPERM: _CLOSED,
    errno.ENOENT: ("gone", "the folder", "Bring it back (a stick pulled out?), then try again."),
}


@contextmanager
def told_as_refusal(place: Path) -> Iterator[None]:
    """Turn an OSError inside into InputRefused that names the place."""
    try:
        yield
    except OSError as error:
        raise InputRefused([problem_of(error, str(place))]) from error


def problem_of(error: OSError, place: str) -> Problem:
    """What the disk refused at a place, in words."""
    unknown = (error.strerror or "not usable", "a working disk", f"Check the disk. {_SAVED}")
    found, allowed, fix = _REASONS.get(error.errno or 0, unknown)
    return Problem(place, "(file)", found, allowed, fix)
