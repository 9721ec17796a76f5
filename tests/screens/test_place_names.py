"""Names of a file's tables and keys as a page tells them."""

from __future__ import annotations

import pytest

from planner.screens.place_names import named


@pytest.mark.parametrize(
    ("written", "shown"),
    [
        ("capacity_test.1: no meter named", "full discharge 1: no meter named"),
        ("current_test.12, load.2", "current held 12, what runs 2"),
        ("How much heat the battery holds (heat_capacity) is not stated", "How much heat the battery holds is not stated"),
        ("payload.1 of 2.5 A (invented)", "payload.1 of 2.5 A (invented)"),
    ],
)
def test_a_page_tells_tables_by_their_name_and_leaves_keys_to_the_file(written: str, shown: str) -> None:
    assert named(written) == shown
