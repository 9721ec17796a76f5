"""An empty library, and demo data of one small battery, in folders of the test's own."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.library.store import Library

DEMO_TEXT = """\
# Invented demo data.
format = 1
name = "Demo unit zero (invented)"

[[capacity_test]]
current = "10 A"
charge = "50 Ah"
cutoff_voltage = "10.0 V"
ended_by = "cutoff"
"""


@pytest.fixture
def library(tmp_path: Path) -> Library:
    demo = tmp_path / "demo"
    (demo / "batteries").mkdir(parents=True)
    (demo / "batteries" / "unit_zero.toml").write_text(DEMO_TEXT, encoding="utf-8")
    return Library(tmp_path / "library", demo)


@pytest.fixture
def outing_text() -> str:
    return """\
# A morning (invented).
format = 1
name = "Morning"   # as the buyer calls it
duration = "2 h"
ambient = "20 degC"

[[load]]
name = "lamp"
kind = "current"
current = "1 A"    # read with a clamp
use = [{ start = "0 h", length = "2 h" }]
"""
