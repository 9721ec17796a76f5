"""From what was typed to a file: a path, or the name of a profile in the library or among the demo data."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from planner.errors import InputRefused, Problem
from planner.library.place import DEMO, library_folder
from planner.toml_entries import is_there
from planner.toml_text import parse, read_file

BATTERY, OUTING, CLIMATE = "battery", "outing", "climate"
# Keys that only one kind of file has, looked for in this order.
MARKS: Mapping[str, tuple[str, ...]] = {
    OUTING: ("load", "duration", "ambient", "get_home", "bank"),
    BATTERY: ("capacity_test", "current_test", "step_test", "cold_charge_test", "terminal_test", "charge_test",
              "claims", "instruments", "teardown", "storage"),
    CLIMATE: ("place", "monthly", "weather", "charge", "heated", "heater", "use_per_day"),
}  # fmt: skip
SHOWN_NAMES = 8
LONGEST_NAME = 200  # characters, as the readers accept it; likeness to more takes seconds to work out


def kind_of(table: Mapping[str, Any]) -> str | None:
    """Which kind of file a TOML table is by its keys: battery, outing, climate; None when it is none."""
    return next((kind for kind, keys in MARKS.items() if any(key in table for key in keys)), None)


def find_profile(typed: str, kind: str | None, library: Path | None = None) -> Path:
    """The file that was meant.

    typed : a path, the stem of a profile's file, or the `name` inside it; large and small letters alike.
    kind : battery, outing or climate, to look among those only; None for any.
    library : the user's folder, `library_folder()` when None.
    Raises InputRefused when nothing or more than one thing is found, with the nearest names.
    """
    exact = Path(typed)
    if is_there(exact):
        return exact
    if not typed.strip():
        raise InputRefused([Problem("arguments", "(name)", '""', f"{_what(kind)} file's path, or a name", "Write it.")])
    if _is_folder(exact):
        fix = "Name a file in it."
        raise InputRefused([Problem(typed, "(file)", "a folder", f"{_what(kind)} file", fix)])
    profiles = _profiles(kind, library or library_folder())
    wanted = typed.strip().casefold()
    found = [path for path, names in profiles.items() if wanted in names]
    if len(found) == 1:
        return found[0]
    if found:
        places = ", ".join(str(path) for path in found)
        raise InputRefused(
            [Problem(typed, "(name)", "the name of several profiles", places, "Give the path of one.")]
        )
    raise InputRefused([_unknown(typed, kind, wanted, profiles)])


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except OSError:  # as in `is_there`
        return False


def _what(kind: str | None) -> str:
    return "a" if kind is None else "an outing" if kind == OUTING else f"a {kind}"


def _unknown(typed: str, kind: str | None, wanted: str, profiles: Mapping[Path, tuple[str, ...]]) -> Problem:
    stems = sorted({path.stem for path in profiles})
    names = {name: path.stem for path, both in profiles.items() for name in both}
    near = [names[name] for name in difflib.get_close_matches(wanted[:LONGEST_NAME], names, n=3, cutoff=0.6)]
    shown = list(dict.fromkeys(near)) or stems[:SHOWN_NAMES]
    more = ", …" if not near and len(stems) > SHOWN_NAMES else ""
    listing = ", ".join(shown) + more
    fix = f"Did you mean {listing}?" if near else f"There are {listing}." if shown else "Give a path."
    return Problem(typed, "(file)", "not found", f"{_what(kind)} file's path, or the name of a profile", fix)


def _profiles(kind: str | None, library: Path) -> dict[Path, tuple[str, ...]]:
    """Every profile of the kind with the names it goes by, small letters, library before demo data."""
    found: dict[Path, tuple[str, ...]] = {}
    seen: set[Path] = set()
    for folder in (library, DEMO):
        if not folder.is_dir():
            continue
        for path in sorted(folder.rglob("*.toml")):
            hidden = any(part.startswith(".") for part in path.relative_to(folder).parts)
            if hidden or path.resolve() in seen:
                continue
            seen.add(path.resolve())
            table = _table(path)
            if kind is None or kind_of(table) == kind:
                found[path] = _names(path, table)
    return found


def _names(path: Path, table: Mapping[str, Any]) -> tuple[str, ...]:
    name = table.get("name")
    stem = path.stem.casefold()
    return (stem, name.strip().casefold()) if isinstance(name, str) else (stem,)


def _table(path: Path) -> Mapping[str, Any]:
    """The file's table; empty when it cannot be read, as its reader then says why."""
    try:
        return parse(read_file(path), path.name)
    except InputRefused:
        return {}
