"""Where the library is: an option, an environment variable, or the user's data folder."""

from __future__ import annotations

import os
from pathlib import Path

from planner.errors import InputRefused, Problem

VARIABLE = "PLANNER_LIBRARY"
FOLDER = "deployment-planner"  # below the user's data folder
DEMO = Path(__file__).resolve().parents[2] / "profiles"


def library_folder(option: str | Path | None = None) -> Path:
    """The library's folder: the option, else PLANNER_LIBRARY, else one in the user's data folder.

    The user's data folder is XDG_DATA_HOME, or ~/.local/share (XDG Base Directory Specification 0.8).
    Raises InputRefused for a folder inside the demo data, and for a file.
    """
    stated = option or os.environ.get(VARIABLE, "").strip()
    data = os.environ.get("XDG_DATA_HOME", "")
    # The specification: a relative path in the variable is invalid and to be ignored.
    home = Path(data) if Path(data).is_absolute() else Path.home() / ".local" / "share"
    folder = Path(stated).expanduser().absolute() if stated else home / FOLDER
    allowed = "a folder of your own"
    if folder.resolve().is_relative_to(DEMO):
        fix = "The demo data are not written to: choose another folder."
        raise InputRefused([Problem(str(folder), "library", "the demo data", allowed, fix)])
    if folder.exists() and not folder.is_dir():
        raise InputRefused([Problem(str(folder), "library", "a file", allowed, "Choose a folder.")])
    return folder
