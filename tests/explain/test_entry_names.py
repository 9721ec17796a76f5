"""Names of a file's tables and keys as a reader is told them."""

from __future__ import annotations

import pytest

from planner.explain.entry_names import entry_named


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("capacity_test.1: no meter named", "full discharge 1: no meter named"),
        ("current_test.12, load.2", "current held 12, load 2"),
        ("How much heat the battery holds (heat_capacity) is not stated", "How much heat the battery holds is not stated"),
        ("capacity_test.2.cell_voltages and load.1: at", "full discharge 2, cell voltages and load 1: at"),
        ("payload.1 of 2.5 A (invented)", "payload.1 of 2.5 A (invented)"),
    ],
)
def test_a_reader_is_told_tables_by_their_name_and_leaves_keys_to_the_file(written: str, shown: str) -> None:
    assert entry_named(written) == shown
