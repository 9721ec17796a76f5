"""A twentieth of the kills; the whole is python -m tests.faults.killing."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.killing import WORKS, kill_often

KILLS = 3  # of each; the library's own tests kill ten times more, and before each single touch of the disk
SEED = 9


@pytest.mark.parametrize("name", WORKS)
def test_whenever_it_is_killed_the_last_complete_version_is_there(name: str, tmp_path: Path) -> None:
    assert kill_often(name, KILLS, SEED, tmp_path) > 0
