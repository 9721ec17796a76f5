"""Logs and weather files beside the profiles. A file that was added never changes: it is evidence."""

from __future__ import annotations

from pathlib import Path

from planner.errors import InputRefused, Problem
from planner.library.atomic_file import remove_unfinished, write_atomically
from planner.library.disk_trouble import told_as_refusal
from planner.library.entries import COMPANION_KINDS
from planner.library.file_name import file_key, file_key_with_ending, unused
from planner.library.store import Library

ENDINGS = {
    "logs": (".csv", ".txt", ".tsv", ".xlsx", ".parquet"),
    "weather": (".epw", ".csv", ".tm2"),
}
LARGEST_BYTES = 100_000_000  # a week at ten samples a second as text


def list_companions(library: Library, kind: str) -> tuple[Path, ...]:
    """The files of a kind, logs or weather, by name."""
    _require_kind(kind)
    with told_as_refusal(library.folder):
        folder = library.folder / kind
        found = sorted(folder.iterdir()) if folder.is_dir() else []
    return tuple(path for path in found if path.name[0] != "." and path.is_file() and not path.is_symlink())


def add_companion(library: Library, kind: str, name: str, data: bytes) -> str:
    """Keep a file and return how a profile names it, such as "../logs/run-3.csv".

    name : as uploaded; only a safe file name is made from it. Bytes that are there already under that
    name are not kept twice; other bytes get a name with a number.
    Raises InputRefused: kind, ending or size, or the disk refuses.
    """
    _require_kind(kind)
    safe = file_key_with_ending(name)
    ending = Path(safe).suffix
    if ending not in ENDINGS[kind]:
        allowed = ", ".join(ENDINGS[kind])
        raise InputRefused(
            [Problem(safe, "(file)", ending or "no ending", allowed, "Save it as one of these.")]
        )
    if not 0 < len(data) <= LARGEST_BYTES:
        allowed = f"1 byte to {LARGEST_BYTES // 1_000_000} MB"
        fix = "Thin the log." if data else "Export it again: this file is empty."
        raise InputRefused([Problem(safe, "(file)", f"{len(data)} bytes", allowed, fix)])
    with library.writing():
        folder = library.folder / kind
        folder.mkdir(exist_ok=True)
        remove_unfinished(folder)
        safe = free_name(folder, safe, data)
        if not (folder / safe).exists():
            write_atomically(folder / safe, data)
    return f"../{kind}/{safe}"


def free_name(folder: Path, name: str, data: bytes, reserved: frozenset[str] = frozenset()) -> str:
    """The name, when it is free or holds these bytes, and not reserved; else one with a number."""
    path = folder / name
    if name not in reserved and (not path.exists() or _holds(path, data)):
        return name
    beside = folder.iterdir() if folder.is_dir() else ()
    taken = {each.stem for each in beside if each.suffix == path.suffix and not _holds(each, data)}
    taken |= {Path(each).stem for each in reserved if Path(each).suffix == path.suffix}
    return unused(file_key(path.stem), taken) + path.suffix


def _holds(path: Path, data: bytes) -> bool:
    return path.stat().st_size == len(data) and path.read_bytes() == data


def _require_kind(kind: str) -> None:
    if kind not in COMPANION_KINDS:
        allowed = ", ".join(COMPANION_KINDS)
        raise InputRefused([Problem("library", "kind", kind[:40], allowed, "Choose one of these.")])
