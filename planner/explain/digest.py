"""A fingerprint of everything an answer was made from, so that the same sheet can be made again."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from pathlib import Path

from planner.outing.schema import Outing
from planner.record.schema import Record
from planner.winter.schema import Climate

BLOCK_BYTES = 1 << 20


def input_digest(record: Record, outing: Outing | None, climate: Climate | None = None,
                 units: tuple[Record, ...] = ()) -> str | None:  # fmt: skip
    """SHA-256 of record, outing and climate file, then of every file they name, in order of mention.

    The files' bytes one after the other. None when an input did not come from a file, or a file is gone.
    units : of a bank, whose records the outing names; what these name in turn follows, each file once.
    """
    inputs = [found for found in (record, outing, climate) if found is not None]
    paths = [found.path for found in inputs] + [path for found in inputs for path in found.files]
    paths += [path for path in dict.fromkeys(path for unit in units for path in unit.files) if path not in paths]
    known = [path for path in paths if path is not None]
    if len(known) != len(paths):
        return None
    try:
        return digest_of_files(known)
    except FileNotFoundError:
        return None


def digest_of_files(paths: Iterable[Path]) -> str:
    """SHA-256, hexadecimal, of the files' bytes one after the other."""
    found = hashlib.sha256()
    for path in paths:
        with path.open("rb") as handle:
            while block := handle.read(BLOCK_BYTES):
                found.update(block)
    return found.hexdigest()
