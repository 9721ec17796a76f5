"""Where a user's own profiles are kept, and where the demo profiles lie."""

from __future__ import annotations

import os
import sys
from pathlib import Path

VARIABLE = "PLANNER_LIBRARY"
FOLDER = "battery-fit-planner"
DEMO = Path(__file__).resolve().parent.parent.parent / "profiles"


def library_folder(chosen: str | None = None) -> Path:
    """The library: as chosen, else as PLANNER_LIBRARY says, else in the user's own data folder.

    The folder need not exist. Source of the default: XDG Base Directory Specification 0.8, where a relative
    XDG_DATA_HOME is invalid and left aside; on Windows LOCALAPPDATA.
    """
    named = chosen or os.environ.get(VARIABLE)
    if named:
        return Path(named).expanduser()
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home()) / FOLDER
    data = Path(os.environ.get("XDG_DATA_HOME") or "")
    return (data if data.is_absolute() else Path.home() / ".local" / "share") / FOLDER
