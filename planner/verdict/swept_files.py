"""Which file a --vary argument means: outing, batteries or climate, by its prefix or by where the key stands."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from planner import toml_text
from planner.errors import InputRefused, Problem
from planner.verdict.vary import Vary, leaves, parse_vary

OUTING, BATTERY, CLIMATE = "outing", "battery", "climate"
UNKNOWN = "not a known key"  # as a table tells a key that its reader never asked for


@dataclass(frozen=True, slots=True)
class SweptFile:
    """One file of a sweep, parsed. kind : outing, battery or climate."""

    kind: str
    path: Path
    values: Mapping[str, Any]


Knows = Callable[[SweptFile, Vary], bool]


def open_swept(kind: str, path: Path) -> SweptFile:
    """The file's values as they stand. Raises InputRefused."""
    return SweptFile(kind, path, toml_text.parse(toml_text.read_file(path), str(path)))


def find_vary(text: str, files: Sequence[SweptFile], between: bool, knows: Knows) -> Vary:
    """A --vary argument for the file it means.

    text : as in `parse_vary`; KEY may begin with "outing.", "battery." or "climate.". Without, it is the outing's
    where the outing has or may have such a key, else that of the only other kind of file in which it stands.
    files : outing, batteries and perhaps a climate; a battery's key must stand in all of them.
    knows : whether the reader of a file accepts a key that the file leaves out. Raises InputRefused.
    """
    typed = text.partition("=")[0].strip()
    kind, dot, _ = typed.partition(".")
    if dot and kind in (OUTING, BATTERY, CLIMATE):
        return _of_kind(kind, typed, text[text.index(dot) + 1 :], files, between, knows)
    refused: InputRefused | None = None
    try:
        return _of_kind(OUTING, typed, text, files, between, knows)
    except InputRefused as refusal:
        if not is_unknown(refusal):
            raise
        refused = refusal
    having = {file.kind for file in files if typed in set(leaves(file.values))}
    found = [other for other in (BATTERY, CLIMATE) if other in having]
    if len(found) == 1:
        return _of_kind(found[0], typed, text, files, between, knows)
    if found:
        fix = f"Write {' or '.join(f'{kind}.{typed}' for kind in found)}."
        raise InputRefused(
            [Problem("arguments", f"--vary {typed}", "in several files", "one file's key", fix)]
        )
    raise InputRefused([_nearest(typed, files)]) from refused


def is_unknown(refusal: InputRefused) -> bool:
    """Whether it is for a key that is not there."""
    return any(problem.value == "not there" for problem in refusal.problems)


def _of_kind(
    kind: str, typed: str, text: str, files: Sequence[SweptFile], between: bool, knows: Knows
) -> Vary:
    """The key in every file of a kind; the unit and values are those of the first."""
    own = [file for file in files if file.kind == kind]
    if not own:
        fix = "Name the file with --climate." if kind == CLIMATE else "Name such a file."
        raise InputRefused([Problem("arguments", f"--vary {typed[:80]}", f"a key of no {kind} file", "a key of a file "
                                    "that is given", fix)])  # fmt: skip
    found = [
        replace(parse_vary(text, file.values, str(file.path), between), file=kind, key=typed) for file in own
    ]
    for file in own:
        if not knows(file, found[0]):
            raise InputRefused([_nearest(typed, [file], str(file.path))])
    return found[0]


def _nearest(typed: str, files: Iterable[SweptFile], where: str = "arguments") -> Problem:
    """The refusal of a key that is in no file, naming the nearest that is."""
    keys = [
        name
        for file in files
        for leaf in leaves(file.values)
        for name in ([leaf] if file.kind == OUTING else [leaf, f"{file.kind}.{leaf}"])
    ]
    near = difflib.get_close_matches(typed[:80], keys, n=1, cutoff=0.0)
    fix = f"Did you mean {near[0]}?" if near else "Name a key of the file."
    return Problem(where, f"--vary {typed[:80]}", "not there", "a key of the file, list places from 1", fix)
